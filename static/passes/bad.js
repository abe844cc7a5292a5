// After a bad pass, from the pass: what its own numbers answer already, what to do first, and the checks for what was seen.

import { keepSetting, settingOf } from "../car/check.js";
import { checkForm } from "../car/sections.js";
import { run, sentence } from "../core/compute.js";
import { el, say } from "../core/dom.js";
import { KEYS, remember } from "../core/memory.js";
import { inputsOf, predictedAt, underCard } from "./check.js";
import { lambdaOf, placeOf, title } from "./told.js";
import { momentOf, numberOf } from "./values.js";

const ANSWERS = {
  name: "What the pass answers", module: "fit", function: "pass_answers", fields: [],
  results: [["gap", "pressure_difference"], ["mixture", "ratio"], ["target", "ratio"], ["fall_boost", "gauge_pressure"], ["ratio", "ratio"], ["battery", "voltage"]].map(([name, kind]) => ({ name, kind })),
};
const GUIDE = "after-bad-pass";

export function drawBadPass(app, log, view, build, builds) {
  const inputs = known(app, view.values, build);
  const { results, notes } = run(ANSWERS, inputs);
  const words = notes.map((note) => sentence(note, ANSWERS, inputs, { ...inputs, ...results }, app.units));
  const told = el("p", { role: "status" });
  const open = () => {
    remember(KEYS.form(GUIDE), { seen: results.seen });
    const current = builds.current();
    const boost = numberOf(view.values.boost);
    if (current && current.id === view.values.build && boost > 0) keepSetting(current, { ...settingOf(checkForm(app), current), boost });
  };
  const note = async () => {
    const place = placeOf(view.values);
    await log.create("note", { when: momentOf(new Date()), ...(place ? { place } : {}), words: [`After ${title(view).toLowerCase()}:`, ...words].join("\n") });
    say(told, "Noted in the log.");
  };
  return el("details", { class: "unfolding bad-pass" }, el("summary", {}, "After a bad pass: what this pass answers"),
    ...words.slice(0, -1).map((line) => el("p", {}, line)), el("p", { class: "first-thing" }, el("strong", {}, words.at(-1))),
    el("div", { class: "passes-next" }, el("button", { type: "button", onclick: note }, "Note it in the log"), el("a", { class: "other", href: `#/figures/${GUIDE}`, onclick: open }, "The checks in order")),
    told, el("p", { class: "help" }, "Stop making boost until the cause is found. Let engine and fuel cool before opening anything."));
}

// What the pass knows of itself, in SI; null for what it does not.
function known(app, values, build) {
  const kept = values.recording?.found ?? {};
  const boost = numberOf(values.boost);
  const car = build && boost !== null ? inputsOf(app, values, build, boost) : null;
  return {
    reading: numberOf(values.fuel_pressure), predicted: predictedAt(app, values, build), least: underCard(app, values, build)?.least ?? null,
    mixture: lambdaOf(app, values), target: car?.inputs.engine.lambda_target ?? null, falls: kept.fall?.falls ?? null, fall_boost: kept.fall?.fall_boost ?? null,
    ratio: kept.line?.ratio ?? null, battery: kept.net?.least_battery ?? null,
  };
}
