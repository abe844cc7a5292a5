// One control for each type of field. Each owns its element and knows what was typed; what that says, form/read.js reads.
//
// A control has: element, typed() (to remember, and to be read), setTyped(typed), draw() (after a change of units or of what
// was typed), showError(sentence or null).

import { el, newId, say } from "../core/dom.js";
import { niceStep } from "../core/step.js";
import { Control, heldStill, unitChooser } from "./control.js";
import { isBlank, readTyped, startOf, truthOf, wordOf } from "./read.js";
import { TableControl } from "./table.js";
import { offerUndo } from "../core/undo.js";

export function control(field, context) {
  const make = { quantity: QuantityControl, whole: QuantityControl, choice: ChoiceControl, flag: FlagControl, table: TableControl,
    variant: VariantControl, text: TextControl, moment: TextControl }[field.type];
  return new make(field, context);
}

// What was typed is kept as typed; a change of units shows it converted but forgets nothing.
class QuantityControl extends Control {
  constructor(field, context) {
    super(field, context);
    const { units } = context;
    this.typedText = context.typed ?? null;
    this.input = el("input", {
      id: this.id, type: "text", inputmode: "decimal", autocomplete: "off", enterkeyhint: "done",
      oninput: () => this.type(this.input.value), onchange: () => this.settle(), onfocus: () => this.input.select(),
    });
    this.unit = unitChooser(units, field, (name) => this.chooseUnit(name), () => this.displayUnit);
    const row = el("div", { class: "row" }, this.stepButton(-1), this.input, this.stepButton(+1), this.unit.element);
    this.take = field.take ? el("button", { type: "button", class: "take", onclick: () => this.takeOver() }) : null;
    this.wrap(el("label", { for: this.id }, field.label), row, this.take);
    this.draw();
  }

  stepButton(direction) {
    if (this.field.step == null && this.field.type !== "whole") return null;
    return el("button", { type: "button", class: "step", "aria-label": `${direction < 0 ? "Less" : "More"}: ${this.field.label}`,
      onclick: (event) => heldStill(event.currentTarget, () => this.stepBy(direction)) }, direction < 0 ? "−" : "+");
  }

  // The reader's unit, or the one typed behind the number, until the reader's is another than it was then.
  get displayUnit() {
    const { units } = this.context;
    const { kind } = this.field;
    const usual = units.of(kind);
    return (this.typedText?.beside === usual.name && units.named(kind, this.typedText.unit)) || usual;
  }

  chooseUnit(name) {
    if (this.typedText) delete this.typedText.beside;
    this.context.units.set(this.field.kind, name);
  }

  get start() {
    return startOf(this.field, this.context.units);
  }

  type(text) {
    this.typedText = { text, unit: this.displayUnit.name };
    this.markAssumed();
    this.context.changed(this);
  }

  // Done typing: the number stays, and a unit typed behind it goes to where the unit stands.
  settle() {
    const { as } = this.read();
    if (!as || this.typedText === null || this.typedText.si != null) return;
    if (as.text === this.typedText.text && as.unit === this.typedText.unit) return;
    const usual = this.context.units.of(this.field.kind).name;
    this.typedText = as.unit === usual ? as : { ...as, beside: usual };
    this.draw();
    this.context.changed(this);
  }

  markAssumed() {
    const empty = this.field.default == null && isBlank(this.typedText);
    this.markSource(empty && this.field.assumed != null);
  }

  // A value that was not typed keeps all its digits behind the ones shown.
  set(si) {
    const { displayUnit } = this;
    const beside = this.typedText?.beside;
    this.typedText = { text: this.context.units.plain(this.field.kind, si, displayUnit), unit: displayUnit.name, si, ...(beside ? { beside } : {}) };
    this.draw();
    this.context.changed(this);
  }

