// The log read back: by day and place, the newest first, found by word.

import { el, say } from "../core/dom.js";
import { KEYS, recall, remember } from "../core/memory.js";
import { underCard } from "./check.js";
import { buildOf } from "./compare.js";
import { LongList } from "./longlist.js";
import { StateLine } from "./stateline.js";
import { derived, fieldsOf, passesOf, placeOf, sorted, title } from "./told.js";
import { dayInWords, dayOf, inWords, isGiven, numberInWords, plainText, timeOf } from "./values.js";

// What is searched, by view; a view is made anew when its record changes.
const texts = new WeakMap();
// Whether a pass's gauge read under the card; of a view, which is made anew when its record changes.
const judged = new WeakMap();
const REST = 300; // ms
const MOST_IN_PIECE = 12;
const HEAD = 58; // px, guesses until they are drawn
const ROW = 56;

export class PassList {
  constructor(app, { log }) {
    this.app = app;
    this.log = log;
    this.fields = fieldsOf(app, "pass");
    this.derived = derived(app);
    this.toMark = [];
    this.words = recall(KEYS.searched, "");
    this.search = el("input", { type: "search", "aria-label": "Find a pass by word", placeholder: "Find by word, place or date", autocomplete: "off", oninput: () => this.onSearch() });
    this.search.value = this.words;
    this.found = el("p", { class: "help", role: "status" });
    this.box = el("div", {});
    this.deleted = el("p", {}, el("a", { class: "line-link", href: "#/passes/deleted" }, "Deleted ones"));
    this.stateLine = new StateLine(app, log);
    this.element = el("div", { class: "passes" }, el("h1", { tabindex: "-1" }, "Passes"),
      el("div", { class: "passes-next" }, el("a", { class: "next at-thumb", href: "#/passes/new" }, "New pass"), el("a", { class: "other", href: "#/passes/note" }, "Note"),
        el("a", { class: "other", href: "#/passes/board" }, "Board"), el("a", { class: "other", href: "#/passes/charts" }, "Charts")),
      this.stateLine.element, this.search, this.found, this.box, this.deleted);
    this.stops = [log.onChange(({ records }) => records.size && this.later()), app.units.onChange(() => this.draw()), () => this.stateLine.stop()];
    this.draw();
  }

  onSearch() {
    this.words = this.search.value;
    remember(KEYS.searched, this.words);
    this.later();
  }

  later() {
    this.frame ??= requestAnimationFrame(() => {
      this.frame = null;
      if (this.element.isConnected) this.draw();
    });
  }

  draw() {
    const notes = this.log.list("note");
    const all = notes.length ? sorted([...passesOf(this.log), ...notes]) : passesOf(this.log);
    const words = this.words.toLowerCase().split(/\s+/).filter(Boolean);
    const views = words.length ? all.filter((view) => words.every((word) => this.textOf(view).includes(word))) : all;
    this.search.hidden = all.length < 2 && !this.words;
    say(this.found, words.length ? `${views.length} of ${all.length} found.` : "");
    this.deleted.hidden = this.log.list("pass", { deleted: true }).length + this.log.list("note", { deleted: true }).length === 0;
    this.list?.stop();
    this.list = new LongList(piecesOf(views).map(({ height, groups }) => (
      { height, draw: () => el("div", {}, ...groups.map(({ head, rows }) => this.drawGroup(head, rows))) })));
    this.box.replaceChildren(all.length ? this.list.element : this.drawEmpty());
  }

  drawEmpty() {
    return el("div", { class: "empty" },
      el("p", {}, "Your log: every pass with its air, boost, fuel pressure and times, kept on this device."),
      el("p", {}, "Start with a new pass. It is saved as you type; a server is not needed."));
  }

  drawGroup(head, rows) {
    return el("section", {}, head ? el("h2", { class: "day" }, el("span", {}, dayInWords(head.day)), el("span", { class: "place" }, head.place)) : null,
      el("ul", { class: "index rows-of-passes" }, ...rows.map((view) => el("li", {}, view.kind === "note" ? this.drawNote(view) : this.drawPass(view)))));
  }

