// The boost to look at: a slider broad enough for a glove, with a step to either side of it.

import { el, say } from "../core/dom.js";
import { niceStep } from "../core/step.js";

export class BoostSlider {
  // `changed(si)` while it moves, `rested()` when it was let go.
  constructor({ field, units, changed, rested }) {
    Object.assign(this, { field, units, changed, rested });
    this.si = 0;
    this.held = null; // the boost when the thumb was touched
    this.highest = field.high;
    this.input = el("input", { type: "range", id: "boost", min: 0, "aria-labelledby": "boost-label", oninput: () => this.slide(Number(this.input.value)), onchange: () => this.rested(),
      onpointerdown: () => { this.held = this.si; }, onpointerup: () => { this.held = null; }, onpointercancel: () => this.putBack() });
    this.number = el("span", { class: "lead-number" });
    this.unit = el("select", { class: "unit", "aria-label": `Unit of ${field.label}`, onchange: () => units.set(field.kind, this.unit.value) },
      ...units.all(field.kind).map(({ name }) => el("option", { value: name }, name)));
    this.mark = el("span", { class: "ceiling-mark", hidden: true }, "ceiling");
    this.element = el("section", { class: "slider", "aria-label": field.label },
      el("div", { class: "slider-head" }, el("label", { for: "boost", id: "boost-label", class: "label" }, field.label), el("output", { for: "boost", class: "lead" }, this.number), this.unit),
      el("div", { class: "slider-row" }, this.stepButton(-1), el("div", { class: "track" }, this.input, this.mark), this.stepButton(+1)));
  }

  stepButton(direction) {
    return el("button", { type: "button", class: "step", "aria-label": direction < 0 ? "Less boost" : "More boost",
      onclick: () => this.slide(Math.round(this.shownValue() / this.step + direction) * this.step) }, direction < 0 ? "−" : "+");
  }

  get shown() {
    return this.units.of(this.field.kind);
  }

  get step() {
    return niceStep(this.field.step / this.shown.scale);
  }

  shownValue() {
    return this.units.value(this.field.kind, this.si);
  }

  slide(value) {
    const shown = Math.min(Math.max(value, 0), this.most);
    this.si = Math.min(shown * this.shown.scale + this.shown.offset, this.field.high);
    this.draw();
    this.changed(this.si);
  }

  // A touch that turns into a scroll was not meant for the boost. (A tap beside the thumb does not come here: page.css.)
  putBack() {
    if (this.held === null) return;
    this.si = this.held;
    this.held = null;
    this.draw();
    this.changed(this.si);
    this.rested();
  }

  set(si) {
    this.si = si;
  }

  // `ceiling` null: none below what is looked at. The slider goes well past it, and never jumps while it is held.
  setRange(ceiling) {
    if (ceiling !== this.ceiling) {
      const past = 1.4 * Math.max(ceiling ?? this.field.high, 0.15 * this.field.high);
      this.ceiling = ceiling;
      this.highest = Math.min(this.field.high, Math.max(past, this.si));
    }
    this.draw();
  }

  draw() {
    const { units, field, shown, step } = this;
    const most = this.most = Math.ceil(units.value(field.kind, this.highest) / step - 1e-9) * step;
    set(this.input, "max", String(most));
    set(this.input, "step", String(step));
    const value = String(Math.round(this.shownValue() / step) * step);
    if (this.input.value !== value) this.input.value = value;
    set(this.input, "aria-valuetext", units.text(field.kind, this.si));
    say(this.number, units.number(field.kind, this.si));
    if (this.unit.value !== shown.name) this.unit.value = shown.name;
    this.mark.hidden = this.ceiling == null;
    if (this.ceiling != null) {
      const share = Math.min(1, units.value(field.kind, this.ceiling) / most);
      this.mark.style.setProperty("--at", share.toFixed(4));
      this.mark.classList.toggle("left", share > 0.6);
    }
  }
}

function set(element, name, value) {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}
