// The one way to an answer on the phone: the same calc as the server's, compiled (/calc.js), behind the same gate.

import * as calc from "/calc.js";

// Only finite numbers pass; undefined is what a missing key would give, so it does not.
export function finite(value) {
  if (value === null || typeof value === "boolean" || typeof value === "string") return true;
  if (typeof value === "number") return Number.isFinite(value);
  if (Array.isArray(value)) return value.every(finite);
  return typeof value === "object" && Object.values(value).every(finite);
}

// Returns {results, notes} or {errors: {field: [sentence]}}. `inputs` are SI values that passed the form, `more` what the function takes beside them.
export function run(form, inputs, functionName = form.function, ...more) {
  let results;
  try {
    results = calc[form.module][functionName](inputs, ...more);
  } catch (error) {
    if (error.name !== "ValueError") return { errors: { form: [`${form.name} has no answer for these inputs.`] } };
    // pscript puts the name of the error before its words.
    const told = error.message.replace(/^ValueError: /, "");
    const match = /^([a-z0-9_.]+): (.+)$/s.exec(told);
    return { errors: match ? { [match[1]]: [match[2]] } : { form: [told] } };
  }
  if (!finite(results)) return { errors: { form: [`${form.name} has no finite answer for these inputs.`] } };
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
  return note.replace(/\{([a-z0-9_.]+)\}/g, (_, name) => {
    const value = results[name] ?? name.split(".").reduce((part, key) => part?.[key], inputs);
    if (value == null) return "none";
    const kind = kindOf(form, name);
    return typeof value === "number" && kind && units.kinds[kind] ? units.text(kind, value) : String(value);
  });
}

export function kindOf(form, name) {
  const result = form.results.find((told) => told.name === name);
  return result ? result.kind : fieldNamed(form.fields, name.split("."))?.kind;
}

export function fieldNamed(fields, [name, ...inner]) {
  const field = fields.find((told) => told.name === name);
  return inner.length && field ? fieldNamed(field.fields ?? [], inner) : field;
}
