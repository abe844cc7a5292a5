// What all fields on the screen share: label, help, the line for what is wrong, the mark of what is only assumed, the unit.

import { el, newId, say } from "../core/dom.js";
import { readField } from "./read.js";

export class Control {
  // context: {units, typed: remembered or undefined, changed(), answerOf(form, result)}
  constructor(field, context) {
    this.field = field;
    this.context = context;
    this.id = newId(field.name);
    this.error = el("p", { class: "error", id: `${this.id}-error`, role: "alert", hidden: true });
    this.shownError = this.shownWord = null;
    this.help = field.help ? el("p", { class: "help", id: `${this.id}-help` }, field.help) : null;
  }

  wrap(label, ...controls) {
    const helpBox = this.help ? el("details", { class: "help-box" }, el("summary", { "aria-label": `About ${this.field.label}` }, "?"), this.help) : null;
    this.element = el("div", { class: `field ${this.field.type}`, "data-field": this.field.name },
      el("div", { class: "field-head" }, label, helpBox), ...controls, this.error);
  }

  // {value}, {absent: true} or {error} of what it says now (form/read.js).
  read() {
    return readField(this.field, this.typed(), this.context.units);
  }

  // Every field is told after every key, so nothing is touched where nothing changed.
  showError(sentence) {
    if (sentence === this.shownError) return;
    this.shownError = sentence;
    this.error.hidden = !sentence;
    say(this.error, sentence ?? "");
    this.element.classList.toggle("wrong", Boolean(sentence));
    this.describe();
  }

  // Something lies there that this field cannot show: say so, with the way out.
  offerToClear(sentence, clear) {
    if (sentence) this.showError(sentence);
    if (sentence && !this.clearing) {
      this.clearing = el("button", { type: "button", class: "take", onclick: () => this.clear() }, "Clear it");
      this.error.after(this.clearing);
    }
    if (!this.clearing) return;
    this.clearing.hidden = !sentence;
    this.clear = clear;
  }

  // Where the value shown comes from, in a word at the field's head; null for what the control itself knows: "assumed" or nothing.
  setSource(word) {
    this.source = word;
    this.markSource();
  }

  // `assumed`: what is shown was not given.
  markSource(assumed = this.isAssumed) {
    this.isAssumed = assumed;
    const word = this.source ?? (assumed ? "assumed" : null);
    if (word === this.shownWord) return;
    this.shownWord = word;
    this.sourceMark ??= putMark(this);
    this.sourceMark.hidden = word === null;
    say(this.sourceMark, word ?? "");
    if (word) this.element.dataset.source = word;
    else delete this.element.dataset.source;
    this.describe();
  }

  // Hidden text counts for who listens, so only what is shown is named.
  describe() {
    const shown = [this.sourceMark, this.error].filter((part) => part && !part.hidden).map(({ id }) => id).join(" ");
    for (const input of this.element.querySelectorAll("input, select, textarea")) {
      if (this.shownError && !input.matches("textarea")) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
      if (input.matches(".unit")) continue;
      if (shown) input.setAttribute("aria-describedby", shown);
      else input.removeAttribute("aria-describedby");
    }
  }
}

// The unit behind a field: plain text where there is one only.
export function unitChooser(units, field, choose, chosen = () => units.of(field.kind)) {
  const { kind, label } = field;
  const all = units.all(kind);
  if (all.length === 1) {
    const name = el("span", { class: "unit" }, all[0].name);
    return { element: all[0].name ? name : null, draw() {} };
  }
  const select = el("select", { class: "unit", "aria-label": `Unit of ${label}`, onchange: () => choose(select.value) },
    ...all.map((unit) => el("option", { value: unit.name }, unit.name || "1")));
  return { element: select, draw: () => { select.value = chosen().name; } };
}

function putMark(made) {
  const mark = el("span", { class: "source-mark", id: `${made.id}-source` });
  const head = made.element.querySelector(".field-head");
  head.insertBefore(mark, head.children[1] ?? null);
  return mark;
}

// Do what a button does, and keep the button under the finger: a sentence that grows above it must not push it away.
export function heldStill(button, act) {
  const before = button.getBoundingClientRect().top;
  act();
  const moved = button.getBoundingClientRect().top - before;
  if (Math.abs(moved) >= 1) window.scrollBy({ top: moved, behavior: "instant" });
}
