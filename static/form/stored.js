// Values as the log keeps them, and the way between them and what a field shows. Kept are {si, text, unit} for a number (how it
// was typed stays with it), rows of these for a table, the word, truth or text itself for the others; null for a field that was
// emptied again. The log may hold anything, by another device, a backup or by hand; what does not fit its field is UNREADABLE.

import { readField } from "./read.js";

const UNREADABLE = "What is kept here cannot be read: clear it, or enter it again.";

export const isNumber = (field) => field?.type === "quantity" || field?.type === "whole";

// {absent: true}, {value: SI, word, truth, text or rows} or {error: UNREADABLE}.
export function readStored(field, stored) {
  if (stored == null) return { absent: true };
  const value = valueIn(field, stored);
  return value === null ? { error: UNREADABLE } : { value };
}

function valueIn(field, stored) {
  if (isNumber(field)) return siOf(stored);
  if (field.type === "choice") return field.options.some(({ value }) => value === stored) ? stored : null;
  if (field.type === "flag") return typeof stored === "boolean" ? stored : null;
  if (field.type === "table") return rowsOf(field, stored);
  return typeof stored === "string" ? stored : null;
}

export function siOf(stored) {
  const si = typeof stored === "number" ? stored : stored?.si;
  return Number.isFinite(si) ? si : null;
}

function rowsOf({ columns }, stored) {
  const isRow = (row) => Array.isArray(row) && row.length === columns.length && row.every((cell) => siOf(cell) !== null);
  return Array.isArray(stored) && stored.every(isRow) ? stored.map((row) => row.map(siOf)) : null;
}

// What a field says now, to keep: {value} or {error}.
export function toStored(field, typed, units, said) {
  const read = readField(field, typed, units, said);
  if (read.error || read.errors) return read;
  if (read.absent) return { value: null };
  if (isNumber(field)) return { value: { si: read.value, ...(read.as ?? asPlain(field.kind, read.value, units)) } };
  if (field.type !== "table" || !read.as) return { value: read.value };
  return { value: read.value.map((row, n) => row.map((si, i) => ({ si, ...read.as[n][i] }))) };
}

// A starting value that the user left standing and so agreed to.
const asPlain = (kind, si, units) => ({ text: units.plain(kind, si), unit: units.of(kind).name });

// The same the other way round: what a field shows as typed. Undefined for nothing, and for what cannot be read.
export function toTyped(field, stored, units) {
  const { value } = readStored(field, stored);
  if (value === undefined) return undefined;
  if (field.type === "table") return stored.map((row, n) => row.map((cell, i) => (isWritten(field.columns[i].kind, cell, units) ? { text: cell.text, unit: cell.unit } : value[n][i])));
  if (!isNumber(field)) return value;
  return isWritten(field.kind, stored, units) ? { text: stored.text, unit: stored.unit, si: value } : asTyped(field, value, units);
}

function isWritten(kind, stored, units) {
  return typeof stored?.text === "string" && units.named(kind, stored.unit) !== undefined;
}

// A value in SI, a word or rows, as a field keeps what was typed; undefined for none.
export function asTyped(field, value, units) {
  if (value === null || value === undefined) return undefined;
  if (field.type === "section") return Object.fromEntries(field.fields.filter(({ name }) => value[name] != null).map((inner) => [inner.name, asTyped(inner, value[inner.name], units)]));
  if (field.kind && typeof value === "number") return { text: units.plain(field.kind, value), unit: units.of(field.kind).name, si: value };
  if (field.type === "choice" && !field.options.some((option) => option.value === value)) return undefined;
  return value;
}
