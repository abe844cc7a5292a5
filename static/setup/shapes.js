// What a value of a backup may look like, as far as the page would stumble over another shape. The same rule as the server's
// `webapp/log/shapes.py`, which says it in full, and tested against it.

const PART = /^[a-z][a-z0-9_-]*$/;
const SAID = { table: "a table of numbers", number: "a number with its unit", loose: "a number with its unit, or text", flag: "yes or no", text: "text", reason: "a text with a list of fields", parts: "a list of named values" };
const OF_BUILDS = { name: "text", invented: "flag", reason: "reason", boost_control: "text", in_use: "text" };
const OF_PASSES = { build: "text", build_at: "text", "air.at": "text", jets_right: "flag" };

// -> (edit) => why its value cannot be kept, as a sentence, or null
export function shapes(app) {
  const known = { build: ofBuild(app), pass: ofPass(app, "pass"), note: ofPass(app, "note") };
  return ({ kind, field, value }) => {
    const part = strangePart(value);
    if (part !== null) return `A part of the value is named ${part.slice(0, 40)}; parts are named in small letters, digits, hyphens and underscores.`;
    const [shape, label] = known[kind].get(field) ?? [null];
    return shape === null || fits(shape, value) ? null : `${label} must be ${SAID[shape.type]}.`;
  };
}

function ofPass(app, kind) {
  const air = app.forms.find(({ name }) => name === "density-altitude").fields.map((field) => ({ ...field, name: `air.${field.name}` }));
  const fields = [...app.records[kind].fields, ...air].map((field) => [field.name, [shapeOf(field, true), field.label]]);
  return new Map([...plain(OF_PASSES), ...fields]);
}

function ofBuild(app) {
  const sections = app.forms.find(({ name }) => name === "supply-check").fields.filter(({ fields }) => fields);
  const fields = sections.flatMap((section) => section.fields.map((field) => [`${section.name}.${field.name}`, [shapeOf(field), field.label]]));
  const ticks = app.forms.filter((form) => form.ticks).flatMap((form) => form.fields.map(({ name, label }) => [`${form.ticks}.${name}`, [{ type: "flag" }, label]]));
  const kept = app.forms.filter((form) => form.keep).flatMap((form) => {
    const name = `kept.${form.name.replaceAll("-", "_")}`;
    const of = new Map(form.fields.map((field) => [field.name, shapeOf(field)]));
    return [[name, [{ type: "parts", of }, form.title]], [`${name}_result`, [{ type: "parts", of: new Map() }, form.title]]];
  });
  return new Map([...plain(OF_BUILDS), ...fields, ...ticks, ...kept]);
}

const plain = (types) => Object.entries(types).map(([name, type]) => [name, [{ type }, name]]);

function shapeOf({ type, columns }, loose = false) {
  if (type === "quantity" || type === "whole") return { type: loose ? "loose" : "number" };
  if (type === "table") return { type, columns: columns.length };
  if (type === "flag") return { type };
  return { type: ["text", "moment", "choice", "word", "state"].includes(type) ? "text" : "any" };
}

const isText = (value) => typeof value === "string";
const isObject = (value) => typeof value === "object" && value !== null && !Array.isArray(value);

const FITS = {
  any: () => true,
  number: (_, value) => isNumber(value),
  loose: (_, value) => isNumber(value) || isText(value),
  table: ({ columns }, value) => Array.isArray(value) && value.every((row) => Array.isArray(row) && row.length === columns && row.every(isNumber)),
  flag: (_, value) => typeof value === "boolean",
  text: (_, value) => isText(value),
  reason: (_, value) => isObject(value) && isText(value.text) && Array.isArray(value.fields) && value.fields.every(isText),
  parts: ({ of }, value) => isObject(value) && Object.entries(value).every(([name, inner]) => fits(of.get(name) ?? { type: "any" }, inner)),
};

function fits(shape, value) {
  return value === null || FITS[shape.type](shape, value);
}

function isNumber(value) {
  if (!isObject(value)) return typeof value === "number";
  return typeof value.si === "number" && [value.text, value.unit, value.kind].every((word) => word == null || isText(word));
}

// The name of a part, at any depth, that this language could take for one of its own; null where there is none.
function strangePart(value) {
  if (typeof value !== "object" || value === null) return null;
  const strange = Array.isArray(value) ? undefined : Object.keys(value).find((part) => !PART.test(part));
  if (strange !== undefined) return strange;
  return Object.values(value).map(strangePart).find((part) => part !== null) ?? null;
}
