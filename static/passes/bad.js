// After a bad pass, from the pass: what its own numbers answer already, what to do first, and the checks for what was seen.

import { run, sentence } from "../core/compute.js";
import { el } from "../core/dom.js";
import { workOut } from "./air.js";
import { airOfPass, inputsOf, leastOf, predictedAt } from "./check.js";
import { buildOf } from "./compare.js";
import { lambdaOf, placeOf, title } from "./told.js";
import { inWords, isGiven, momentOf, numberOf, plainText } from "./values.js";
import { capital } from "../core/words.js";
import { offerUndo } from "../core/undo.js";

const ANSWERS = {
  name: "What the pass answers", module: "fit", function: "pass_answers", fields: [],
  results: [["gap", "pressure_difference"], ["mixture", "ratio"], ["target", "ratio"], ["fall_boost", "gauge_pressure"], ["ratio", "ratio"], ["battery", "voltage"]].map(([name, kind]) => ({ name, kind })),
};
const WRITTEN = ["words", "seen", "changed"];

export function drawBadPass(app, log, view, build) {
  const { words, first } = answers(app, view, build);
  return el("details", { class: "unfolding bad-pass" }, el("summary", {}, "After a bad pass: what this pass answers"),
    ...words().map((line) => el("p", {}, line)), el("p", { class: "first-thing" }, el("strong", {}, `First: ${first()}`)),
    el("div", { class: "passes-next" },
      el("button", { type: "button", onclick: async () => {
        const undo = await note(log, view, [...words(), `First: ${first()}`]);
        offerUndo("Noted in the log.", undo);
      } }, "Note it in the log"),
      el("a", { class: "other", href: `#/figures/after-bad-pass/pass/${view.id}` }, "The checks in order")),
    el("p", { class: "help" }, "Stop making boost until the cause is found. Let engine and fuel cool before opening anything."));
}

// What the guide needs of a pass, or null where there is none: its car as it was, its boost and air, what it knows and answers.
export async function passForGuide(app, log, id) {
  const view = log.get(id);
  if (!view || view.kind !== "pass") return null;
  const then = await buildOf(log, view.values);
  const now = then && log.get(view.values.build);
  const told = answers(app, view, then);
  return {
    id, title: title(view), ...told, facts: () => [...factsOf(app, view, then), ...told.words()], air: airOfPass(app, view.values),
    build: then && { id: `${now.id}.${id}`, name: plainText(then.name ?? "the car"), invented: then.invented === true, values: then },
    setting: { boost: Math.max(0, numberOf(view.values.boost) ?? 0), case: "full", launching: false },
    note: (first) => note(log, view, [...told.words(), `First: ${first}`]),
  };
}

// {results, words(): what the pass answers, answered(): the same by what a check asks, first()}, in the reader's units.
function answers(app, view, build) {
  const inputs = known(app, view.values, build);
  const { results, notes } = run(ANSWERS, inputs);
  const say = (text) => sentence(text, ANSWERS, inputs, { ...inputs, ...results }, app.units);
  return { results, words: () => notes.slice(0, -1).map(say), first: () => say(results.first),
    answered: () => Object.fromEntries(Object.entries(results.answered).map(([asked, text]) => [asked, say(text)])) };
}

// What the pass knows of itself, in SI; null for what it does not.
function known(app, values, build) {
  const kept = values.recording?.found ?? {};
  const boost = numberOf(values.boost);
  const car = build && boost !== null ? inputsOf(app, values, build, boost) : null;
  const written = WRITTEN.filter((name) => isGiven(values[name])).map((name) => plainText(values[name]));
  return {
    reading: numberOf(values.fuel_pressure), predicted: predictedAt(app, values, build), least: leastOf(app, values, build),
    mixture: lambdaOf(app, values), target: car?.inputs.engine.lambda_target ?? null, falls: kept.fall?.falls ?? null, fall_boost: kept.fall?.fall_boost ?? null,
    ratio: kept.line?.ratio ?? null, battery: kept.net?.least_battery ?? null, words: written.length ? written.join(" ").toLowerCase() : null,
  };
}

// Its numbers in a line or two, and what was written of it.
function factsOf(app, { values }, build) {
  const { units } = app;
  const field = (name) => app.records.pass.fields.find((told) => told.name === name);
  const numbers = ["boost", "fuel_pressure", "least_net"].filter((name) => isGiven(values[name])).map((name) => `${field(name).label.toLowerCase()} ${inWords(field(name), values[name], units)}`);
  const least = leastOf(app, values, build);
  if (least !== null) numbers.push(`the card's least ${units.text("gauge_pressure", least)}`);
  const lambda = lambdaOf(app, values);
  if (lambda !== null) numbers.push(`lambda ${units.text("ratio", lambda)}`);
  const altitude = workOut(app, values)?.density_altitude;
  if (altitude !== undefined) numbers.push(`density altitude ${units.text("elevation", altitude)}`);
  if (values.recording) numbers.push("with a recording");
  const line = numbers.join(", ");
  return [...(line ? [`${capital(line)}.`] : []), ...WRITTEN.filter((name) => isGiven(values[name])).map((name) => `“${plainText(values[name])}”`)];
}

// Returns the way to take it back.
async function note(log, view, lines) {
  const place = placeOf(view.values);
  const id = await log.create("note", { when: momentOf(new Date()), ...(place ? { place } : {}), words: [`After ${title(view).toLowerCase()}:`, ...lines].join("\n") });
  return () => log.remove(id);
}
