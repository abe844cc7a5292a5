// How sure the ceiling is: worked out in pieces once the page is at rest, and remembered for the very same car.

import { checkBuild, gather, settingOf } from "./check.js";
import { nameOf } from "./sections.js";
import { run, runInPieces } from "../core/compute.js";
import { KEYS, recall, remember } from "../core/memory.js";

const WORK = { name: "How sure", module: "sure", slow: { begin: "begin", advance: "advance", finish: "finish" } };

// What was measured on this car: {"section.field": half-width of its own, 0 for the declared one}. A value that was changed
// since counts as typed again.
export function measuredOf(values) {
  return Object.fromEntries(Object.entries(values)
    .filter(([name, stored]) => name.startsWith(PREFIX) && stored && isSame(stored.value, values[name.slice(PREFIX.length)]))
    .map(([name, { half }]) => [name.slice(PREFIX.length), half ?? 0]));
}

const PREFIX = "measured.";
const isSame = (a, b) => JSON.stringify(a ?? null) === JSON.stringify(b ?? null);

// What is to be stored beside a value that was measured, or is not any more.
export function measuredMark(name, value, half = null) {
  return { [PREFIX + name]: value == null ? null : { value, ...(half === null ? {} : { half }) } };
}

export class HowSure {
  // `found()` when a car's answer has come; `keep` for one that is remembered beyond this visit.
  constructor({ form, found, keep = true }) {
    Object.assign(this, { form, found, keep });
  }

  // What `calc.sure` told of a car, at once where it is known; else null, and `found` is called when it is. `read` is what
  // `gather` gave.
  of(build, { inputs, assumed }) {
    // A slider asks with every frame, and what `gather` gave is the same for all of its steps: the car is looked at once.
    if (this.assumed !== assumed) {
      Object.assign(this, { assumed, car: whose(build, inputs, assumed) });
      if (this.known?.key !== this.car.key) this.known = keptOf(build, this.car.key);
    }
    const { names, key } = this.car;
    const { boost } = inputs;
    if (this.known?.boost !== boost && this.asked !== `${key} ${boost}`) this.ask(build.id, key, { ...inputs, ...knowledge(this.form, build, names) });
    return this.known?.told ?? null;
  }

  ask(id, key, asked) {
    this.stop();
    this.asked = `${key} ${asked.boost}`;
    this.giveUp = runInPieces(WORK, asked, ({ results }) => {
      if (!results) return;
      this.known = { key, boost: asked.boost, told: { ...results, boost: asked.boost } };
      if (this.keep) remember(KEYS.howSure, { ...recall(KEYS.howSure, {}), [id]: this.known });
      this.found();
    });
  }

  stop() {
    this.giveUp?.();
    this.asked = null;
  }
}

// How well the values of a car are known, for calc.
export function knowledge({ spreads }, build, assumed) {
  return { spreads, assumed, measured: measuredOf(build.values) };
}

export const namesOf = (assumed) => assumed.map(({ section, field }) => nameOf(section, field));

// What the answer hangs on: the car's numbers, and how each is known; not the boost looked at or planned, nor the case.
function whose(build, inputs, assumed) {
  const names = namesOf(assumed);
  const measured = measuredOf(build.values);
  const { boost, planned, case: looked, ...car } = inputs;
  return { names, key: JSON.stringify([car, names, measured]) };
}

function keptOf(build, key) {
  const kept = recall(KEYS.howSure, {})[build.id];
  return kept?.key === key ? kept : null;
}

// The same for a car as it stands; null where a value stands in the way.
export function sureOf(how, form, build, air, units) {
  const read = gather(form, build, settingOf(form, build), air, units);
  return Object.keys(read.errors).length || read.unknown?.length ? null : how.of(build, read);
}

// The check's answer to a car as every screen gives it: with how sure it is, once that is known. `answer` where it is worked out already.
export function judged(how, form, build, read, answer = checkBuild(form, read)) {
  const told = answer.errors || answer.unknown?.length ? null : how.of(build, read);
  if (!told) return answer;
  const made = run({ name: "How sure", module: "sure" }, { ...answer.results, notes: answer.notes }, "joined", read.inputs.boost, told);
  return made.errors ? answer : { ...answer, results: { ...answer.results, ...made.results }, notes: made.notes.length ? made.notes : answer.notes };
}
