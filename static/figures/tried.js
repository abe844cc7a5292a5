// What stands in the fields of a figure, and whose it is: the car's, only assumed there, typed here, or an example.

import { knowledge } from "../car/sure.js";
import { ticked } from "../car/ticks.js";
import { run, unknownIn, withhold } from "../core/compute.js";
import { applies, read, sayer } from "../form/read.js";
import { fillingOf } from "./frombuild.js";

const NUMBERS = ["quantity", "whole", "table", "variant"];

export class Tried {
  // `own` is what was typed here, `asked` what the check of a guide sets; {name: typed}.
  constructor(form, { own = {}, numbers = null, asked = {} }) {
    Object.assign(this, { form, numbers, asked });
    this.own = own;
    this.refill();
  }

  field(name) {
    return this.form.fields.find((field) => field.name === name);
  }

  setNumbers(numbers) {
    this.numbers = numbers;
    this.refill();
  }

  // The words that swaps hang on come first.
  refill() {
    const { fields, swaps = {} } = this.form;
    this.filled = {};
    this.filled = fillingOf({ ...this.form, fields: fields.filter(({ name }) => name in swaps), swaps: {} }, this.numbers);
    this.filled = fillingOf(this.form, this.numbers, (name) => this.word(name));
  }

  word(name) {
    const { assumed, default: start } = this.field(name);
    return this.own[name] ?? this.asked[name] ?? this.filled[name]?.typed ?? assumed ?? start;
  }

  forget() {
    this.own = {};
    this.refill();
  }

  // Typed here, or kept with the car as this figure's own.
  isSaid(name) {
    return name in this.own || this.filled[name]?.kept === true;
  }

  // All of it, as the controls keep it.
  typed() {
    const car = Object.fromEntries(Object.entries(this.filled).map(([name, { typed }]) => [name, typed]));
    const all = { ...car, ...this.asked, ...this.own };
    for (const { name, type } of this.form.fields) {
      if (type === "section" && this.own[name] && car[name]) all[name] = defined({ ...car[name], ...this.own[name] });
    }
    return all;
  }

  // A control was changed (all of them where none is named). True where what the car fills in hangs on it.
  note(view, made) {
    if (!made) {
      this.own = view.typed();
      return false;
    }
    const { name, type } = made.field;
    this.own = { ...this.own, [name]: type === "section" ? this.different(name, made) : made.typed() };
    if (type === "section" && !Object.keys(this.own[name]).length) delete this.own[name];
    if (!(name in (this.form.swaps ?? {}))) return false;
    this.refill();
    return true;
  }

  // Of a section only what differs from the car was typed here; null for what was emptied.
  different(name, made) {
    const car = this.filled[name]?.typed ?? {};
    const now = made.typed() ?? {};
    const names = [...new Set([...Object.keys(car), ...Object.keys(now)])];
    return Object.fromEntries(names.filter((inner) => JSON.stringify(car[inner]) !== JSON.stringify(now[inner])).map((inner) => [inner, now[inner] ?? null]));
  }

  // "car", "assumed", "typed", "example", or null where the control itself knows.
  sourceOf(field) {
    if (field.name in this.own) return isEmpty(this.own[field.name]) ? null : "typed";
    if (field.name in this.asked) return "asked";
    if (this.filled[field.name]) return this.filled[field.name].source;
    return isExample(field) ? "example" : null;
  }

  mark(view) {
    if (this.form.ticks) return;
    for (const field of this.form.fields) {
      const control = view.controls.get(field.name);
      if (field.type === "section") this.markSection(field, control);
      else control.setSource(this.sourceOf(field));
    }
  }

  markSection(field, { inner }) {
    const own = this.own[field.name] ?? {};
    const car = this.filled[field.name]?.typed ?? {};
    for (const [name, control] of inner.controls) {
      const source = own[name] != null ? "typed" : !(name in own) && name in car ? "car" : isExample(control.field) ? "example" : null;
      control.setSource(source);
    }
  }

