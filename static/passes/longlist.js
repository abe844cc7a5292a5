// A long list in pieces: only the pieces near the screen are drawn, the others are empty and as high as they would be.

import { el } from "../core/dom.js";

const NEAR = "900px";

export class LongList {
  // `pieces`: list of {height: a good guess in px, draw() -> element}.
  constructor(pieces) {
    this.drawn = new Map();
    this.watch = new IntersectionObserver((entries) => entries.forEach((entry) => this.onSeen(entry)), { rootMargin: `${NEAR} 0px` });
    this.pieces = new Map(pieces.map((piece) => [el("div", { class: "piece" }), piece]));
    for (const [box, piece] of this.pieces) box.style.minHeight = `${piece.height}px`;
    this.element = el("div", { class: "long-list" }, ...this.pieces.keys());
    // What is on the screen is there in the first frame; the watcher tells of the rest after it.
    let top = 0;
    for (const [box, piece] of this.pieces) {
      const seen = top < window.scrollY + window.innerHeight && top + piece.height > window.scrollY - window.innerHeight;
      top += piece.height;
      if (seen) this.fill(box);
    }
    for (const box of this.pieces.keys()) this.watch.observe(box);
  }

  onSeen({ target, isIntersecting }) {
    if (isIntersecting) this.fill(target);
    else if (this.drawn.has(target) && !target.contains(document.activeElement)) this.empty(target);
  }

  fill(box) {
    if (this.drawn.has(box)) return;
    this.drawn.set(box, true);
    box.style.minHeight = "";
    box.replaceChildren(this.pieces.get(box).draw());
  }

  empty(box) {
    this.drawn.delete(box);
    box.style.minHeight = `${box.offsetHeight}px`;
    box.replaceChildren();
  }

  stop() {
    this.watch.disconnect();
  }
}
