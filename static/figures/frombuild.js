// What the car in use knows, by the names that the fields of the figures give: "pump.curve" for a field,
// "pump.curve.pressure" for the largest of a table's column, "pump" for a section, "boost" for the boost looked at on Supply,
// "planned" for the one that the car is planned for, "check.fuel_demand" for a result of the supply check there, in the case looked at,
// "full.fuel_demand" for one at full throttle (leaving the line, where that is the case), "kept.carburettor_sheet.main_primary" for
// what another figure keeps with the car.

import { todaysAir } from "../car/air.js";
import { checkPoint, gather, plannedBoost, settingOf } from "../car/check.js";
import { nameOf as keptName } from "../car/kept.js";
import { checkForm, fieldNamed, wrongWords } from "../car/sections.js";
import { asTyped, toTyped } from "../form/stored.js";

const WORKED_OUT = ["check", "full"];
const KEPT = "kept.";

export class BuildNumbers {
  constructor(app, build, setting = null, air = todaysAir()) {
    Object.assign(this, { build, air, units: app.units, form: checkForm(app) });
    this.setting = setting ?? settingOf(this.form, build);
    this.read = gather(this.form, build, this.setting, air, app.units);
    this.inputs = this.read.inputs;
    this.wrong = Object.keys(this.read.errors).length > 0;
    this.assumed = new Set(this.read.assumed.map(({ section, field }) => `${section.name}.${field.name}`));
  }

  // The SI value, word, rows or section that `name` stands for, or null where this car has none.
  value(name) {
    const [first, second, third] = this.standIn(name).split(".");
    if (first === "boost") return this.inputs.boost;
    if (first === "planned") return plannedBoost(this.build);
    if (first === "check") return inside(this.results, [second, third]);
    if (first === "full") return inside(this.full, [second, third]);
    if (this.refused(name).length) return null; // nothing stands in for it
    const found = inside(this.inputs, [first, second]);
    if (third === undefined || found === null) return found;
    const at = fieldNamed(this.form, `${first}.${second}`).field.columns.findIndex((column) => column.name === third);
    return Math.max(...found.map((row) => row[at]));
  }

  // Worked out whatever is known: how much of it is only assumed is said beside it.
  get results() {
    this.checked ??= this.wrong ? {} : checkPoint(this.form, this.inputs).results ?? {};
    return this.checked;
  }

  get full() {
    const drawsAll = this.results.shown_case === "line" ? "line" : "full";
    this.checkedFull ??= this.results.shown_case === drawsAll ? this.results : this.wrong ? {} : checkPoint(this.form, { ...this.inputs, case: drawsAll }).results ?? {};
    return this.checkedFull;
  }

  // A driven pump turns with the engine where its own field does not say at which speed.
  standIn(name) {
    return name === "pump.engine_speed" && this.inputs.pump?.engine_speed == null ? "engine.speed" : name;
  }

  // What a field of a section shows, as Supply counts it: today's air, where it is known, goes before the car's.
  typedInside(section, field) {
    const today = section === "air" ? this.air?.[field.name] : undefined;
    return today === undefined ? toTyped(field, this.build.values[`${section}.${field.name}`], this.units) : asTyped(field, today, this.units);
  }

  // What was typed into the car and refused, of a value, a section, or all that a result of the check stands on: [{name, sentence}].
  refused(name) {
    const [first, second] = this.standIn(name).split(".");
    const isMeant = (one) => WORKED_OUT.includes(first) || one === `${first}.${second}` || (second === undefined && one.startsWith(`${first}.`));
    return Object.entries(this.read.errors).filter(([one]) => isMeant(one)).map(([one, sentences]) => ({ name: one, sentence: wrongWords(this.form, one, sentences) }));
  }

  isAssumed(name) {
    const [first, second] = this.standIn(name).split(".");
    return WORKED_OUT.includes(first) ? this.read.unknown.length > 0 : this.assumed.has(`${first}.${second}`);
  }

  // The key values that nobody gave and that this one stands on.
  unknownBehind(name) {
    const [first, second] = this.standIn(name).split(".");
    if (WORKED_OUT.includes(first)) return this.read.unknown.map(({ word }) => word);
    return this.read.unknown.filter(({ names }) => names.includes(`${first}.${second}`)).map(({ word }) => word);
  }
}

// What the car fills in a figure: {name: {typed, source: "car" or "assumed", unknown: [words]}}; of a section `typed` holds what
// was given, and the rest is assumed there as it is in the car. `said(name)` tells what the field of a swap says. `refused` are the
// car's values that it stands on and that were typed wrong: [{name, sentence}].
export function fillingOf(form, numbers, said) {
  if (!numbers) return {};
  const kept = numbers.build.values[keptName(form)] ?? {};
  const filled = form.fields.map((field) => [field.name, fill(field)]);
  return Object.fromEntries(filled.filter(([, one]) => one !== null));

  function fill(field) {
    if (field.car !== undefined) return { typed: field.car, source: "car", unknown: [] };
    if (field.build?.startsWith(KEPT)) return fromOther(field, numbers);
    return field.build ? fromCar(field, swapped(form, field.build, said), numbers) : fromKept(field, kept, numbers.units);
  }
}

// The name in the car, where it hangs on a word of the form: {side: {return: [["supply_line", "return_line"]]}}.
export function swapped({ swaps = {} }, name, said) {
  for (const [field, words] of Object.entries(swaps)) {
    for (const [from, to] of words[said(field)] ?? []) {
      if (name.includes(from)) return to === null ? null : name.replace(from, to);
    }
  }
  return name;
}

function fromCar(field, name, numbers) {
  if (field.type === "section") {
    const given = field.fields.map((inner) => [inner.name, numbers.typedInside(name, inner)]);
    return { typed: Object.fromEntries(given.filter(([, one]) => one !== undefined)), source: "car", unknown: [], refused: numbers.refused(name) };
  }
  const refused = name === null ? [] : numbers.refused(name);
  if (refused.length) return { typed: null, source: null, unknown: [], refused };
  const typed = name === null ? undefined : asTyped(field, within(field, numbers.value(name)), numbers.units);
  if (typed === undefined) return null;
  return { typed, source: numbers.isAssumed(name) ? "assumed" : "car", unknown: numbers.unknownBehind(name), name };
}

// A pressure that is worked out to less than none is none, where the field goes no lower.
function within(field, value) {
  return typeof value === "number" && field.low !== undefined ? Math.min(Math.max(value, field.low), field.high) : value;
}

function fromKept(field, kept, units) {
  const typed = toTyped(field, kept[field.name] ?? kept[field.was], units);
  return typed === undefined ? null : { typed, source: "car", unknown: [], kept: true };
}

// What another figure keeps with the car.
function fromOther(field, { build, units }) {
  const [, figure, name] = field.build.split(".");
  const typed = toTyped(field, build.values[KEPT + figure]?.[name], units);
  return typed === undefined ? null : { typed, source: "car", unknown: [] };
}

function inside(from, names) {
  return names.filter((name) => name !== undefined).reduce((part, name) => part?.[name] ?? null, from) ?? null;
}
