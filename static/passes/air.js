// The air of a pass or a note: the inputs of the form for today's air, kept under `air.`, and the density altitude from them.

import { typedAt } from "../core/lastanswer.js";
import { run } from "../core/compute.js";
import { applies, read, sayer } from "../form/read.js";
import { readStored } from "../form/stored.js";
import { KEYS, recall } from "../core/memory.js";
import { momentOf, millisecondsOf, numberOf, toStore } from "./values.js";

const KEPT = 2 * 60 * 60 * 1000; // ms: how long a reading is offered
const MOST_KEPT = 20000;
const worked = new Map();

export const PREFIX = "air.";

export function airForm(app) {
  return app.forms.find((form) => form.name === "density-altitude");
}

export function hasAir(values) {
  return Object.keys(values).some((name) => name.startsWith(PREFIX) && name !== "air.at" && values[name] != null);
}

// Every result of today's air for these values, or null where a reading is not whole.
export function workOut(app, values) {
  if (numberOf(values["air.temperature"]) === null) return null;
  const form = airForm(app);
  const said = (name) => saidIn(values, form.fields.find((field) => field.name === name));
  const applying = form.fields.filter((field) => applies(field, said));
  const inputs = Object.fromEntries(applying.map((field) => [field.name, field.type === "choice" ? said(field.name) : numberOf(values[PREFIX + field.name])]));
  if (Object.values(inputs).includes(null)) return null;
  const key = JSON.stringify(inputs);
  if (!worked.has(key)) {
    if (worked.size > MOST_KEPT) worked.clear();
    worked.set(key, run(form, inputs).results ?? null);
  }
  return worked.get(key);
}

// The word of a choice, kept or usual.
function saidIn(values, field) {
  return readStored(field, values[PREFIX + field.name]).value ?? field.default ?? null;
}

// Which of its quantities a variant is, as the words kept beside it say.
export function wordFor({ by, variants }, values) {
  const word = values[PREFIX + by];
  return typeof word === "string" && Object.hasOwn(variants, word) ? word : Object.keys(variants)[0];
}

// A form of air as it is typed, as a pass keeps it.
export function storedAir(fields, typed, units) {
  const said = sayer(fields, typed, units);
  return Object.fromEntries(fields.map((field) => [PREFIX + field.name, field.type === "variant"
    ? toStore(field.variants[said(field.by)], typed[field.name]?.[said(field.by)], units) : toStore(field, typed[field.name], units)]));
}

// The form's fields as a pass asks for them: nothing assumed, nothing filled in beforehand but the words.
export function airFields(app) {
  const bare = ({ default: _, assumed: __, step: ___, take: ____, ...field }) => ({ ...field, optional: true });
  return airForm(app).fields.map((field) => {
    if (field.type === "choice") return field;
    if (field.type !== "variant") return bare(field);
    return { ...field, variants: Object.fromEntries(Object.entries(field.variants).map(([word, told]) => [word, bare(told)])) };
  });
}

// The last reading of two hours at most, from the form on this device or from the log: its values, or null.
export function lastReading(app, log, now = Date.now()) {
  const found = [fromForm(app), ...[...log.list("pass"), ...log.list("note")].map(({ values }) => fromRecord(values))];
  let last = null;
  for (const reading of found) {
    if (reading && Math.abs(now - reading.at) <= KEPT && (!last || reading.at > last.at)) last = reading;
  }
  return last && workOut(app, last.values) ? airOf(last.values) : null;
}

export function airOf(values) {
  return Object.fromEntries(Object.entries(values).filter(([name]) => name.startsWith(PREFIX)));
}

function fromRecord(values) {
  return values["air.at"] ? { values, at: millisecondsOf(values["air.at"]) } : null;
}

// What was typed into today's air. A form that was never touched, or was started over, is no reading.
function fromForm(app) {
  const form = airForm(app);
  const typed = recall(KEYS.form(form.name), {});
  const at = typedAt(form.name);
  if (!at || !(typed.pressure || typed.temperature)) return null;
  const { inputs, errors } = read(form.fields, typed, app.units);
  if (errors) return null;
  return { values: { "air.at": momentOf(new Date(at)), ...storedAir(form.fields.filter(({ name }) => name in inputs), typed, app.units) }, at };
}
