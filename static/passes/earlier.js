// The values of a record that lost: what another phone typed into the same field, and what was typed earlier. Any of them
// can be brought back by writing it again.

import { el } from "../core/dom.js";
import { KEYS, recall, remember } from "../core/memory.js";
import { fieldNamed, checkForm } from "../car/sections.js";
import { airForm, PREFIX } from "./air.js";
import { fieldsOf } from "./told.js";
import { inWords, isGiven, momentInWords, momentOf, plainText } from "./values.js";

const HIDDEN = ["_deleted", "build_at"];
const MOST_SETTLED = 500;

// `bringBack(field, value)` and `redraw()` are called at a touch; returns {clash: element or null, earlier: element or null}.
export function drawEarlier(app, view, history, { bringBack, redraw }) {
  const clashes = [];
  const older = [];
  const settled = recall(KEYS.settled, []);
  for (const [name, entries] of Object.entries(history)) {
    if (HIDDEN.includes(name)) continue;
    const [winner, ...lost] = entries;
    const seen = new Set([JSON.stringify(winner.value)]);
    for (const entry of lost) {
      const text = JSON.stringify(entry.value);
      if (seen.has(text) || !isGiven(entry.value)) continue;
      seen.add(text);
      const key = keyOf(view, name, entry);
      (entry.device === winner.device || settled.includes(key) ? older : clashes).push({ name, winner, entry, key });
    }
  }
  const draw = (one) => drawEntry(app, view, one, bringBack, clashes.includes(one) ? redraw : null);
  older.sort((a, b) => (a.entry.at < b.entry.at ? 1 : -1));
  return {
    clash: clashes.length ? el("section", { class: "clash" }, el("h2", {}, "Typed on two phones"),
      el("p", { class: "help" }, "The later one stands. Nothing is lost: the other can be brought back."), el("ul", {}, ...clashes.map(draw))) : null,
    earlier: older.length ? el("details", { class: "unfolding earlier" }, el("summary", {}, "Typed earlier"), el("ul", {}, ...older.map(draw))) : null,
  };
}

const keyOf = (view, name, { at }) => `${view.id}.${name}.${at}`;

function drawEntry(app, view, { name, winner, entry, key }, bringBack, redraw) {
  const field = describe(app, view.kind, name);
  const words = (value) => inWords(field, value, app.units);
  // Whoever chose has seen both, whichever of them stands afterwards.
  const settle = () => remember(KEYS.settled, [...recall(KEYS.settled, []), key, keyOf(view, name, winner)].slice(-MOST_SETTLED));
  const back = el("button", { type: "button", onclick: () => { settle(); bringBack(name, entry.value); } }, `Bring back ${shortened(words(entry.value))}`);
  const leave = redraw && el("button", { type: "button", onclick: () => { settle(); redraw(); } }, `Leave ${isGiven(winner.value) ? shortened(words(winner.value)) : "it empty"}`);
  const when = momentInWords(momentOf(new Date(Date.parse(entry.at.slice(0, 24)))));
  return el("li", { class: "lost" },
    el("p", {}, el("strong", {}, field?.label ?? name), ` ${words(entry.value)}`, el("span", { class: "help" }, ` ${who(entry)}, ${when}`)),
    el("p", { class: "help" }, isGiven(winner.value) ? `Now ${words(winner.value)} (${who(winner)}).` : "Now empty."),
    el("div", { class: "passes-next" }, back, leave));
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
