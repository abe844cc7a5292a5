// What was typed into a form, read: when a field applies, what it is assumed to say, whether it lies in range. Pure; the
// fields on the screen only draw, and whoever needs the numbers alone needs no screen.
//
// Typed are, by the type of the field: {text, unit, si} for a number (`si` where it was put in and not typed, with all its
// digits), a word, truth, text, rows of numbers or of {text, unit}, {word: typed} for a variant, {field: typed} for a section.
// Missing or null is a field that was not touched.
//
// The server reads the same forms in webapp/forms/base.py; a random test holds the two together.

import { NOT_A_NUMBER } from "../core/typed.js";

// {inputs, assumed, errors}: SI values of what applies, those of them that are only assumed, and sentences by field, or null
// where nothing is wrong.
export function read(fields, typed, units) {
  const [inputs, assumed, errors] = [{}, {}, {}];
  const said = sayer(fields, typed, units);
  for (const field of fields) {
    if (!applies(field, said)) continue;
    const { name } = field;
    const one = readField(field, typed[name], units, said);
    if (one.errors) Object.assign(errors, prefixed(name, one.errors));
    else if (one.error) errors[name] = [one.error];
    else inputs[name] = one.absent ? assumedOf(field, said) : one.value;
    if (one.absent && assumedOf(field, said) !== null) assumed[name] = assumedOf(field, said);
    if (one.assumed) Object.assign(assumed, prefixed(name, one.assumed));
  }
  return { inputs, assumed, errors: Object.keys(errors).length ? errors : null };
}

// Whether the other fields call for this one; `said(name)` is what another says.
export function applies(field, said) {
  return Object.entries(field.when ?? {}).every(([other, allowed]) => allowed.includes(said(other)));
}

// What is assumed of a field, which may go by what another says; null where nothing is.
export function assumedOf({ assumed = null, assumed_by: by }, said) {
  return by?.of[said(by.field)] ?? assumed;
}

// What each field says, or where it is left empty or wrong is assumed to say.
export function sayer(fields, typed, units) {
  const known = new Map();
  return (name) => {
    if (!known.has(name)) {
      const field = fields.find((told) => told.name === name);
      const one = field ? readField(field, typed[name], units) : {};
      known.set(name, one.value ?? field?.assumed ?? null);
    }
    return known.get(name);
  };
}

// {value} in SI, {absent: true} or {error: sentence} of one field; {value, assumed} or {errors} of a section. A number that was
// typed comes with `as`, the {text, unit} that it is kept as: the number alone, in the unit that was typed or shown.
export function readField(field, typed, units, said = () => null) {
  return READERS[field.type](field, typed ?? null, units, said);
}

const READERS = { quantity: readNumber, whole: readNumber, choice: readChoice, flag: readFlag, table: readTable,
  text: readText, moment: readText, variant: readVariant, section: readSection };

function readNumber(field, typed, units) {
  const start = typed === null ? startOf(field, units) : null;
  if (start !== null) return { value: start };
  return isBlank(typed) ? leftOut(field, NOT_A_NUMBER) : readWritten(field, typed, units);
}

function readWritten(field, typed, units) {
  const one = readTyped(field, typed, units);
  if (one.error) return one;
  const { value, error } = inRange(field, one.si, units, one.unit);
  return error ? { error } : { value, as: { text: one.written, unit: one.unit.name } };
}

// {si, unit, written} or {error} of the number alone.
export function readTyped({ kind, low, high }, typed, units) {
  const unit = units.named(kind, typed.unit) ?? units.of(kind);
  return typed.si != null ? { si: typed.si, unit, written: typed.text } : units.read(kind, typed.text, low, high, unit);
}

export function inRange(field, si, units, unit) {
  if (field.type === "whole" && !Number.isInteger(si)) return { error: `${field.label} must be a whole number.` };
  const error = units.outside(field, si, unit);
  return error ? { error } : { value: Math.min(Math.max(si, field.low), field.high) };
}

function leftOut(field, sentence) {
  return field.assumed != null || field.optional ? { absent: true } : { error: sentence };
}

export function isBlank(typed) {
  return typed === null || (typed.si == null && (typed.text ?? "").trim() === "");
}

const starts = new WeakMap(); // field: {unit, value}; a round number is looked for once, not at every key

// What the page starts with, round in the reader's system; null where it starts with nothing.
export function startOf(field, units) {
  if (field.default == null) return null;
  const unit = units.usual(field.kind);
  if (starts.get(field)?.unit !== unit) starts.set(field, { unit, value: roundStart(field, unit) });
  return starts.get(field).value;
}

function roundStart({ default: si, step, low, high }, unit) {
  const value = (si - unit.offset) / unit.scale;
  const slack = step == null ? 0.02 * Math.abs(value) : (0.7 * step) / unit.scale;
  return Math.min(Math.max(roundWithin(value, slack) * unit.scale + unit.offset, low), high);
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

// The word that is typed, if it is one of the field's; else what the page starts with.
export function wordOf(field, typed) {
  return field.options.some(({ value }) => value === typed) ? typed : field.default ?? null;
}

function readChoice(field, typed) {
  const word = wordOf(field, typed);
  return word === null ? leftOut(field, "Choose one.") : { value: word };
}

export function truthOf(field, typed) {
  return typeof typed === "boolean" ? typed : field.default ?? null;
}

function readFlag(field, typed) {
  const truth = truthOf(field, typed);
  return truth === null && field.assumed != null ? { absent: true } : { value: truth ?? false };
}

function readText(field, typed) {
  return typeof typed !== "string" || typed.trim() === "" ? { absent: true } : { value: typed };
}

function readVariant(field, typed, units, said) {
  const word = said(field.by) in field.variants ? said(field.by) : Object.keys(field.variants)[0];
  return readField(field.variants[word], typed?.[word], units);
}

function readSection(field, typed, units) {
  const { inputs, assumed, errors } = read(field.fields, typed ?? {}, units);
  return errors ? { errors } : { value: inputs, assumed };
}

// Rows in which nothing was typed do not count.
function readTable(field, typed, units) {
  const [rows, as] = [[], []];
  for (const [number, row] of (typed ?? field.default ?? []).entries()) {
    if (row.every((cell) => typeof cell !== "number" && isBlank(cell))) continue;
    const cells = field.columns.map((column, i) => readCell(column, row[i], units));
    const wrong = cells.find(({ error }) => error);
    if (wrong) return { error: `Row ${number + 1}: ${wrong.error}` };
    rows.push(cells.map(({ value }) => value));
    as.push(cells.map((cell) => cell.as ?? {}));
  }
  if (rows.length === 0 && (field.optional || field.assumed != null)) return { absent: true };
  if (rows.length < field.rows_low) return { error: `${field.label} needs at least ${field.rows_low} rows.` };
  return { value: rows, as };
}

export function readCell(column, cell, units) {
  if (typeof cell === "number") return inRange(column, cell, units);
  return isBlank(cell ?? null) ? { error: NOT_A_NUMBER } : readWritten(column, cell, units);
}

function prefixed(name, told) {
  return Object.fromEntries(Object.entries(told).map(([key, value]) => [`${name}.${key}`, value]));
}