  drawPass(view) {
    const { values } = view;
    const big = ["elapsed_time", "speed"].map((name) => (isGiven(values[name]) ? el("span", { class: `big ${name}` }, inWords(this.fields.get(name), values[name], this.app.units)) : null));
    const mark = el("span", { class: "marked", hidden: true }, "✕ under the card");
    this.markUnder(view, mark);
    return el("a", { href: `#/passes/${view.id}`, class: "pass-row" },
      el("span", { class: "run" }, title(view)), ...big, el("span", { class: "second" }, el("span", { class: "small" }, this.smallWords(values)),
        mark, view.waiting ? el("span", { class: "waits" }, "not sent") : null));
  }

  // What takes a supply check follows when the page is at rest, row by row.
  markUnder(view, mark) {
    if (!isGiven(view.values.boost) || !isGiven(view.values.fuel_pressure) || !view.values.build) return;
    this.toMark.push({ view, mark });
    this.marking ??= setTimeout(() => this.markNext(), REST);
  }

  async markNext() {
    this.marking = null;
    const next = this.toMark.pop();
    if (!next || this.stopped) return;
    const { view, mark } = next;
    if (mark.isConnected) {
      if (!judged.has(view)) judged.set(view, underCard(this.app, view.values, await buildOf(this.log, view.values)) !== null);
      mark.hidden = !judged.get(view);
    }
    if (this.toMark.length) this.marking ??= setTimeout(() => this.markNext(), 0);
  }

  smallWords(values) {
    const { units } = this.app;
    const parts = [timeOf(values.when)];
    const shown = (name) => inWords(this.fields.get(name), values[name], units);
    if (isGiven(values.boost)) parts.push(`boost\u00a0${shown("boost")}`);
    if (isGiven(values.fuel_pressure)) parts.push(`fuel\u00a0${shown("fuel_pressure")}`);
    for (const { short, kind, of } of this.derived) {
      const si = of(values);
      if (si !== null) parts.push(`${short}\u00a0${numberInWords(kind, si, short === "lambda" ? values.lambda_value : null, units)}`);
    }
    if (parts.length === 1) parts.push(shortened(plainText(values.changed ?? values.words ?? "")));
    return parts.filter(Boolean).join("\u00a0· ");
  }

  drawNote(view) {
    return el("a", { href: `#/passes/${view.id}`, class: "pass-row" }, el("span", { class: "run" }, "Note"),
      el("span", { class: "second" }, el("span", { class: "small" }, [timeOf(view.values.when), shortened(plainText(view.values.words ?? ""))].filter(Boolean).join("\u00a0· ")),
        view.waiting ? el("span", { class: "waits" }, "not sent") : null));
  }

  // Everything of a record that a word may be looked for in.
  textOf(view) {
    if (!texts.has(view)) {
      const parts = Object.entries(view.values).filter(([name, value]) => isGiven(value) && !["build", "build_at"].includes(name))
        .map(([name, value]) => (this.fields.get(name)?.type === "choice" ? inWords(this.fields.get(name), value, this.app.units) : plainText(value)));
      texts.set(view, [title(view), dayInWords(dayOf(view.values)), ...parts].join(" ").toLowerCase());
    }
    return texts.get(view);
  }

  stop() {
    this.stopped = true;
    clearTimeout(this.marking);
    this.list.stop();
    for (const stop of this.stops) stop();
  }
}

const LONGEST = 120;
const shortened = (text) => (text.length > LONGEST ? `${text.slice(0, LONGEST)}…` : text);

// Pieces of a bounded number of rows: [{height, groups: [{head: {day, place} or null where it goes on, rows}]}].
function piecesOf(views) {
  const pieces = [];
  let [day, place, room] = [null, null, 0];
  for (const view of views) {
    const here = placeOf(view.values);
    const isNew = dayOf(view.values) !== day || here !== place;
    [day, place] = [dayOf(view.values), here];
    if (room === 0) {
      pieces.push({ height: 0, groups: [] });
      room = MOST_IN_PIECE;
    }
    const piece = pieces.at(-1);
    if (isNew || piece.groups.length === 0) piece.groups.push({ head: isNew ? { day, place } : null, rows: [] });
    piece.groups.at(-1).rows.push(view);
    piece.height += ROW + (isNew ? HEAD : 0);
    room -= 1;
  }
  return pieces;
}