  stepBy(direction) {
    const read = this.read();
    const step = niceStep((this.field.step ?? 1) / this.displayUnit.scale);
    const start = read.value ?? this.field.assumed ?? this.start ?? this.field.low;
    const shown = this.context.units.value(this.field.kind, start, this.displayUnit);
    const next = Math.round(shown / step + direction) * step;
    const si = next * this.displayUnit.scale + this.displayUnit.offset;
    this.set(Math.min(Math.max(si, this.field.low), this.field.high));
  }

  // What is assumed goes by another field, and that has changed.
  assume(assumed) {
    if (assumed === this.field.assumed) return;
    this.field = { ...this.field, assumed };
    this.draw();
  }

  takeOver() {
    const value = this.context.answerOf(this.field.take.form, this.field.take.result);
    if (value == null) return;
    const before = this.typedText;
    this.set(value);
    offerUndo("Taken over.", () => {
      this.setTyped(before);
      this.context.changed(this);
    });
  }

  typed() {
    return this.typedText;
  }

  setTyped(typed) {
    this.typedText = typed ?? null;
    this.draw();
  }

  draw() {
    const { units } = this.context;
    const { kind, assumed, optional } = this.field;
    this.unit.draw();
    if (assumed != null) this.input.placeholder = units.plain(kind, assumed);
    else if (optional) this.input.placeholder = "not given";
    this.markAssumed();
    const shown = this.shownText();
    if (document.activeElement !== this.input || this.input.value !== shown) this.input.value = shown;
    if (this.take) {
      const value = this.context.answerOf(this.field.take.form, this.field.take.result);
      const { value: now } = this.read();
      this.take.hidden = value == null || Math.abs(value - now) <= 1e-9 * Math.abs(value);
      if (value != null) say(this.take, `${this.field.take.label}: ${units.text(kind, value)}`);
    }
  }

  shownText() {
    const { units } = this.context;
    const { kind } = this.field;
    if (this.typedText === null) return this.start != null ? units.plain(kind, this.start) : "";
    if (this.typedText.unit === this.displayUnit.name) return this.typedText.text;
    const read = readTyped(this.field, this.typedText, units);
    return read.error ? this.typedText.text : units.plain(kind, read.si, this.displayUnit);
  }
}

// One of several quantities under one name, as another field's word says. Each keeps what was typed in it.
class VariantControl {
  constructor(field, context) {
    this.field = field;
    this.controls = new Map(Object.entries(field.variants).map(([word, told]) =>
      [word, new QuantityControl(told, { ...context, typed: context.typed?.[word] })]));
    this.element = el("div", { class: "variant", "data-field": field.name }, ...this.all.map((made) => made.element));
    this.choose(Object.keys(field.variants)[0]);
  }

  get all() {
    return [...this.controls.values()];
  }

  choose(word) {
    this.now = this.controls.get(word) ?? this.now;
    for (const made of this.all) made.element.hidden = made !== this.now;
  }

  typed() {
    return Object.fromEntries([...this.controls].map(([word, made]) => [word, made.typed()]));
  }

  setTyped(typed) {
    for (const [word, made] of this.controls) made.setTyped(typed?.[word]);
  }

  draw() {
    for (const made of this.all) made.draw();
  }

  showError(sentence) {
    for (const made of this.all) made.showError(made === this.now ? sentence : null);
  }

  setSource(word) {
    for (const made of this.all) made.setSource(word);
  }

  offerToClear(sentence, clear) {
    for (const made of this.all) made.offerToClear(made === this.now ? sentence : null, clear);
  }
}

// A word that is only assumed is marked so, until one is chosen.
class ChoiceControl extends Control {
  constructor(field, context) {
    super(field, context);
    this.word = wordOf(field, context.typed);
    if (field.options.length <= 3) this.drawButtons();
    else this.drawSelect();
    this.mark();
  }

  mark() {
    const shown = this.word ?? this.field.assumed ?? null;
    if (this.select) this.select.value = shown;
    for (const label of this.inputs ?? []) label.firstChild.checked = label.firstChild.value === shown;
    this.markSource(this.word === null && this.field.assumed != null);
  }

  // What is assumed goes by another field, and that has changed.
  assume(assumed) {
    if (assumed === this.field.assumed) return;
    this.field = { ...this.field, assumed };
    this.mark();
  }

