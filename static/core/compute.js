// The one way to an answer on the phone: the same calc as the server's, compiled (/calc.js), behind the same gate.

import * as first from "/calc.js";
import { breathe } from "./breath.js";
import { spelled } from "./words.js";

// What the first screen works with; the rest comes when it is wanted.
let calc = first;
let coming = null;

const REST = 120; // ms after the last change before long work begins
const PIECE = 10; // ms of work at a time, and what one advance overruns

// The rest of calc, once. A fetch that failed may be tried again.
export function allOfCalc() {
  coming ??= first.more().then((rest) => { calc = { ...first, ...rest }; }, (error) => { coming = null; throw error; });
  return coming;
}

// Only finite numbers pass; undefined is what a missing key would give, so it does not.
export function finite(value) {
  if (value === null || typeof value === "boolean" || typeof value === "string") return true;
  if (typeof value === "number") return Number.isFinite(value);
  if (Array.isArray(value)) return value.every(finite);
  return typeof value === "object" && Object.values(value).every(finite);
}

// Returns {results, notes} or {errors: {field: [sentence]}}. `inputs` are SI values that passed the form, `more` what the function takes beside them.
export function run(form, inputs, functionName = form.function, ...more) {
  const { value: results, errors } = attempt(form, () => calc[form.module][functionName](inputs, ...more));
  return errors ? { errors } : passed(form, results);
}

// A calculator that takes long (`slow` in its form), in pieces and once nothing was typed for a moment, so that the page stays
// quick to the touch. `then` gets what `run` would return. Returns a function that gives it up.
export function runInPieces(form, inputs, then) {
  const { begin, advance, finish } = form.slow;
  let work = null;
  let gone = false;
  const timer = setTimeout(begun, REST);
  // Each in a task of its own. A timer behind timers waits for some ms each time.
  const next = (step) => breathe().then(() => gone || step());
  // What it takes may have to come first.
  function begun() {
    if (calc[form.module]) return piece();
    allOfCalc().then(() => gone || piece(), () => gone || then({ errors: { form: ["This could not be worked out: a part of the page did not come. Try again with the machine in reach."] } }));
  }
  function piece() {
    const { value: done, errors } = attempt(form, () => {
      if (work === null) {
        work = calc[form.module][begin](inputs);
        return 0;
      }
      const end = performance.now() + PIECE;
      let share = 0;
      while (share < 1 && performance.now() < end) share = calc[form.module][advance](work);
      return share;
    });
    if (errors) then({ errors });
    else next(done < 1 ? piece : told);
  }
  // Telling it and drawing it are two tasks: each is long enough.
  function told() {
    const answer = run(form, work, finish);
    next(() => then(answer));
  }
  return () => {
    gone = true;
    clearTimeout(timer);
  };
}

function attempt(form, work) {
  try {
    return { value: work() };
  } catch (error) {
    if (error.name !== "ValueError") return { errors: { form: [`${form.title ?? form.name}: these numbers have no answer.`] } };
    // pscript puts the name of the error before its words.
    const told = error.message.replace(/^ValueError: /, "");
    const match = /^([a-z0-9_.]+): (.+)$/s.exec(told);
    return { errors: match ? { [match[1]]: [spelled(match[2])] } : { form: [spelled(told)] } };
  }
}

function passed(form, results) {
  if (!finite(results)) return { errors: { form: [`${form.title ?? form.name}: these numbers have no finite answer.`] } };
  const { notes = [], ...rest } = results;
  return { results: rest, notes };
}

// The words of the key values that apply and that nobody gave, as the server tells them (webapp/forms/base.py). `inputs` are
// those of fields that apply; `isAssumed(name)` of a field, "section.field" inside a section.
export function unknownIn(fields, inputs, isAssumed, prefix = "") {
  const words = [];
  for (const field of fields) {
    if (!(field.name in inputs)) continue;
    const name = prefix + field.name;
    if (field.fields) words.push(...unknownIn(field.fields, inputs[field.name], isAssumed, `${name}.`));
    else if (field.key && (inputs[field.name] == null || isAssumed(name)) && matters(field, inputs)) words.push(field.key);
  }
  return [...new Set(words)];
}

function matters({ key_when: when = {} }, inputs) {
  return Object.entries(when).every(([other, allowed]) => allowed.includes(inputs[other]));
}

// An answer without its verdicts while key values are not known, as the server withholds them (webapp/forms/gate.py).
export function withhold(form, answer, unknown) {
  if (answer.errors || !unknown.length || !form.verdicts.length) return { ...answer, unknown: [] };
  const none = Object.fromEntries(form.verdicts.map((name) => [name, null]));
  return { ...answer, results: { ...answer.results, ...none }, notes: [`Not known yet: ${unknown.join(", ")}.`], unknown };
}

// A function of calc that takes and gives plain lists and numbers, for what is done to every sample of a recording.
export function plain(module, name, ...inputs) {
  return calc[module][name](...inputs);
}

// Put the values that a note names into it, in the reader's units.
export function sentence(note, form, inputs, results, units) {
  return spelled(note).replace(/\{([a-z0-9_.]+)\}/g, (_, name) => {
    const value = results[name] ?? name.split(".").reduce((part, key) => part?.[key], inputs);
    if (value == null) return "none";
    const kind = kindOf(form, name);
    return typeof value === "number" && kind && units.kinds[kind] ? units.text(kind, value) : String(value);
  });
}

// The same for a sentence in a row of a table, with the row's own values.
export function rowSentence(text, kinds, row, units) {
  return spelled(text).replace(/\{([a-z0-9_]+)\}/g, (_, name) => {
    const [kind, unit] = kinds[name].split(" ");
    return row[name] == null ? "none" : units.text(kind, row[name], units.named(kind, unit) ?? units.of(kind));
  });
}

function kindOf(form, name) {
  const result = form.results.find((told) => told.name === name);
  return result ? result.kind : fieldNamed(form.fields, name.split("."))?.kind;
}

export function fieldNamed(fields, [name, ...inner]) {
  const field = fields.find((told) => told.name === name);
  return inner.length && field ? fieldNamed(field.fields ?? [], inner) : field;
}
