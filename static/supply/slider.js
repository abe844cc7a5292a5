// The boost to look at: a slider broad enough for a glove, a step to either side of it, and a number to tap and type. What is
// typed is what the car is planned for; the slider only looks.

import { el, say } from "../core/dom.js";
import { niceStep } from "../core/step.js";

export class BoostSlider {
  // `changed(si)` while it moves, answered with `setRange`, which draws it; `rested()` when it was let go, `planned({si, text, unit})`
  // when a number was typed.
  constructor({ field, units, changed, rested, planned }) {
    Object.assign(this, { field, units, changed, rested, planned });
    this.si = 0;
    this.held = null; // the boost when the thumb was touched
    this.input = el("input", { type: "range", id: "boost", min: 0, "aria-labelledby": "boost-label", oninput: () => this.slide(Number(this.input.value)), onchange: () => this.rested(),
      onpointerdown: () => { this.held = this.si; }, onpointerup: () => { this.held = null; }, onpointercancel: () => this.putBack() });
    this.number = el("span", { class: "lead-number" });
    this.tap = el("button", { type: "button", class: "lead type-boost", title: "Type the boost", onclick: () => this.beginTyping() }, this.number);
    this.typed = el("input", { type: "text", inputmode: "decimal", autocomplete: "off", enterkeyhint: "done", class: "typed-boost", "aria-label": `${field.label}, typed`, hidden: true,
      onkeydown: (event) => event.key === "Enter" ? this.endTyping() : event.key === "Escape" && this.showTyping(false), onblur: () => this.endTyping() });
    this.error = el("p", { class: "error", role: "alert", hidden: true });
    this.back = el("button", { type: "button", class: "plain-link planned", hidden: true, onclick: () => this.goTo(this.plan) });
    this.unit = el("select", { class: "unit", "aria-label": `Unit of ${field.label}`, onchange: () => units.set(field.kind, this.unit.value) },
      ...units.all(field.kind).map(({ name }) => el("option", { value: name }, name)));
    this.mark = el("span", { class: "ceiling-mark", hidden: true }, "ceiling");
    this.band = el("span", { class: "ceiling-band", hidden: true });
    this.element = el("section", { class: "slider", "aria-label": field.label },
      el("div", { class: "slider-head" }, el("label", { for: "boost", id: "boost-label", class: "label" }, field.label), this.back, this.tap, this.typed, this.unit), this.error,
      el("div", { class: "slider-row" }, this.stepButton(-1), el("div", { class: "track" }, this.input, this.band, this.mark), this.stepButton(+1)));
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

  beginTyping() {
    this.showTyping(true);
    this.typed.value = this.units.plain(this.field.kind, this.si);
    this.typed.focus();
    this.typed.select();
  }

  showTyping(on) {
    this.typing = on;
    this.typed.hidden = !on;
    this.tap.hidden = on;
    this.showError(null);
  }

  showError(sentence) {
    this.error.hidden = !sentence;
    say(this.error, sentence ?? "");
  }

  // A wrong number stays in the field, with what is allowed; the boost stays what it was.
  endTyping() {
    if (!this.typing) return;
    const { field, units } = this;
    const read = units.read(field.kind, this.typed.value, this.shown);
    const slack = 1e-9 * field.high;
    const fits = !read.error && read.si >= field.low - slack && read.si <= field.high + slack;
    if (!fits) return this.showError(read.error ?? `${field.label} must lie between ${units.text(field.kind, field.low)} and ${units.text(field.kind, field.high)}.`);
    this.showTyping(false);
    if (units.number(field.kind, read.si) === units.number(field.kind, this.si) && this.plan === this.si) return;
    const si = Math.min(Math.max(read.si, field.low), field.high);
    this.plan = si;
    this.planned({ si, text: this.typed.value.trim().replace(/[^\d.,+-].*$/s, ""), unit: read.unit.name });
    this.goTo(si);
  }

  goTo(si) {
    this.si = si;
    this.highest = Math.max(this.highest, this.reach());
    this.changed(si);
    this.rested();
  }

  slide(value) {
    if (this.typing) this.showTyping(false);
    const shown = Math.min(Math.max(value, 0), this.most);
    this.si = Math.min(shown * this.shown.scale + this.shown.offset, this.field.high);
    this.changed(this.si);
  }

  // A touch that turns into a scroll was not meant for the boost. (A tap beside the thumb does not come here: page.css.)
  putBack() {
    if (this.held === null) return;
    this.si = this.held;
    this.held = null;
    this.changed(this.si);
    this.rested();
  }

  set(si) {
    this.si = si;
  }

  // `ceiling` null: none below what is looked at, undefined: not known. The slider goes well past it and past the boost planned,
  // and never jumps while it is held. `low` to `high`: where the ceiling lies about 95 times in 100; null or undefined: past what is
  // looked at, or not known yet.
  setRange(ceiling, plan, low, high) {
    Object.assign(this, { low, high: low == null ? null : high ?? this.field.high });
    if (ceiling !== this.ceiling || plan !== this.plan || this.highest === undefined) {
      this.ceiling = ceiling;
      this.plan = plan;
      this.highest = this.reach();
    }
    this.draw();
  }

  reach() {
    const { high } = this.field;
    const past = this.ceiling === null ? high : 1.4 * (this.ceiling ?? 0);
    return Math.min(high, Math.max(past, 1.4 * (this.plan ?? 0), 0.3 * high, this.si));
  }

  drawBand() {
    this.band.hidden = this.low == null;
    if (this.low == null) return;
    for (const [name, si] of [["--from", this.low], ["--to", this.high]]) {
      place(this.band, name, Math.min(1, this.units.value(this.field.kind, si) / this.most));
    }
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
    const away = this.plan != null && units.number(field.kind, this.plan) !== units.number(field.kind, this.si);
    this.back.hidden = !away;
    if (away) say(this.back, `planned ${units.number(field.kind, this.plan)}`);
    if (this.unit.value !== shown.name) this.unit.value = shown.name;
    this.drawBand();
    this.mark.hidden = this.ceiling == null;
    if (this.ceiling != null) {
      const share = Math.min(1, units.value(field.kind, this.ceiling) / most);
      place(this.mark, "--at", share);
      this.mark.classList.toggle("left", share > 0.6);
    }
  }
}

function place(element, name, share) {
  const value = share.toFixed(4);
  if (element.style.getPropertyValue(name) !== value) element.style.setProperty(name, value);
}

function set(element, name, value) {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}
