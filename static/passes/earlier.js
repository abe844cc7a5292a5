// The values of a record that lost: what another phone typed into the same field, and what was typed earlier. Any of them
// can be brought back by writing it again.

import { el } from "../dom.js";
import { fieldNamed, checkForm } from "../build/sections.js";
import { airForm, PREFIX } from "./air.js";
import { fieldsOf } from "./told.js";
import { inWords, isGiven, momentInWords, momentOf, plainText } from "./values.js";

const HIDDEN = ["_deleted", "build_at"];

// `bringBack(field, value)`; returns {clash: element or null, earlier: element or null}.
export function drawEarlier(app, view, history, bringBack) {
  const clashes = [];
  const older = [];
  for (const [name, entries] of Object.entries(history)) {
    if (HIDDEN.includes(name)) continue;
    const [winner, ...lost] = entries;
    const seen = new Set([JSON.stringify(winner.value)]);
    for (const entry of lost) {
      const key = JSON.stringify(entry.value);
      if (seen.has(key) || !isGiven(entry.value)) continue;
      seen.add(key);
      (entry.device === winner.device ? older : clashes).push({ name, winner, entry });
    }
  }
  const draw = ({ name, winner, entry }) => drawEntry(app, view, name, winner, entry, bringBack);
  older.sort((a, b) => (a.entry.at < b.entry.at ? 1 : -1));
  return {
    clash: clashes.length ? el("section", { class: "clash" }, el("h2", {}, "Typed on two phones"),
      el("p", { class: "help" }, "The later one stands. Nothing is lost: the other can be brought back."), el("ul", {}, ...clashes.map(draw))) : null,
    earlier: older.length ? el("details", { class: "unfolding earlier" }, el("summary", {}, "Typed earlier"), el("ul", {}, ...older.map(draw))) : null,
  };
}

function drawEntry(app, view, name, winner, entry, bringBack) {
  const field = describe(app, view.kind, name);
  const words = (value) => inWords(field, value, app.units);
  return el("li", { class: "lost" },
    el("p", {}, el("strong", {}, field?.label ?? name), ` ${words(entry.value)}`, el("span", { class: "help" }, ` ${who(entry)}, ${momentInWords(momentOf(new Date(Date.parse(entry.at.slice(0, 24)))))}`)),
    el("p", { class: "help" }, isGiven(winner.value) ? `Now ${words(winner.value)} (${who(winner)}).` : "Now empty."),
    el("button", { type: "button", onclick: () => bringBack(name, entry.value) }, `Bring back ${shortened(words(entry.value))}`));
}

const who = ({ mine, device }) => (mine ? "this phone" : `phone ${device.slice(0, 4)}`);
const shortened = (text) => (text.length > 24 ? `${text.slice(0, 24)}…` : text);

function describe(app, kind, name) {
  if (name.startsWith(PREFIX)) {
    const field = airForm(app).fields.find((told) => told.name === name.slice(PREFIX.length));
    return field?.type === "variant" ? { ...field, label: field.label } : field;
  }
  return kind === "build" ? fieldNamed(checkForm(app), name)?.field : fieldsOf(app, kind).get(name);
}

export function labelOf(app, kind, name) {
  return describe(app, kind, name)?.label ?? plainText(name);
}