  drawButtons() {
    const group = newId("choice");
    this.inputs = this.field.options.map((option) => {
      const input = el("input", { type: "radio", name: group, value: option.value, onchange: () => this.choose(option.value), onclick: () => this.confirm(option.value) });
      return el("label", { class: "option" }, input, el("span", {}, option.label));
    });
    const set = el("div", { class: "options", role: "radiogroup", "aria-labelledby": this.id }, ...this.inputs);
    this.wrap(el("span", { id: this.id, class: "label" }, this.field.label), set);
  }

  drawSelect() {
    this.select = el("select", { id: this.id, onchange: () => this.choose(this.select.value) },
      ...this.field.options.map((option) => el("option", { value: option.value }, option.label)));
    this.select.value = this.word;
    // A list tells nothing when its own word is chosen again.
    this.same = this.field.default != null && !this.field.asks ? el("button", { type: "button", class: "same", hidden: true, onclick: () => this.choose(this.word) }, "It is this one") : null;
    this.wrap(el("label", { for: this.id }, this.field.label), this.select, this.same);
  }

  setSource(word) {
    super.setSource(word);
    if (this.same) this.same.hidden = word !== "example";
  }

  choose(word) {
    this.word = word;
    this.mark();
    this.context.changed(this);
  }

  // Choosing what was assumed, or an example, anyway makes it a choice.
  confirm(word) {
    if (this.word === null || this.source === "example") this.choose(word);
  }

  typed() {
    return this.word;
  }

  setTyped(word) {
    this.word = wordOf(this.field, word);
    this.mark();
  }

  draw() {}
}

class FlagControl extends Control {
  constructor(field, context) {
    super(field, context);
    this.input = el("input", { type: "checkbox", id: this.id, onchange: () => this.choose(this.input.checked) });
    this.wrap(el("label", { class: "option", for: this.id }, this.input, el("span", {}, field.label)));
    this.setTyped(context.typed);
  }

  choose(checked) {
    this.setTyped(checked);
    this.context.changed(this);
  }

  typed() {
    return this.checked;
  }

  setTyped(checked) {
    this.checked = truthOf(this.field, checked);
    this.input.checked = this.checked ?? this.field.assumed ?? false;
    this.markSource(this.checked === null && this.field.assumed != null);
  }

  draw() {}
}

// Free words, or a date and time by the clock at the place ("2026-11-25T14:09"); both are text as typed.
class TextControl extends Control {
  constructor(field, context) {
    super(field, context);
    const attributes = { id: this.id, autocomplete: "off", maxlength: field.longest, oninput: () => { this.grow(); context.changed(this); } };
    if (field.lines > 1) this.input = el("textarea", { ...attributes, rows: field.lines });
    else this.input = el("input", { ...attributes, type: field.type === "moment" ? "datetime-local" : "text" });
    this.wrap(el("label", { for: this.id }, field.label), this.input);
    this.setTyped(context.typed);
    if (this.isFixed) new ResizeObserver(() => this.input.clientWidth !== this.width && this.grow()).observe(this.input); // shown, or turned
  }

  typed() {
    return this.input.value;
  }

  setTyped(text) {
    const shown = typeof text === "string" ? text : "";
    if (this.input.value === shown) return;
    this.input.value = shown;
    this.grow();
  }

  // Free words of which the browser would show the first lines only: one that does not know what page.css says of them.
  get isFixed() {
    return this.field.lines > 1 && !CSS.supports("field-sizing", "content");
  }

  grow() {
    if (!this.isFixed) return;
    const { scrollY } = window;
    const { style } = this.input;
    style.height = "auto";
    style.height = `${this.input.scrollHeight + this.input.offsetHeight - this.input.clientHeight}px`;
    this.width = this.input.clientWidth;
    if (window.scrollY !== scrollY) window.scrollTo({ top: scrollY, behavior: "instant" }); // the page was shorter for a moment
  }

  draw() {}
}
