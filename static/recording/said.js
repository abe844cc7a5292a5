// What a recording says, in words and numbers, each with the samples it rests on.

import { sentence } from "../core/compute.js";
import { el } from "../core/dom.js";
import { PARTS } from "./finds.js";

// The answer, which comes first.
export function drawNet(units, { results, notes, errors }) {
  if (errors) return el("p", { class: "error" }, Object.values(errors).flat()[0]);
  const under = results.under_times > 0;
  return el("section", { class: "found" }, el("h2", {}, PARTS.net.name),
    under ? el("p", { class: "under-card" }, el("strong", {}, "✕ Under the card")) : null,
    ...notes.map((note) => el("p", {}, sentence(note, PARTS.net, {}, results, units))),
    rows([
      ["Least over the bowls", shown(units, "pressure_difference", results.least_net), at(units, results.least_time, results.least_boost, results.least_speed)],
      ["Peak boost", shown(units, "gauge_pressure", results.peak_boost), at(units, results.peak_time, null, results.peak_speed)],
      ["Fuel pressure then", shown(units, "gauge_pressure", results.peak_fuel)],
      ["Lambda then", shown(units, "ratio", results.peak_mixture)],
      ["Under the card", results.under_time === null ? null : results.under_times === 0 ? "never" : units.text("logged_time", results.under_time),
        results.under_times > 1 ? `${results.under_times} times, the longest ${units.text("logged_time", results.under_longest)}` : null],
      ["Lambda at the least", shown(units, "ratio", results.least_mixture)],
      ["Battery at the least", shown(units, "voltage", results.least_battery)],
      ["Samples under boost", String(results.samples)],
    ]));
}

// The rest; `finds` as `findAll` gives them.
export function drawRest(units, finds) {
  return ["fall", "line", "lag"].filter((part) => finds[part]).map((part) => drawPart(units, part, finds[part]));
}

function drawPart(units, part, { results, notes, errors }) {
  const form = PARTS[part];
  if (errors) return el("section", { class: "found" }, el("h2", {}, form.name), el("p", { class: "error" }, Object.values(errors).flat()[0]));
  return el("section", { class: "found" }, el("h2", {}, form.name), ...notes.map((note) => el("p", {}, sentence(note, form, {}, results, units))), rows(ROWS[part](units, results)));
}

const ROWS = {
  fall: (units, told) => [
    ["Falls away at", shown(units, "gauge_pressure", told.fall_boost), at(units, told.fall_time, null, told.fall_speed)],
    ["Furthest below the line", shown(units, "pressure_difference", told.fall_most)],
    ["Samples looked at", told.samples ? String(told.samples) : null],
  ],
  line: (units, told) => [
    ["Base", shown(units, "gauge_pressure", told.base)],
    ["Ratio", shown(units, "ratio", told.ratio), told.told ? `${units.text("ratio", told.ratio_low)} to ${units.text("ratio", told.ratio_high)}, 19 of 20 times` : null],
    ["Readings about the line", told.told ? `±\u00a0${units.text("pressure_difference", told.spread)}` : null],
    ["Steady samples", told.told ? `${told.samples} of ${told.steady}` : String(told.steady), told.told ? `boost slower than ${units.text("pressure_difference", told.steady_rate)} a second` : null],
  ],
  lag: (units, told) => [
    ["Behind the boost", told.shorter ? "shorter than a sample" : shown(units, "time", told.lag), told.told ? `${units.text("time", told.lag_low)} to ${units.text("time", told.lag_high)}, 19 of 20 times` : null],
    ["Alike", shown(units, "ratio", told.likeness)],
    ["Samples", `${told.samples}`, told.step === null ? null : `one each ${units.text("time", told.step)}`],
  ],
};

const shown = (units, kind, value) => (value === null || value === undefined ? null : units.text(kind, value));

function at(units, time, boost, speed) {
  if (time === null) return null;
  return [`${units.text("logged_time", time)} in`, boost === null ? null : `${units.text("gauge_pressure", boost)} of boost`, speed === null ? null : units.text("rotational_speed", speed)].filter(Boolean).join(", ");
}

function rows(all) {
  return el("dl", { class: "results" }, ...all.filter(([, value]) => value !== null).map(([label, value, small]) => el("div", {}, el("dt", {}, label), el("dd", {}, value, small ? el("span", { class: "small" }, small) : null))));
}
