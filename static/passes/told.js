// The passes of the log as the page uses them: their fields by name, their order, what follows from them.

import { run } from "../core/compute.js";
import { workOut } from "./air.js";
import { dayOf, numberOf } from "./values.js";

export function fieldsOf(app, kind) {
  return new Map((app.records[kind]?.fields ?? []).map((field) => [field.name, field]));
}

// Newest first; within a minute by the run, and then by when it was written.
export function sorted(views) {
  const key = (view) => (typeof view.values.when === "string" ? view.values.when : view.at);
  return [...views].sort((a, b) => below(key(a), key(b)) || (numberOf(b.values.run) ?? 0) - (numberOf(a.values.run) ?? 0) || below(a.at, b.at) || below(a.id, b.id));
}

const below = (a, b) => (a < b ? 1 : a > b ? -1 : 0);

// All passes, newest first; sorted once until one changes.
const ordered = new WeakMap();

export function passesOf(log) {
  if (!ordered.has(log)) {
    ordered.set(log, null);
    log.onChange(({ records }) => records.size && ordered.set(log, null));
  }
  if (ordered.get(log) === null) ordered.set(log, sorted(log.list("pass")));
  return ordered.get(log);
}

export const placeOf = (values) => (typeof values.place === "string" ? values.place.trim() : "");

// The run that follows by itself: the next of the day at this place.
export function nextRun(log, values, except = null) {
  const same = log.list("pass").filter((view) => view.id !== except && dayOf(view.values) === dayOf(values) && placeOf(view.values) === placeOf(values));
  return 1 + Math.max(0, ...same.map((view) => numberOf(view.values.run) ?? 0));
}

// A heading for a pass or a note.
export function title(view) {
  if (view.kind === "note") return "Note";
  const run = numberOf(view.values.run);
  return run === null ? "Pass" : `Run ${run}`;
}

// The pass before this one, and the quickest one of the same length (by time, else by speed), this one left out.
export function before(view, passes) {
  const order = sorted([view, ...passes.filter((other) => other.id !== view.id)]);
  return order[order.indexOf(view) + 1] ?? null;
}

export function best(view, passes) {
  const same = passes.filter((other) => other.id !== view.id && (other.values.track ?? null) === (view.values.track ?? null));
  return least(same, "elapsed_time", 1) ?? least(same, "speed", -1);
}

export function isBest(view, other) {
  const mine = numberOf(view.values.elapsed_time);
  const theirs = other && numberOf(other.values.elapsed_time);
  return mine !== null && theirs !== null && mine <= theirs;
}

function least(views, name, sign) {
  let found = null;
  for (const view of views) {
    const value = numberOf(view.values[name]);
    if (value !== null && (found === null || sign * value < sign * numberOf(found.values[name]))) found = view;
  }
  return found;
}

// Numbers that follow from a pass: {name, label, short, kind, of(values)}; `of` gives SI or null.
export function derived(app) {
  return [
    { name: "density_altitude", label: "Density altitude", short: "DA", kind: "elevation", of: (values) => workOut(app, values)?.density_altitude ?? null },
    { name: "lambda", label: "Lambda", short: "lambda", kind: "ratio", of: (values) => lambdaOf(app, values) },
  ];
}

// Lambda as read, or from the meter's ratio and what the meter is set to.
export function lambdaOf(app, values) {
  if (values.reading_given !== "display") return numberOf(values.lambda_value);
  const display = numberOf(values.display);
  const told = app.records.pass.meter_ratios;
  const fuel = typeof values.meter_fuel === "string" && values.meter_fuel !== "" ? values.meter_fuel : "petrol";
  const ratio = fuel === "own" ? numberOf(values.meter_ratio) : told[fuel];
  if (display === null || !ratio) return null;
  const form = app.forms.find((one) => one.name === "lambda-display");
  return run(form, { fuel: "petrol", reading_given: "display", display, display_stoich: ratio }).results?.lambda_actual ?? null;
}
