// One control for each type of field. Each owns its element, knows what was typed, and reads it as SI.
//
// A control has: element, read() -> {value} | {absent: true} | {error}, typed() (to remember), draw() (after a change of
// units or of what was typed), showError(sentence or null). `value` is SI, a word, truth, or rows. Numbers come with `as`,
// the {text, unit} that they are kept as: the number alone, in the unit that was typed or shown.

import { el, newId, say } from "../core/dom.js";
import { niceStep } from "../core/step.js";

const MOST_BESIDE = 3; // columns that stand beside each other on a phone

export function control(field, context) {
  const make = { quantity: QuantityControl, whole: QuantityControl, choice: ChoiceControl, flag: FlagControl, table: TableControl,
    variant: VariantControl, text: TextControl, moment: TextControl }[field.type];
  return new make(field, context);
}

class Control {
  // context: {units, typed: remembered or undefined, changed(), answerOf(form, result)}
  constructor(field, context) {
    this.field = field;
    this.context = context;
    this.id = newId(field.name);
    this.error = el("p", { class: "error", id: `${this.id}-error`, hidden: true });
    this.help = field.help ? el("p", { class: "help", id: `${this.id}-help` }, field.help) : null;
  }

  wrap(label, ...controls) {
    const helpBox = this.help ? el("details", { class: "help-box" }, el("summary", { "aria-label": `About ${this.field.label}` }, "?"), this.help) : null;
    this.element = el("div", { class: `field ${this.field.type}`, "data-field": this.field.name },
      el("div", { class: "field-head" }, label, helpBox), ...controls, this.error);
  }