  // The fields by which an answer is an example: those of which nobody said anything. What may be left out decides no answer,
  // but it does where a verdict is told.
  examples(view) {
    if (this.form.ticks || !this.form.lead) return [];
    const asked = this.form.fields.filter((field) => view.applies(field) && (!field.optional || this.form.verdicts.length));
    return asked.filter((field) => (field.type === "section" ? this.isExampleSection(field) : this.sourceOf(field) === "example"));
  }

  isExampleSection({ name, fields }) {
    return !(name in this.own) && !(name in this.filled) && fields.some(isExample);
  }

  // The labels of those, and whether all that was asked is one.
  exampleOf(view) {
    const found = this.examples(view);
    const given = this.form.fields.some((field) => view.applies(field) && ["typed", "car"].includes(this.sourceOf(field)));
    return found.length ? { labels: found.map((field) => field.label), all: !given } : null;
  }

  // An answer as it may be told: no verdict from an example, nor while key values are not known.
  told(view, read, answer) {
    return { ...withhold(this.form, answer, this.unknown(view, read)), inputs: read.inputs, assumed: read.assumed, example: this.exampleOf(view), allAssumed: this.isAssumed(view) };
  }

  // Nothing of the answer is the car's own or was typed.
  isAssumed(view) {
    const sources = this.form.fields.filter((field) => view.applies(field) && field.type !== "section").map((field) => this.sourceOf(field));
    return sources.includes("assumed") && !sources.some((source) => source === "car" || source === "typed");
  }

  // How well the values are known, where they are a car's and none is missed: with {known} the answer counts what may be off.
  known(view, read) {
    if (!this.form.doubts || !this.numbers || this.unknown(view, read).length) return {};
    const { measured, ...known } = knowledge(this.numbers.form, this.numbers.build, Object.keys(read.assumed));
    const isTyped = ([section, name]) => name in (this.own[section] ?? {});
    return { known: { ...known, measured: Object.fromEntries(Object.entries(measured).filter(([name]) => !isTyped(name.split(".")))) } };
  }

  // Sentences on the car's values that were typed wrong, unless another was typed here: nothing stands in for them.
  refused(view) {
    const asked = this.form.fields.filter((field) => view.applies(field));
    const found = asked.flatMap(({ name, type }) => (this.filled[name]?.refused ?? []).filter((one) => !(type === "section" ? this.own[name]?.[one.name.split(".")[1]] != null : name in this.own)));
    return [...new Set(found.map(({ sentence }) => `${sentence} Put it right in Build.`))];
  }

  // The key values that the answer stands on and that nobody gave.
  unknown(view, { inputs, assumed }) {
    const filled = this.form.fields.filter((field) => view.applies(field) && !(field.name in this.own)).flatMap(({ name }) => this.filled[name]?.unknown ?? []);
    return [...new Set([...filled, ...unknownIn(this.form.fields, inputs, (name) => name in assumed)])];
  }
}

// The answer of a figure as it opens on a car (`numbers` null: on its examples), without a screen.
export function figureAnswer(app, form, numbers, { own = {}, asked = {}, build = null } = {}) {
  if (form.ticks) return { ...ticked(form, build), inputs: {} };
  const tried = new Tried(form, { own, numbers, asked });
  const typed = tried.typed();
  const said = sayer(form.fields, typed, app.units);
  const told = read(form.fields, typed, app.units);
  const view = { applies: (field) => applies(field, said) };
  const refused = tried.refused(view);
  const answer = told.errors ? told : refused.length ? { errors: { form: refused } } : run(form, told.inputs);
  return answer.errors ? answer : tried.told(view, told, answer);
}

// What the page starts with and is nobody's; a word that only asks is the reader's own question.
const isExample = (field) => startsWith(field) && (NUMBERS.includes(field.type) || (field.type === "choice" && !field.asks));
const startsWith = ({ default: start, variants }) => start != null || Object.values(variants ?? {}).some((told) => told.default != null);
const defined = (typed) => Object.fromEntries(Object.entries(typed).filter(([, one]) => one !== null));
const isEmpty = (typed) => typed == null || (typeof typed.text === "string" && typed.text.trim() === "");
