// What a build knows, by the names that the fields of the figures give: "pump.curve" for a field, "pump.curve.pressure" for
// the largest of a table's column, "pump" for a section, "boost" for the boost looked at on Supply, "check.fuel_demand" for
// a result of the supply check at that boost.

import { checkForm, readSection, sectionsOf } from "../car/sections.js";
import { el, say } from "../core/dom.js";
import { readField } from "../form/read.js";
import { asTyped, toTyped } from "../form/stored.js";
import { todaysAir } from "../car/air.js";
import { checkPoint, gather, settingOf } from "../car/check.js";

export class BuildNumbers {
  constructor(app, build) {
    Object.assign(this, { build, units: app.units, form: checkForm(app) });
    const { inputs, assumed, errors } = gather(this.form, build, settingOf(this.form, build), todaysAir(), app.units);
    this.inputs = inputs;
    this.wrong = Object.keys(errors).length > 0;
    this.assumed = new Set(assumed.map(({ section, field }) => `${section.name}.${field.name}`));
  }

  // The SI value, word, rows or section that `name` stands for, or null where this build has none.
  value(name) {
    const [first, second, third] = name.split(".");
    if (first === "boost") return this.inputs.boost;
    if (first === "check") return second === undefined ? null : inside(this.results, [second, third]);
    const found = inside(this.inputs, [first, second]);
    if (third === undefined || found === null) return found;
    const at = this.fieldOf(first, second).columns.findIndex((column) => column.name === third);
    return Math.max(...found.map((row) => row[at]));
  }

  get results() {
    this.checked ??= this.wrong ? {} : checkPoint(this.form, this.inputs).results ?? {};
    return this.checked;
  }

  fieldOf(section, name) {
    return sectionsOf(this.form).find((told) => told.name === section).fields.find((told) => told.name === name);
  }

  // True where the person said it, or it follows from what was said; a value that is only assumed is none to offer.
  isOwn(name) {
    const [first, second] = name.split(".");
    if (first === "boost") return true;
    if (first === "check") return this.build !== null && !this.wrong;
    if (second !== undefined) return !this.assumed.has(`${first}.${second}`);
    const section = sectionsOf(this.form).find((told) => told.name === first);
    return readSection(section, this.build.values).fields.some(({ given }) => given);
  }

  // The same as a control keeps what was typed, or undefined. `name` may mean a whole section.
  typed(name, field) {
    if (field.type === "section") {
      const typed = field.fields.map((inner) => [inner.name, toTyped(inner, this.build.values[`${name}.${inner.name}`], this.units)]);
      return Object.fromEntries(typed.filter(([, one]) => one !== undefined));
    }
    return asTyped(field, this.value(name), this.units);
  }
}

function inside(from, names) {
  return names.filter((name) => name !== undefined).reduce((part, name) => part?.[name] ?? null, from) ?? null;
}

// A button at each field that the build knows better, "From the build: 6.5 psi", and one for all of them.
export class Offers {
  // `view` is the form on screen, `numbers()` the build's numbers or null.
  constructor({ view, units, numbers }) {
    Object.assign(this, { view, units, numbers });
    this.all = el("button", { type: "button", class: "take from-build", hidden: true, onclick: () => this.takeAll() });
    this.offers = view.fields.filter((field) => field.build).map((field) => this.make(field));
  }

  make(field) {
    const made = this.view.controls.get(field.name);
    const button = el("button", { type: "button", class: "take from-build", hidden: true, onclick: () => this.take(field, made) });
    made.element.append(button); // of a section it unfolds with the section
    return { field, made, button };
  }

  take(field, made) {
    made.setTyped(this.numbers()?.typed(field.build, field));
    this.view.onChange(made);
  }

  takeAll() {
    for (const { field, made, button } of this.offers) if (!button.hidden) made.setTyped(this.numbers().typed(field.build, field));
    this.view.onChange();
  }

  draw() {
    const numbers = this.numbers();
    let open = 0;
    for (const { field, made, button } of this.offers) {
      const typed = numbers?.isOwn(field.build) ? numbers.typed(field.build, field) : undefined;
      // Today's air has a button of its own.
      const offered = made.take && !made.take.hidden && field.build.startsWith("air.");
      button.hidden = typed === undefined || offered || this.says(field, made, typed);
      if (button.hidden) continue;
      say(button, `From the build: ${this.words(field, numbers)}`);
      open += this.view.applies(field) ? 1 : 0;
    }
    this.all.hidden = open < 2;
    this.view.drawFolds();
    if (open > 1) say(this.all, `Take all ${open} numbers of ${numbers.build.name}`);
  }

  // Whether a control says so already, as far as it can be read.
  says(field, made, typed) {
    if (field.type === "section") return JSON.stringify(made.typed() ?? {}) === JSON.stringify(typed);
    const read = readField(field, made.typed(), this.units, this.view.said);
    const now = read.absent ? field.assumed ?? null : read.value ?? null;
    if (typeof now === "number") return this.units.text(field.kind, now) === this.units.text(field.kind, typed.si);
    return same(now, Array.isArray(typed) ? typed.map((row) => row.map((cell) => cell.si ?? cell)) : typed);
  }

  words(field, numbers) {
    if (field.type === "section") return "its own numbers";
    const value = numbers.value(field.build);
    if (field.type === "table") return `${value.length} points`;
    return field.options?.find((option) => option.value === value)?.label ?? this.units.text(field.kind, value);
  }
}

function same(a, b) {
  if (Array.isArray(a) && Array.isArray(b)) return a.length === b.length && a.every((one, i) => same(one, b[i]));
  return typeof a === "number" && typeof b === "number" ? Math.abs(a - b) <= 1e-6 * Math.max(Math.abs(a), Math.abs(b)) : a === b;
}
