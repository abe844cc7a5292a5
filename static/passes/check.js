// The fuel gauge's reading of a pass next to what the supply check says for its build, boost and air.

import { checkForm, wrongWords } from "../car/sections.js";
import { checkBuild, checkPoint, gather } from "../car/check.js";
import { workOut } from "./air.js";
import { plain, unknownIn } from "../core/compute.js";
import { numberOf, numberInWords } from "./values.js";

const SMALL = 0.02; // of the predicted reading: what a gauge cannot tell

// {words, predicted, state} or {missing: why there is nothing to compare}.
export function checkGauge(app, values, build) {
  const boost = numberOf(values.boost);
  const read = numberOf(values.fuel_pressure);
  if (boost === null || read === null) return { missing: "Log boost and fuel pressure from the same moment to see the predicted reading here." };
  if (!build) return { missing: "No build is tied to this pass, so the supply check has nothing to go by." };
  const answer = predict(app, values, build, boost);
  if (answer.errors) return { missing: `The supply check has no answer for this build: ${wrongWords(checkForm(app), ...Object.entries(answer.errors)[0])}` };
  if (answer.unknown.length) return { missing: `Not known yet of this build: ${answer.unknown.join(", ")}. The gauge is compared once they are entered.` };
  return compare(app, values, answer.results, boost, read);
}

// What the supply check is asked for a pass: {inputs, errors} of its build at a boost and in its air.
export function inputsOf(app, values, build, boost) {
  return gather(checkForm(app), { values: build }, { boost, case: "full", launching: false }, airOfPass(app, values), app.units);
}

// The gauge card for a pass's car in its air, to a boost, for a gauge that is tapped there; and what the feed loses behind a
// gauge at the regulator. Empty where there is no car, it has no answer, or its key values are not given.
export function cardOf(app, values, build, boost, tapped) {
  const card = (at) => {
    const { inputs, assumed, errors } = inputsOf(app, values, build, boost);
    const isAssumed = (name) => assumed.some(({ section, field }) => `${section.name}.${field.name}` === name);
    if (Object.keys(errors).length || unknownIn(checkForm(app).fields, inputs, isAssumed).length) return [];
    inputs.regulator.gauge_at = at;
    return checkPoint(checkForm(app), inputs).results?.gauge_card.filter(({ least, expected }) => least !== null && expected !== null) ?? [];
  };
  if (!build || !(boost > 0)) return { card: [], drops: [] };
  const mine = card(tapped);
  return { card: mine, drops: tapped === "regulator" && mine.length ? plain("recording", "drops_behind", mine, card("carburettor")) : [] };
}

// What a pass's gauge had to read at the least by its car's card, in SI, or null where nobody can say.
export function leastOf(app, values, build) {
  const boost = numberOf(values.boost);
  if (boost === null || !build || !(boost > 0)) return null;
  const { inputs } = inputsOf(app, values, build, boost);
  const { card } = cardOf(app, values, build, boost, inputs.regulator.gauge_at);
  return card.length ? plain("recording", "interpolate", card, boost, "least") : null;
}

// Whether a pass's gauge read under its car's card: {least, under: how far} in SI, or null where it did not or nobody can say.
export function underCard(app, values, build) {
  const read = numberOf(values.fuel_pressure);
  const least = read === null ? null : leastOf(app, values, build);
  return least !== null && read < least ? { least, under: least - read } : null;
}

// What the supply check says that the gauge of a pass read, or null where it has nothing to say.
export function predictedAt(app, values, build) {
  const boost = numberOf(values.boost);
  return build && boost !== null ? predict(app, values, build, boost).results?.gauge_reading ?? null : null;
}

function predict(app, values, build, boost) {
  return checkBuild(checkForm(app), inputsOf(app, values, build, boost));
}

// The air of a pass in SI, or null.
export function airOfPass(app, values) {
  const worked = workOut(app, values);
  return worked && { pressure: worked.station_pressure, temperature: numberOf(values["air.temperature"]), humidity: worked.relative_humidity };
}

function compare(app, values, results, boost, read) {
  const { units } = app;
  const predicted = results.gauge_reading;
  const away = read - predicted;
  const told = `At ${numberInWords("gauge_pressure", boost, values.boost, units)} of boost the gauge read ${numberInWords("gauge_pressure", read, values.fuel_pressure, units)}; `
    + `the supply check says ${units.text("gauge_pressure", predicted)}`;
  const gap = units.text("pressure_difference", Math.abs(away));
  const air = workOut(app, values) ? "" : " The pass has no air, so the build's stands in.";
  if (Math.abs(away) <= SMALL * Math.abs(predicted)) return { predicted, state: results.state, words: `${told}: they agree.${air}` };
  const meaning = away < 0
    ? "Look for a clogged filter, a kink, low voltage or hot fuel before more boost; or the gauge reads low."
    : "The build may be better than entered, the base pressure higher, or the gauge reads high.";
  return { predicted, state: results.state, words: `${told}: ${gap} ${away < 0 ? "less" : "more"} than predicted. ${meaning}${air}` };
}
