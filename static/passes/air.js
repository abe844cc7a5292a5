// The air of a pass or a note: the inputs of the form for today's air, kept under `air.`, and the density altitude from them.

import { typedAt } from "../core/lastanswer.js";
import { run } from "../core/compute.js";
import { FormView } from "../form/form.js";
import { recall } from "../core/memory.js";
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
  const inputs = {};
  for (const field of form.fields) {
    const value = values[PREFIX + field.name];
    inputs[field.name] = field.type === "choice" ? value ?? field.default : numberOf(value);
    if (!applies(field, inputs)) delete inputs[field.name];
    else if (inputs[field.name] == null) return null;
  }
  const key = JSON.stringify(inputs);
  if (!worked.has(key)) {
    if (worked.size > MOST_KEPT) worked.clear();
    worked.set(key, run(form, inputs).results ?? null);
  }
  return worked.get(key);
}

function applies(field, inputs) {
  return Object.entries(field.when ?? {}).every(([other, allowed]) => allowed.includes(inputs[other]));
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

// The last reading of two hours at most, from the form on this phone or from the log: its values, or null.
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
  const typed = recall(`form.${form.name}`, {});
  const at = typedAt(form.name);
  if (!at || !(typed.pressure || typed.temperature)) return null;
  const view = new FormView({ fields: form.fields, units: app.units, typed, changed() {} });
  const read = view.read();
  if (read.errors) return null;
  const values = { "air.at": momentOf(new Date(at)) };
  for (const field of form.fields) {
    if (!(field.name in read.inputs)) continue;
    const told = field.type === "variant" ? field.variants[read.inputs[field.by]] : field;
    const made = view.controls.get(field.name);
    const stored = toStore(told, made.now ?? made, app.units);
    values[PREFIX + field.name] = stored ?? untouched(told, read.inputs[field.name], app.units);
  }
  return { values, at };
}

// A starting value that the user left standing and so agreed to.
function untouched(field, si, units) {
  return { si, text: units.plain(field.kind, si), unit: units.of(field.kind).name };
}
