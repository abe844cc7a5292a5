// Which column is what: guessed from the words of the heading, picked by the user, remembered for files with the same heading.

import { KEYS, recall, remember } from "../core/memory.js";

const MOST_KEPT = 12;

// `kinds`: what the column's unit may be of; the first is how it is shown.
export const ROLES = [
  { name: "time", label: "Time", kinds: ["logged_time"], needed: true, words: /\btime\b|\belapsed\b|\btimestamp\b|\bclock\b|^t$|\bseconds?\b/ },
  { name: "boost", label: "Boost", kinds: ["gauge_pressure", "absolute_pressure"], needed: true, words: /\bboost\b|\bmap\b|\bmanifold\b|\bcharge press/, not: /\btarget\b|\bduty\b|\bset\b|\btemp|\bcontrol/ },
  { name: "fuel", label: "Fuel pressure", kinds: ["gauge_pressure", "absolute_pressure"], needed: true, words: /\bfuel ?p(ress\w*)?\b|\bfp\b|\bfuel rail\b/, not: /\bpump\b|\bflow\b|\btemp|\btarget\b|\bduty\b/ },
  { name: "speed", label: "Engine speed", kinds: ["rotational_speed"], words: /\brpm\b|\bengine (speed|rev)|\brevs?\b|\btach/, not: /\bshaft\b|\bwheel\b|\bturbo\b|\btarget\b/ },
  { name: "mixture", label: "Mixture", kinds: ["ratio"], words: /\blambda\b|λ|\bafr\b|\ba f\b|\bair fuel\b|\bwideband\b/, not: /\btarget\b|\bcorr/ },
  { name: "throttle", label: "Throttle", kinds: ["fraction"], words: /\bthrottle\b|\btps\b|\btp\b/, not: /\btarget\b|\bvolt/ },
  { name: "battery", label: "Battery", kinds: ["voltage"], words: /\bbatt?(ery)?\b|\bsupply volt|\bvolts?\b|\bvoltage\b/, not: /\bsensor\b|\btps\b/ },
  { name: "road", label: "Speed of the car", kinds: ["speed"], words: /\bspeed\b|\bvss\b|\bmph\b/, not: /\bengine\b|\bwheel\b|\bturbo\b|\bshaft\b|\bpump\b|\bfan\b/ },
];

export const roleNamed = (name) => ROLES.find((role) => role.name === name);

const plain = (name) => name.toLowerCase().replace(/[^a-zλ]+/g, " ").trim();
const split = (name) => plain(name.replace(/([a-z])([A-Z])/g, "$1 $2"));

// A unit as a file spells it: {kind, unit} of the first kind that knows it, or null.
function unitFor(units, kinds, text) {
  if (!text) return null;
  for (const kind of kinds) {
    const unit = units.spelt(kind, text);
    if (unit && unit.name !== "") return { kind, unit };
  }
  return null;
}

export function isUnit(units, cell) {
  const text = cell.replace(/^[[(]|[\])]$/g, "").trim();
  return text !== "" && ROLES.some(({ kinds }) => unitFor(units, kinds, text) !== null);
}

// What the heading says of itself: {role: {column, unit, reading}}; `reading` is "gauge" or "absolute", or for the mixture
// "lambda" or "display"; null where nobody has said it, so that it is asked.
export function guess(units, shape) {
  const taken = new Set();
  const found = {};
  for (const role of ROLES) {
    const column = shape.names.findIndex((name, i) => !taken.has(i) && fits(role, name));
    if (column < 0) continue;
    taken.add(column);
    found[role.name] = fromHeading(units, shape, role, column);
  }
  return found;
}

function fits({ words, not }, name) {
  return [plain(name), split(name)].some((text) => words.test(text) && !not?.test(text));
}

// Unit and reading of a column, as far as its heading tells.
export function fromHeading(units, shape, role, column) {
  const text = shape.units[column];
  const told = unitFor(units, role.kinds, text) ?? unitFor(units, role.kinds, shape.names[column].split(/[\s_]+/).at(-1));
  const only = role.kinds.length === 1 && units.all(role.kinds[0]).length === 1 ? units.all(role.kinds[0])[0].name : null;
  return { column, unit: told?.unit.name ?? only, reading: readingOf(units, role, shape.names[column], text) };
}

function readingOf(units, role, name, unit) {
  const words = `${plain(name)} ${split(name)}`;
  if (role.name === "mixture") return /lambda|λ/.test(words) ? "lambda" : /\bafr\b|\ba f\b|\bratio\b/.test(words) ? "display" : null;
  if (role.kinds.length < 2) return null;
  const says = (text) => (/abs/.test(text) ? "absolute" : /gauge|\brel/.test(text) ? "gauge" : null);
  const only = unit && role.kinds.filter((kind) => units.spelt(kind, unit));
  if (only?.length === 1) return only[0] === "absolute_pressure" ? "absolute" : "gauge";
  if (says(words)) return says(words);
  if (role.name === "boost") return /\bmap\b|manifold/.test(words) ? "absolute" : /\bboost\b/.test(words) ? "gauge" : null;
  return null;
}

// What is not said yet, as [role, question]; an empty list is an answer for all.
export function openQuestions(picked) {
  const open = [];
  for (const role of ROLES) {
    const one = picked[role.name];
    if (!one || one.column < 0) {
      if (role.needed && !(role.name === "time" && one?.rate > 0)) open.push([role.name, "column"]);
      continue;
    }
    if (role.name !== "mixture" && !one.unit && !(role.name === "time" && one.clock)) open.push([role.name, "unit"]);
    if ((role.kinds.length > 1 || role.name === "mixture") && !one.reading) open.push([role.name, "reading"]);
    if (role.name === "fuel" && !one.tapped) open.push([role.name, "tapped"]);
    if (role.name === "mixture" && one.reading === "display" && !one.ratio) open.push([role.name, "ratio"]);
  }
  return open;
}

export function recallColumns(key) {
  return recall(KEYS.recordingColumns, []).find((kept) => kept.key === key)?.picked ?? null;
}

export function rememberColumns(key, picked) {
  remember(KEYS.recordingColumns, [{ key, picked }, ...recall(KEYS.recordingColumns, []).filter((kept) => kept.key !== key)].slice(0, MOST_KEPT));
}
