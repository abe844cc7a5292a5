// A build's stored values against the sections of the supply check: what is given, what is assumed, what the check gets.
// Stored are {si, text, unit} for a quantity, rows of these for a table, the word or truth itself for the others; null for
// a field that was emptied again.

import { valueInWords } from "../answer/answer.js";
import { isPlain } from "../core/typed.js";

export function checkForm(app) {
  return app.forms.find((form) => form.name === "supply-check");
}

// The sections as a build has them. Leaving the line is no part of the car: a switch on the Supply screen says it.
export function sectionsOf(form) {
  return form.fields.filter((field) => field.type === "section").map((section) => (section.name === "launch" ? withoutSwitch(section) : section));
}

function withoutSwitch(section) {
  return { ...section, fields: section.fields.filter((field) => field.name !== "on").map(({ when, ...field }) => field) };
}

export function nameOf(section, field) {
  return `${section.name}.${field.name}`;
}

// The field that a name such as "pump.pumps" means: {section, field}, or null.
export function fieldNamed(form, name) {
  const [first, second] = name.split(".");
  const section = sectionsOf(form).find((told) => told.name === first);
  const field = section?.fields.find((told) => told.name === second);
  return field ? { section, field } : null;
}

const isNumber = (field) => field.type === "quantity" || field.type === "whole";

// What a control says now, to store: {value} or {error}.
export function toStore(field, control) {
  const read = control.read();
  if (read.error) return read;
  if (read.absent) return { value: null };
  if (isNumber(field)) return { value: { si: read.value, ...read.as } };
  if (field.type !== "table") return { value: read.value };
  return { value: read.value.map((row, n) => row.map((si, i) => ({ si, ...read.as[n][i] }))) };
}

// The same the other way round: what the control shows as typed.
export function toTyped(field, stored) {
  if (stored == null) return undefined;
  if (field.type === "table") return stored.map((row) => row.map((cell) => (cell.text == null || cell.unit == null ? siOf(cell) : { text: cell.text, unit: cell.unit })));
  if (!isNumber(field)) return stored;
  return stored.text == null ? { text: String(stored.si ?? stored), unit: null, si: siOf(stored) } : { text: stored.text, unit: stored.unit, si: stored.si };
}

const siOf = (stored) => (typeof stored === "number" ? stored : stored.si);

function valueOf(field, stored) {
  if (stored == null) return null;
  if (field.type === "table") return stored.map((row) => row.map(siOf));
  return isNumber(field) ? siOf(stored) : stored;
}

const assumedFor = (field) => field.assumed ?? field.default ?? null;

// One section as the check gets it: {inputs, fields: [{field, value, given, missing}] of those that apply}.
export function readSection(section, values) {
  const given = (field) => valueOf(field, values[nameOf(section, field)]);
  const said = Object.fromEntries(section.fields.map((field) => [field.name, given(field) ?? assumedFor(field)]));
  const applying = section.fields.filter((field) => Object.entries(field.when ?? {}).every(([other, allowed]) => allowed.includes(said[other])));
  const fields = applying.map((field) => {
    const isGiven = given(field) !== null;
    return { field, value: said[field.name], given: isGiven, missing: said[field.name] === null && !field.optional };
  });
  return { inputs: Object.fromEntries(fields.map(({ field, value }) => [field.name, value])), fields };
}

// The whole build: {inputs, assumed: [{section, field, value}], errors: {"section.field": [sentence]}}.
export function readBuild(form, values, units, launching = false) {
  const inputs = {};
  const assumed = [];
  const errors = {};
  for (const section of sectionsOf(form)) {
    const read = readSection(section, values);
    inputs[section.name] = read.inputs;
    for (const { field, value, given, missing } of read.fields) {
      const wrong = missing ? "This is needed: enter a value." : given && outOfRange(field, value, units);
      if (wrong) errors[nameOf(section, field)] = [wrong];
      if (!given && value !== null) assumed.push({ section, field, value });
    }
  }
  inputs.launch.on = launching;
  return { inputs, assumed, errors };
}

// A value that came from another device or an older form.
function outOfRange(field, value, units) {
  return isNumber(field) ? units.outside(field, value) : null;
}

// A stored value as a person reads it; what was typed in the unit shown stays as typed.
export function inWords(field, stored, units) {
  if (stored == null) {
    const assumed = assumedFor(field);
    return assumed === null ? "not given" : `assumed ${plainWords(field, assumed, units)}`;
  }
  if (isNumber(field) && stored.text != null && stored.unit === units.of(field.kind).name && isPlain(stored.text.trim())) {
    return `${stored.text.trim()}${stored.unit ? `\u00a0${stored.unit}` : ""}`;
  }
  return plainWords(field, valueOf(field, stored), units);
}

export function plainWords(field, value, units) {
  if (field.type === "table") return value.length === 1 ? "1 point" : `${value.length} points`;
  if (isNumber(field)) {
    const { name } = units.of(field.kind);
    return `${units.plain(field.kind, value)}${name ? (name === "%" ? name : `\u00a0${name}`) : ""}`;
  }
  return valueInWords(field, value, units);
}

// A build written in text, such as {"regulator.base_pressure": "6 psi"}, as it is stored.
export function fromText(form, texts, units) {
  return Object.fromEntries(Object.entries(texts).map(([name, text]) => {
    const { field } = fieldNamed(form, name);
    if (field.type === "table") return [name, text.map((row) => row.map((cell, i) => quantityFrom(field.columns[i].kind, cell, units)))];
    return [name, isNumber(field) ? quantityFrom(field.kind, text, units) : text];
  }));
}

function quantityFrom(kind, text, units) {
  const read = units.read(kind, text, null, null);
  if (read.error) throw new Error(`${text}: ${read.error}`);
  return { si: read.si, text: read.written, unit: read.unit.name };
}
