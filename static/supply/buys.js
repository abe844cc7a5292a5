// What each change buys: the ceiling with one part a step better. Worked out after the answer, and never shown stale.

import { el, say } from "../core/dom.js";

const NOTHING = "nothing";
const inSentence = (words) => words[0].toLowerCase() + words.slice(1);

export class ChangesList {
  // `work(inputs)` -> {results} or {errors}
  constructor({ units, work }) {
    Object.assign(this, { units, work });
    this.state = el("p", { class: "working-out", role: "status", hidden: true }, "Being worked out…");
    this.list = el("ol", { class: "buys" });
    this.none = el("p", { class: "buys-nothing", hidden: true });
    this.element = el("section", { class: "what-buys" }, el("h2", {}, "What a change buys"), this.state, this.list, this.none);
  }

  // The ceiling does not hang on the boost looked at, so a moving slider leaves this list as it is.
  show(inputs) {
    const { boost, ...rest } = inputs;
    const key = JSON.stringify(rest);
    if (key === this.key) return;
    this.key = key;
    this.state.hidden = false;
    this.element.classList.add("old");
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.workOut(inputs, key));
  }

  workOut(inputs, key) {
    const { results, errors } = this.work(inputs);
    if (key !== this.key) return;
    this.rows = errors ? [] : results.changes;
    this.draw();
  }

  draw() {
    if (!this.rows) return;
    this.state.hidden = true;
    this.element.classList.remove("old");
    const { units } = this;
    const nothing = this.rows.filter((row) => this.gain(row.gain) === NOTHING);
    this.none.hidden = nothing.length === 0;
    say(this.none, `Buys nothing by itself: ${nothing.map(({ change }) => inSentence(change)).join(", ")}.`);
    this.list.replaceChildren(...this.rows.filter((row) => !nothing.includes(row)).map((row) => el("li", {}, el("span", { class: "buy" }, row.change),
      el("strong", { class: "gain" }, this.gain(row.gain)),
      el("span", { class: "to" }, row.boost_ceiling === null ? "no ceiling found" : `ceiling ${units.text("gauge_pressure", row.boost_ceiling)}`))));
  }

  gain(gain) {
    const text = this.units.text("pressure_difference", gain);
    const number = this.units.number("pressure_difference", gain);
    if (Number(number) === 0) return NOTHING;
    return gain > 0 ? `+${text}` : text.replace("-", "−");
  }

  stop() {
    clearTimeout(this.timer);
  }
}
