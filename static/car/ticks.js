// A list of ticks that belongs to the car: "fit.floats" of the build. Without a car this device remembers them.

import { stateWord } from "../answer/answer.js";
import { onThisDevice } from "../core/lastanswer.js";
import { el } from "../core/dom.js";
import { run } from "../core/compute.js";

function ticksOf(form, build) {
  return Object.fromEntries(form.fields.map(({ name }) => [name, build?.values[`${form.ticks}.${name}`] === true]));
}

// What the list says of a car, the same wherever it is told.
export function ticked(form, build) {
  return tell(run(form, ticksOf(form, build)));
}

// "short 3 of 28 ticked": the word and its shape, and how far the list is.
export function tickedWords(form, build) {
  const { state, progress } = ticked(form, build).results;
  return el("span", {}, state && stateWord(state), ` ${progress} ticked`);
}

// Where a Calculator takes its ticks from and puts them: the current car, and this device where there is none.
export function ticksStore(form, builds, build) {
  if (!build) return { ...onThisDevice(form), fresh: null, tell };
  const start = ticksOf(form, build);
  let kept = start;
  return {
    start,
    tell,
    keep: (typed) => {
      const changed = form.fields.filter(({ name }) => (typed[name] === true) !== kept[name]).map(({ name }) => [`${form.ticks}.${name}`, typed[name] === true]);
      kept = { ...typed };
      if (changed.length) builds.save(build.id, Object.fromEntries(changed));
    },
  };
}

// A list that nobody has begun has no state yet.
const tell = (answer) => (answer.results.ticked ? answer : { ...answer, results: { ...answer.results, state: null } });

export function ticksLine(build) {
  return build ? el("p", {}, "Ticks are kept with ", el("strong", {}, build.name), build.invented ? " (invented)." : ".")
    : el("p", {}, "There is no car yet, so the ticks stay on this device alone. ", el("a", { class: "in-line", href: "#/build" }, "Begin a car"));
}

// One line for the Supply screen: what the car still lacks, by name, with the way to the list.
export function fitLine(app, build) {
  const form = app.forms.find((told) => told.ticks);
  const { results } = ticked(form, build);
  const vital = results.missing.filter((part) => part.vital);
  const named = (vital.length ? vital : results.missing).map(({ part }) => part.toLowerCase());
  const some = named.length > 3 ? `${named.slice(0, 3).join(", ")} and ${named.length - 3} more` : named.join(", ");
  const lacking = `${vital.length ? "not ticked, and can cause fire or damage" : "not ticked"}: ${some}`;
  const begun = named.length ? lacking : `${results.progress} ticked`;
  const words = results.ticked === 0 ? "checklist not started" : begun;
  // In one box: the link lays out what is in it side by side.
  const line = el("span", {}, `${form.title}: `, results.state && stateWord(results.state), ` ${words}.`);
  return el("p", { class: "fit-line" }, el("a", { class: "plain-link", href: `#/figures/${form.name}` }, line));
}
