// How edits become a record; the same rule as webapp/merge.py, which says it in full, and tested against it.
// A record is {id, kind, fields: {name: [[value, at, device], ...]}}, each field's entries with the winner first.

import { LAST_BELIEVED, next, START } from "./clock.js";

export const DELETED = "_deleted";
const MOST_VALUES = new Map([["recording", 3]]);

// Equal values give equal text, whatever the order of their keys.
export function canonical(value) {
  return JSON.stringify(value, (_, inner) => (inner && typeof inner === "object" && !Array.isArray(inner)
    ? Object.fromEntries(Object.entries(inner).sort(([a], [b]) => (a < b ? -1 : 1)))
    : inner));
}

function compare(a, b) {
  for (const place of [1, 2]) if (a[place] !== b[place]) return a[place] < b[place] ? -1 : 1;
  const [x, y] = [canonical(a[0]), canonical(b[0])];
  return x < y ? -1 : x > y ? 1 : 0;
}

export function entriesOf(record, field) {
  return record && Object.hasOwn(record.fields, field) ? record.fields[field] : [];
}

export function holds(record, field, entry) {
  return entriesOf(record, field).some((other) => compare(other, entry) === 0);
}

// `record` (or null) with `edit` in it; the very same object where it changes nothing.
export function merge(record, edit) {
  const entry = [edit.value, edit.at, edit.device];
  if (holds(record, edit.field, entry)) return record;
  const entries = [...entriesOf(record, edit.field), entry].sort((a, b) => compare(b, a)).slice(0, MOST_VALUES.get(edit.field));
  if (!entries.includes(entry)) return record;
  return { id: edit.record, kind: record?.kind ?? edit.kind, fields: { ...record?.fields, [edit.field]: entries } };
}

// A record with what lies under an older name of a field moved to its name now; `names` is {old: name}.
export function carried(record, names = {}) {
  const old = Object.keys(names).filter((name) => Object.hasOwn(record.fields, name));
  if (!old.length) return record;
  const fields = { ...record.fields };
  for (const name of old) {
    fields[names[name]] = [...(fields[names[name]] ?? []), ...fields[name]].sort((a, b) => compare(b, a));
    delete fields[name];
  }
  return { ...record, fields };
}

export function editsOf(record) {
  return Object.entries(record.fields).flatMap(([field, entries]) => entries.map(([value, at, device]) => (
    { record: record.id, kind: record.kind, field, value, at, device })));
}

// Every stamp that no clock can have shown set next after the field's other ones, in the same order.
export function heal(record) {
  return { ...record, fields: Object.fromEntries(Object.entries(record.fields).map(([field, entries]) => [field, healed(entries)])) };
}

function healed(entries) {
  const right = entries.filter(([, at]) => at < LAST_BELIEVED);
  let last = right[0]?.[1] ?? START;
  for (const [value, , device] of entries.slice(0, entries.length - right.length).reverse()) {
    last = next(0, last);
    right.unshift([value, last, device]);
  }
  return right;
}

export function isDeleted(record) {
  return entriesOf(record, DELETED)[0]?.[0] === true;
}
