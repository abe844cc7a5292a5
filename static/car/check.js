// The supply check of a build: its inputs put together, and its two parts, the cheap one and the one that takes longer.

import { readBuild } from "./sections.js";
import { run } from "../core/compute.js";
import { niceStep } from "../core/step.js";
import { wrongDrafts } from "../log/drafts.js";
import { KEYS, recall, remember } from "../core/memory.js";

// What the screen says beside the build: {boost, throttle, launching}.
export function settingOf(form, build) {
  const named = (name) => form.fields.find((field) => field.name === name);
  const boost = recall(KEYS.boost(build.id)) ?? named("boost").default ?? named("boost").assumed;
  return { boost, part: recall(KEYS.part, false), launching: recall(KEYS.launching, false) };
}

export function keepSetting(build, { boost, part, launching }) {
  remember(KEYS.boost(build.id), boost);
  remember(KEYS.part, part);
  remember(KEYS.launching, launching);
}

// Part throttle as this car has it: all that the primaries carry alone, or half where there is no such thing.
export function partThrottle(inputs) {
  const alone = inputs.feed.secondaries_open;
  return inputs.seats.secondary_seats > 0 && alone > 0 ? { throttle: alone, words: "Primaries alone" } : { throttle: 0.5, words: "Half" };
}

// {inputs, assumed, errors} of a build at a setting; `air` replaces the build's own where given. What Build shows and cannot be
// used as it is typed there is an error here too: the check never answers with another value than Build shows.
export function gather(form, build, setting, air, units) {
  const read = readBuild(form, build.values, units, { launching: setting.launching, wrong: build.id ? wrongDrafts(build.id) : {} });
  if (air) {
    const { pressure, temperature, humidity } = air;
    Object.assign(read.inputs.air, { pressure, temperature, humidity });
    read.assumed = read.assumed.filter(({ section }) => section.name !== "air");
  }
  roundCardStep(read, units);
  read.inputs.boost = setting.boost;
  read.inputs.throttle = setting.part ? partThrottle(read.inputs).throttle : 1;
  return read;
}

// A step that nobody chose is a round one in the unit that the card is read in.
function roundCardStep(read, units) {
  const assumed = read.assumed.find(({ section, field }) => section.name === "limits" && field.name === "card_step");
  if (!assumed) return;
  const { scale } = units.of(assumed.field.kind);
  assumed.value = read.inputs.limits.card_step = niceStep(assumed.value / scale) * scale;
}

// What the boost does not change, {results} or {errors}: worked out once for all steps of the slider.
export function checkFrame(form, inputs) {
  return run(form, inputs, "supply_frame");
}

export function checkPoint(form, inputs, frame = null) {
  return run(form, inputs, "supply_point", frame);
}

export function checkChanges(form, inputs) {
  return run(form, inputs, "supply_changes");
}

// What is wrong with a build as it stands, by field.
export function wrongIn(form, build, units) {
  const { inputs, errors } = gather(form, build, settingOf(form, build), null, units);
  return Object.keys(errors).length ? errors : checkPoint(form, inputs).errors ?? {};
}
