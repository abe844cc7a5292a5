// The supply check of a build: its inputs put together, and its two parts, the cheap one and the one that takes longer.

import { nameOf, readBuild } from "./sections.js";
import { run, unknownIn, withhold } from "../core/compute.js";
import { niceStep } from "../core/step.js";
import { wrongDrafts } from "../log/drafts.js";
import { KEYS, recall, remember } from "../core/memory.js";

export const WORST = "worst";

// What the screen says beside the build: the boost looked at, and the case that the numbers are of.
export function settingOf(form, build) {
  return { boost: recall(KEYS.boost(build.id)) ?? plannedBoost(build) ?? boostField(form).default, case: recall(KEYS.lookedCase, WORST) };
}

export function keepSetting(build, { boost, case: looked = WORST }) {
  remember(KEYS.boost(build.id), boost);
  remember(KEYS.lookedCase, looked);
}

export const boostField = (form) => form.fields.find(({ name }) => name === "boost");

// The boost that this car is planned for, kept with it; null where none was entered.
export function plannedBoost({ values }) {
  const si = values?.boost?.si;
  return Number.isFinite(si) ? si : null;
}

// {inputs, assumed, errors, unknown} of a build at a setting; `air` replaces the build's own where given. `unknown` are the key
// values that nobody gave: [{word, section, names}]. What Build shows and cannot be used as it is typed there is an error here too:
// the check never answers with another value than Build shows.
export function gather(form, build, setting, air, units) {
  const read = readBuild(form, build.values, units, { wrong: build.id ? wrongDrafts(build.id) : {} });
  if (air) {
    const { pressure, temperature, humidity } = air;
    Object.assign(read.inputs.air, { pressure, temperature, humidity });
    read.assumed = read.assumed.filter(({ section }) => section.name !== "air");
  }
  roundCardStep(read, units);
  // A car leaves the line, so that case always counts, unless it is asked for a moment further down the track.
  Object.assign(read.inputs.launch, { on: setting.launching ?? true });
  Object.assign(read.inputs, { boost: setting.boost, throttle: 1, case: setting.case ?? WORST });
  return { ...read, unknown: unknownOf(form, read) };
}

function unknownOf(form, { inputs, assumed }) {
  const names = new Set(assumed.map(({ section, field }) => nameOf(section, field)));
  const sections = form.fields.filter(({ fields }) => fields);
  return sections.flatMap((section) => unknownIn([section], inputs, (name) => names.has(name))
    .map((word) => ({ word, section, names: section.fields.filter(({ key }) => key === word).map((field) => nameOf(section, field)) })));
}

// A step that nobody chose is a round one in the unit that the card is read in.
function roundCardStep(read, units) {
  const assumed = read.assumed.find(({ section, field }) => section.name === "limits" && field.name === "card_step");
  if (!assumed) return;
  const { scale } = units.of(assumed.field.kind);
  assumed.value = read.inputs.limits.card_step = niceStep(assumed.value / scale) * scale;
}

// The answer that may be shown: {errors}, or {results, notes, unknown} in which no verdict stands that nobody earned.
export function checkBuild(form, read, frame = null) {
  if (Object.keys(read.errors).length) return { errors: read.errors, unknown: read.unknown.map(({ word }) => word) };
  return withhold(form, checkPoint(form, read.inputs, frame), read.unknown.map(({ word }) => word));
}

// What the boost does not change, {results} or {errors}: worked out once for all steps of the slider.
export function checkFrame(form, inputs) {
  return run(form, inputs, "supply_frame");
}

// The numbers, whatever of them is only assumed.
export function checkPoint(form, inputs, frame = null) {
  return run(form, inputs, "supply_point", frame);
}

// What is wrong with a build as it stands, by field.
export function wrongIn(form, build, units) {
  const { inputs, errors } = gather(form, build, settingOf(form, build), null, units);
  return Object.keys(errors).length ? errors : checkPoint(form, inputs).errors ?? {};
}
