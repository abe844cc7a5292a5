// A build's stored values against the sections of the supply check: what is given, what is assumed, what the check gets. How a
// value is kept, form/stored.js says.

import { valueInWords } from "../answer/answer.js";
import { isPlain } from "../core/typed.js";
import { applies, assumedOf, inRange } from "../form/read.js";
import { isNumber, readStored } from "../form/stored.js";

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

// What is wrong with a car's value, with its field's name before it where the sentences do not begin with that.
export function wrongWords(form, name, sentences) {
  const told = sentences.join(" ");
  const label = fieldNamed(form, name)?.field.label;
  return !label || told.startsWith(label) ? told : `${label}: ${told}`;
}

const assumedFor = (field, said) => assumedOf(field, said) ?? field.default ?? null;

// One section as the check gets it: {inputs, fields: [{field, value, given, missing, unreadable}] of those that apply}.
export function readSection(section, values) {
  const stored = new Map(section.fields.map((field) => [field.name, readStored(field, values[nameOf(section, field)])]));
  const said = (name) => stored.get(name)?.value ?? assumedFor(section.fields.find((field) => field.name === name) ?? {}, said);
  const fields = section.fields.filter((field) => applies(field, said)).map((field) => {
    const { absent, error } = stored.get(field.name);
    const value = said(field.name);
    return { field, value, given: !absent, missing: value === null && !field.optional, unreadable: error ?? null };
  });
  return { inputs: Object.fromEntries(fields.map(({ field, value }) => [field.name, value])), fields };
}

// The whole build, with what is typed wrong into it ({"section.field": sentence}): {inputs, assumed: [{section, field, value}], errors: {"section.field": [sentence]}}.
export function readBuild(form, values, units, { launching = false, wrong: typedWrong = {} } = {}) {
  const inputs = {};
  const assumed = [];
  const errors = {};
  for (const section of sectionsOf(form)) {
    const read = readSection(section, values);
    inputs[section.name] = read.inputs;
    for (const { field, value, given, missing, unreadable } of read.fields) {
      const wrong = typedWrong[nameOf(section, field)] ?? unreadable ?? (missing ? "This is needed: enter a value." : given && outOfRange(field, value, units));
      if (wrong) errors[nameOf(section, field)] = [wrong];
      if (!given && value !== null) assumed.push({ section, field, value });
    }
  }
  inputs.launch.on = launching;
  return { inputs, assumed, errors };
}

// A value that came from another device or an older form.
function outOfRange(field, value, units) {
  if (isNumber(field)) return inRange(field, value, units).error ?? null;
  if (field.type !== "table") return null;
  if (value.length < field.rows_low || value.length > field.rows_high) return `${field.label} needs ${field.rows_low} to ${field.rows_high} rows.`;
  const wrong = value.flatMap((row, n) => row.map((si, i) => ({ n, error: inRange(field.columns[i], si, units).error }))).find(({ error }) => error);
  return wrong ? `Row ${wrong.n + 1}: ${wrong.error}` : null;
}

// A stored value as a person reads it; what was typed in the unit shown stays as typed.
export function inWords(field, stored, units) {
  const { absent, error, value } = readStored(field, stored);
  if (error) return "cannot be read";
  if (absent) {
    if (field.assumed_by) return "assumed";
    const assumed = assumedFor(field);
    return assumed === null ? "not given" : `assumed ${plainWords(field, assumed, units)}`;
  }
  if (isNumber(field) && typeof stored.text === "string" && stored.unit === units.of(field.kind).name && isPlain(stored.text.trim())) {
    return `${stored.text.trim()}${stored.unit ? `\u00a0${stored.unit}` : ""}`;
  }
  return plainWords(field, value, units);
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