  showError(sentence) {
    this.error.hidden = !sentence;
    say(this.error, sentence ?? "");
    this.element.classList.toggle("wrong", Boolean(sentence));
    for (const input of this.element.querySelectorAll("input, select")) {
      if (sentence) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
    }
    this.describe();
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
    if (word === null && !this.sourceMark) return;
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
      if (input.matches(".unit")) continue;
      if (shown) input.setAttribute("aria-describedby", shown);
      else input.removeAttribute("aria-describedby");
    }
  }
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
      onclick: () => this.stepBy(direction) }, direction < 0 ? "−" : "+");
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

  // What the page starts with, round in the reader's system.
  get start() {
    const { default: si, step, kind, low, high } = this.field;
    if (si == null) return null;
    const unit = this.context.units.usual(kind);
    const value = (si - unit.offset) / unit.scale;
    const slack = step == null ? 0.02 * Math.abs(value) : (0.7 * step) / unit.scale;
    return Math.min(Math.max(roundWithin(value, slack) * unit.scale + unit.offset, low), high);
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
    const empty = this.field.default == null && (this.typedText === null || this.typedText.text.trim() === "");
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

  takeOver() {
    const value = this.context.answerOf(this.field.take.form, this.field.take.result);
    if (value != null) this.set(value);
  }

  typed() {
    return this.typedText;
  }

  setTyped(typed) {
    this.typedText = typed ?? null;
    this.draw();
  }

  read() {
    const { units } = this.context;
    const { label, low, high, type } = this.field;
    if (this.typedText === null && this.start != null) return { value: this.start };
    if (this.typedText === null || this.typedText.text.trim() === "") {
      return this.field.assumed != null || this.field.optional ? { absent: true } : { error: "Enter a number." };
    }
    const read = this.readTyped();
    if (read.error) return read;
    if (type === "whole" && !Number.isInteger(read.si)) return { error: `${label} must be a whole number.` };
    const error = units.outside(this.field, read.si, read.unit);
    return error ? { error } : { value: Math.min(Math.max(read.si, low), high), as: { text: read.written, unit: read.unit.name } };
  }

  readTyped() {
    const { units } = this.context;
    const { text, unit, si } = this.typedText;
    const { kind, low, high } = this.field;
    const typedUnit = units.named(kind, unit) ?? this.displayUnit;
    return si != null ? { si, unit: typedUnit, written: text } : units.read(kind, text, low, high, typedUnit);
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
    const read = this.readTyped();
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

  read() {
    return this.now.read();
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
}

// The unit behind a field: plain text where there is one only.
function unitChooser(units, field, choose, chosen = () => units.of(field.kind)) {
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

// The roundest number that is no further off than `slack`.
function roundWithin(value, slack) {
  if (value === 0 || slack === 0) return value;
  for (let power = 10 ** Math.ceil(Math.log10(Math.abs(value))); power > slack / 10; power /= 10) {
    for (const digit of [5, 2, 1]) {
      const round = Number((Math.round(value / (digit * power)) * digit * power).toPrecision(12));
      if (Math.abs(round - value) <= slack) return round;
    }
  }
  return value;
}


// A word that is only assumed is marked so, until one is chosen.
class ChoiceControl extends Control {
  constructor(field, context) {
    super(field, context);
    this.word = this.known(context.typed) ?? field.default ?? null;
    if (field.options.length <= 3) this.drawButtons();
    else this.drawSelect();
    this.mark();
  }

  known(word) {
    return this.field.options.some((option) => option.value === word) ? word : null;
  }

  mark() {
    const shown = this.word ?? this.field.assumed ?? null;
    if (this.select) this.select.value = shown;
    for (const label of this.inputs ?? []) label.firstChild.checked = label.firstChild.value === shown;
    this.markSource(this.word === null && this.field.assumed != null);
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
    this.wrap(el("label", { for: this.id }, this.field.label), this.select);
  }

  choose(word) {
    this.word = word;
    this.mark();
    this.context.changed(this);
  }

  // Choosing what was assumed anyway makes it a choice.
  confirm(word) {
    if (this.word === null) this.choose(word);
  }

  typed() {
    return this.word;
  }

  setTyped(word) {
    this.word = this.known(word) ?? this.field.default ?? null;
    this.mark();
  }

  read() {
    if (this.word === null) return this.field.optional || this.field.assumed != null ? { absent: true } : { error: "Choose one." };
    return { value: this.word };
  }

  draw() {}
}

function putMark(made) {
  const mark = el("span", { class: "source-mark", id: `${made.id}-source` });
  const head = made.element.querySelector(".field-head");
  head.insertBefore(mark, head.children[1] ?? null);
  return mark;
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
    this.checked = checked ?? this.field.default ?? null;
    this.input.checked = this.checked ?? this.field.assumed ?? false;
    this.markSource(this.checked === null && this.field.assumed != null);
  }

  read() {
    if (this.checked === null && this.field.assumed != null) return { absent: true };
    return { value: this.checked ?? false };
  }

  draw() {}
}

const isEmpty = (cell) => cell.si == null && cell.text.trim() === "";

// Free words, or a date and time by the clock at the place ("2026-11-25T14:09"); both are text as typed.
class TextControl extends Control {
  constructor(field, context) {
    super(field, context);
    const attributes = { id: this.id, autocomplete: "off", maxlength: field.longest, oninput: () => context.changed(this) };
    if (field.lines > 1) this.input = el("textarea", { ...attributes, rows: field.lines });
    else this.input = el("input", { ...attributes, type: field.type === "moment" ? "datetime-local" : "text" });
    this.wrap(el("label", { for: this.id }, field.label), this.input);
    this.setTyped(context.typed);
  }

  typed() {
    return this.input.value;
  }

  setTyped(text) {
    const shown = typeof text === "string" ? text : "";
    if (this.input.value !== shown) this.input.value = shown;
  }

  read() {
    return this.input.value.trim() === "" ? { absent: true } : { value: this.input.value };
  }

  draw() {}
}

// Rows of numbers. The cells are quantity fields without steps; units stand in the head. Rows that are assumed stand as
// placeholders until something is typed.
class TableControl extends Control {
  constructor(field, context) {
    super(field, context);
    this.body = el("tbody");
    this.units = field.columns.map((column) => unitChooser(context.units, column, (name) => context.units.set(column.kind, name)));
    const heads = field.columns.map((column, i) => el("th", { scope: "col" }, column.label, " ", this.units[i].element));
    this.more = el("button", { type: "button", onclick: () => this.add() }, "Add a row");
    const title = el("span", { class: "label", id: this.id }, field.label);
    this.wrap(title, el("table", { class: field.columns.length > MOST_BESIDE ? "entry wide" : "entry", "aria-labelledby": this.id },
      el("thead", {}, el("tr", {}, ...heads, el("td", {}))), this.body), this.more);
    if (field.in_order) this.element.addEventListener("focusout", ({ relatedTarget }) => this.body.contains(relatedTarget) || this.sort());
    this.setTyped(context.typed);
  }

  // Rows by their first number once nobody types in them; empty ones last.
  sort() {
    const first = (row) => (row.cells.every(isEmpty) ? Infinity : this.readCell(this.field.columns[0], row.cells[0]).value);
    if (this.rows.some((row) => first(row) === undefined)) return;
    const sorted = [...this.rows].sort((a, b) => (first(a) < first(b) ? -1 : Number(first(a) > first(b))));
    if (sorted.every((row, i) => row === this.rows[i])) return;
    this.rows = sorted;
    this.body.replaceChildren(...sorted.map(({ element }) => element));
    this.draw();
    this.context.changed(this);
  }

  setTyped(typed) {
    this.rows = [];
    this.body.replaceChildren();
    const start = typed ?? this.field.default ?? [];
    for (const row of start) this.append(row.map((cell) => (typeof cell === "number" ? { si: cell } : cell)));
    const least = typed ? 0 : this.field.assumed?.length ?? 0;
    while (this.rows.length < Math.max(this.field.rows_low, least)) this.append(this.field.columns.map(() => ({ text: "", unit: null })));
    this.draw();
  }

  append(cells) {
    const row = { cells };
    row.inputs = this.field.columns.map((column, i) => {
      const input = el("input", {
        type: "text", inputmode: "decimal", autocomplete: "off", "aria-label": column.label,
        oninput: () => { cells[i] = { text: input.value, unit: this.unitOf(column).name }; this.markAssumed(); this.context.changed(this); },
        onchange: () => this.settle(column, cells, i),
        onfocus: () => input.select(),
      });
      return input;
    });
    const remove = el("button", { type: "button", class: "step", "aria-label": "Remove this row", onclick: () => this.remove(row) }, "×");
    row.element = el("tr", {}, ...row.inputs.map((input, i) => el("td", { "data-label": this.field.columns[i].label }, input)), el("td", {}, remove));
    row.removeButton = remove;
    this.rows.push(row);
    this.body.append(row.element);
  }

  add() {
    if (this.rows.length >= this.field.rows_high) return;
    this.append(this.field.columns.map(() => ({ text: "", unit: null })));
    this.draw();
    this.rows.at(-1).inputs[0].focus();
    this.context.changed(this);
  }

  remove(row) {
    if (this.rows.length <= this.field.rows_low) return;
    this.rows.splice(this.rows.indexOf(row), 1);
    row.element.remove();
    this.draw();
    this.context.changed(this);
  }

  unitOf(column) {
    return this.context.units.of(column.kind);
  }

  // Done typing: a unit typed behind the number is converted to the column's.
  settle(column, cells, i) {
    const { as } = cells[i].si == null ? this.readCell(column, cells[i]) : {};
    if (!as || (as.text === cells[i].text && as.unit === cells[i].unit)) return;
    cells[i] = as;
    this.draw();
    this.context.changed(this);
  }

  get empty() {
    return this.rows.every((row) => row.cells.every(isEmpty));
  }

  markAssumed() {
    if (this.field.assumed == null) return;
    const { empty } = this;
    this.markSource(empty);
    this.rows.forEach((row, number) => this.field.columns.forEach((column, i) => {
      const assumed = empty ? this.field.assumed[number] : null;
      row.inputs[i].placeholder = assumed ? this.context.units.plain(column.kind, assumed[i]) : "";
    }));
  }

  typed() {
    return this.empty && this.field.default == null ? null : this.rows.map((row) => row.cells.map((cell) => (cell.si != null ? cell.si : cell)));
  }

  draw() {
    for (const unit of this.units) unit.draw();
    this.more.hidden = this.rows.length >= this.field.rows_high;
    this.rows.forEach((row, number) => {
      row.removeButton.disabled = this.rows.length <= this.field.rows_low;
      this.field.columns.forEach((column, i) => {
        row.inputs[i].setAttribute("aria-label", `${column.label}, row ${number + 1}`);
        row.inputs[i].value = this.cellText(column, row.cells[i]);
      });
    });
    this.markAssumed();
  }

  cellText(column, cell) {
    const { units } = this.context;
    if (cell.si != null) return units.plain(column.kind, cell.si);
    if (cell.unit === null || cell.unit === this.unitOf(column).name) return cell.text;
    const read = units.read(column.kind, cell.text, column.low, column.high, units.named(column.kind, cell.unit));
    return read.error ? cell.text : units.plain(column.kind, read.si);
  }

  read() {
    const rows = [];
    const as = [];
    for (const [number, row] of this.rows.entries()) {
      if (row.cells.every(isEmpty)) continue;
      const values = [];
      const kept = [];
      for (const [i, column] of this.field.columns.entries()) {
        const read = this.readCell(column, row.cells[i]);
        if (read.error) return { error: `Row ${number + 1}: ${read.error}` };
        values.push(read.value);
        kept.push(read.as ?? {});
      }
      rows.push(values);
      as.push(kept);
    }
    if (rows.length < this.field.rows_low) {
      if (rows.length === 0 && (this.field.optional || this.field.assumed != null)) return { absent: true };
      return { error: `${this.field.label} needs at least ${this.field.rows_low} rows.` };
    }
    return { value: rows, as };
  }

  readCell(column, cell) {
    if (cell.si != null) return { value: cell.si };
    const { units } = this.context;
    const read = units.read(column.kind, cell.text, column.low, column.high, units.named(column.kind, cell.unit) ?? this.unitOf(column));
    if (read.error) return read;
    const error = units.outside(column, read.si, read.unit);
    return error ? { error } : { value: Math.min(Math.max(read.si, column.low), column.high), as: { text: read.written, unit: read.unit.name } };
  }
}
