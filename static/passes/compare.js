// What differs between two passes: their numbers, their words, and the build that each was made with.

import { checkForm, fieldNamed, inWords as buildInWords } from "../car/sections.js";
import { airForm, PREFIX, workOut } from "./air.js";
import { derived, fieldsOf } from "./told.js";
import { differenceInWords, inWords, isGiven, numberInWords, numberOf, plainText } from "./values.js";
import { isNumber } from "../form/stored.js";

// Of this pass alone, or shown elsewhere.
const OWN = ["when", "place", "run", "words", "changed", "seen", "reading_given", "meter_fuel", "meter_ratio", "lambda_value", "display"];

// [{label, now, then, change: words or null}] of what both have and what only one has.
export function differences(app, values, other) {
  const { units } = app;
  const rows = [];
  for (const [name, field] of fieldsOf(app, "pass")) {
    if (!OWN.includes(name)) add(rows, units, { label: field.label, field, kind: isNumber(field) ? field.kind : null }, values[name], other[name]);
  }
  for (const { label, kind, of } of derived(app)) addNumbers(rows, units, label, kind, of(values), of(other));
  addNumbers(rows, units, "Pressure here", "absolute_pressure", stationPressure(app, values), stationPressure(app, other));
  for (const field of airForm(app).fields) {
    if (field.type === "quantity" && !["elevation", "pressure"].includes(field.name)) add(rows, units, { label: field.label, field, kind: field.kind }, values[PREFIX + field.name], other[PREFIX + field.name]);
  }
  return rows;
}

// The pressure of the air at the place, whether that or an altimeter setting was read; null where it does not follow.
function stationPressure(app, values) {
  const { default: usual } = airForm(app).fields.find(({ name }) => name === "pressure_given");
  const isStation = (values["air.pressure_given"] ?? usual) === "station";
  return workOut(app, values)?.station_pressure ?? (isStation ? numberOf(values["air.pressure"]) : null);
}

function add(rows, units, { label, field, kind }, now, then) {
  const [a, b] = [kind && numberOf(now), kind && numberOf(then)];
  if (!isGiven(now) && !isGiven(then)) return;
  if (a !== null && b !== null && kind) {
    if (Math.abs(a - b) > 1e-9 * Math.max(Math.abs(a), Math.abs(b))) rows.push({ label, now: inWords(field, now, units), then: inWords(field, then, units), change: differenceInWords(kind, a - b, units) });
  } else if (isGiven(now) !== isGiven(then) || plainText(now) !== plainText(then)) {
    rows.push({ label, now: inWords(field, now, units), then: inWords(field, then, units), change: null });
  }
}

function addNumbers(rows, units, label, kind, now, then) {
  if (now === null || then === null || Math.abs(now - then) <= 1e-9 * Math.max(Math.abs(now), Math.abs(then))) return;
  rows.push({ label, now: numberInWords(kind, now, null, units), then: numberInWords(kind, then, null, units), change: differenceInWords(kind, now - then, units) });
}

// A build as it was when the pass was made: {field: value}. `upTo` is a stamp, or nothing for the build as it stands.
function buildAt(history, upTo) {
  const values = {};
  for (const [field, entries] of Object.entries(history)) {
    const entry = entries.find(({ at }) => typeof upTo !== "string" || at <= upTo);
    if (entry) values[field] = entry.value;
  }
  return values;
}

export async function buildOf(log, values) {
  return typeof values.build === "string" && log.get(values.build) ? buildAt(await log.history(values.build), values.build_at) : null;
}

// The same list for two builds.
export function buildDifferences(app, now, then) {
  const form = checkForm(app);
  const names = [...new Set([...Object.keys(now), ...Object.keys(then)])].filter((name) => name === "name" || fieldNamed(form, name));
  return names.filter((name) => JSON.stringify(now[name] ?? null) !== JSON.stringify(then[name] ?? null)).map((name) => {
    const told = fieldNamed(form, name);
    const words = (value) => (told ? buildInWords(told.field, value, app.units) : plainText(value ?? "–"));
    return { label: told ? `${told.section.label}: ${told.field.label.toLowerCase()}` : "Build", now: words(now[name]), then: words(then[name]), change: null };
  });
}
