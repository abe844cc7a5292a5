// An answer, drawn from a form's description: the word or number first, a sentence, the rest, pictures, the working.

import { Chart } from "./chart.js";
import { fieldNamed, rowSentence, sentence } from "../core/compute.js";
import { el, rebuild, say, svg } from "../core/dom.js";
import { MapChart } from "./map.js";
import { atRest, inSight } from "../core/sight.js";
import { capital, inSentence, spelled } from "../core/words.js";

export const STATES = ["holds", "thin", "short"]; // the worse the later
const MOST_ASSUMED = 8; // named in a sentence
const MOST_EXAMPLES = 3;
const SHORT = 9; // letters
const SPEAK = 500; // ms after the page came to rest

export class AnswerView {
  // A result with `apart` has a place of its own elsewhere on the page and is left out here.
  constructor(form, units) {
    this.form = form;
    this.units = units;
    this.stateBox = el("div", { class: "state" });
    this.leadLabel = el("p", { class: "lead-label" });
    this.lead = el("p", { class: "lead" });
    this.old = el("p", { class: "old-mark", role: "status" });
    this.first = el("p", { class: "first-note" });
    // The head stays in sight while the fields scroll under it; the sentence and the rest do not.
    this.verdict = el("div", { class: "verdict" }, this.stateBox, this.lead);
    this.head = el("div", { class: "answer-head" }, this.old, this.leadLabel, this.verdict);
    this.more = el("div", { class: "more-notes" });
    this.list = el("dl", { class: "results" });
    this.charts = form.charts.map((chart) => new { lines: Chart, map: MapChart }[chart.type](chart, form, units));
    this.showCharts = this.charts.map((chart) => inSight(chart.element, (answer) => chart.show(answer)));
    this.working = this.unfolding("The working", () => this.drawWorking());
    this.tables = form.results.filter((told) => told.type === "table" && !told.shown && !told.apart)
      .map((told) => this.unfolding(told.label, (box) => box.replaceChildren(this.table(told, this.answer.results[told.rows ?? told.name] ?? []))));
    // Lists that are the answer stand at the top, others that are always open in the body.
    const open = form.results.filter((told) => !told.apart && (told.type === "units" || (told.type === "table" && told.shown)));
    const first = (told) => told.shown === "first";
    this.openTables = [true, false].map((top) => ({ told: open.filter((one) => first(one) === top), box: el("div", { class: "open-tables" }) }));
    this.top = this.openTables[0].box;
    this.words = el("div", { class: "answer-words", role: "status" }, this.first);
    this.body = el("section", { class: "answer-body", "aria-label": "More of the answer" },
      this.openTables[1].box, this.more, ...this.charts.map((chart) => chart.element), this.list,
      ...this.tables.map((part) => part.element), this.working.element);
    this.restStandsIn(this.body);
    this.parts = [this.head, this.words, this.top, this.body];
    this.rows = new Map();
    this.quiet = atRest(() => { this.speaking = setTimeout(() => this.words.removeAttribute("aria-busy"), SPEAK); });
    for (const part of this.parts) part.hidden = true;
  }

  // A part that is only worked out while it is open.
  unfolding(title, draw) {
    const box = el("div", { class: "unfolded" });
    const element = el("details", { class: "unfolding", ontoggle: () => element.open && this.answer && draw(box) }, el("summary", {}, title), box);
    return { element, draw: () => element.open && draw(box), box };
  }

  // answer: {inputs, results, notes, assumed}; `example`: {labels, all} of what is nobody's, or nothing; `beside`, a sentence more.
  show(answer) {
    this.answer = answer;
    for (const part of this.parts) part.hidden = false;
    this.markOld(false);
    this.speakAtRest();
    this.drawHead();
    this.drawOpen(this.openTables[0]);
    this.drawBody();
    for (const showChart of this.showCharts) showChart(answer);
  }

  // Who listens hears an answer once the hand rests, not at each key or step of a slider.
  speakAtRest() {
    if (!this.words.hasAttribute("aria-busy")) this.words.setAttribute("aria-busy", "true");
    clearTimeout(this.speaking);
    this.quiet.later();
  }

  // Where the rest of the answer stands: out of sight it may follow later than the head.
  restStandsIn(element) {
    this.drawBody = inSight(element, () => this.drawRest());
  }

  drawOpen({ told, box }) {
    if (told.length) box.replaceChildren(...told.filter((one) => !one.cards || this.answer.results[one.name]?.length).map((one) => this.open(one)));
  }

  drawRest() {
    this.drawOpen(this.openTables[1]);
    this.drawMore();
    this.drawList();
    for (const part of this.tables) part.draw();
    this.working.draw();
  }

  // An answer that no longer belongs to the fields says so, and nothing of it is read aloud.
  markOld(old, why = "Not updated: fix the marked field.") {
    this.isOld = old;
    this.why = why;
    say(this.old, old ? why : "");
    for (const part of this.parts) part.classList.toggle("old", old);
    for (const part of [this.verdict, this.leadLabel, this.first]) {
      if (old) part.setAttribute("aria-hidden", "true");
      else part.removeAttribute("aria-hidden");
    }
    if (old) this.head.hidden = false;
  }

  draw() {
    if (this.answer) {
      const { isOld, why } = this;
      this.show(this.answer);
      this.markOld(isOld, why);
    }
  }

  open(told) {
    const list = told.type === "units" ? this.everyUnit(told) : told.cards ? this.cards(told, this.answer.results[told.name]) : this.table(told, this.answer.results[told.name] ?? []);
    return el("figure", {}, el("figcaption", {}, told.label), list);
  }

  everyUnit(told) {
    const { [told.value]: si, [told.by]: kind } = this.answer.results;
    return el("dl", { class: "results units" }, ...this.units.all(kind).map((unit) => el("div", {}, el("dt", {}, unit.name || "plain number"),
      el("dd", {}, this.units.exact(kind, si, unit)))));
  }

  // What is shown large may hang on what was asked for.
  get leadName() {
    const { lead } = this.form;
    return typeof lead === "object" && lead ? lead.of[this.answer.inputs[lead.by]] : lead;
  }

  note(text) {
    return sentence(text, this.form, this.answer.inputs, this.answer.results, this.units);
  }

  drawHead() {
    const { results, notes } = this.answer;
    const state = this.stateWord();
    this.stateBox.hidden = state === null;
    if (state !== null && this.shownState !== state) {
      this.shownState = state;
      this.stateBox.className = `state ${state.replaceAll(" ", "-")}`;
      this.stateBox.replaceChildren(...(STATES.includes(state) ? [stateShape(state)] : []), el("strong", {}, state));
    }
    const told = this.form.results.find((result) => result.name === this.leadName);
    const value = told && results[told.name];
    this.head.classList.toggle("empty", value == null && state === null);
    this.head.classList.toggle("example", Boolean(this.answer.example));
    this.lead.hidden = this.leadLabel.hidden = value == null;
    if (value != null) {
      const unit = this.units.kinds[told.kind] ? this.units.of(told.kind).name : "";
      say(this.leadLabel, results[told.label_from] ?? told.label);
      const number = unit || typeof value === "number" ? this.units.number(told.kind, value) : value;
      this.lead.classList.toggle("words", typeof value === "string");
      rebuild(this.lead, unit, () => [el("span", { class: "lead-number" }), "\u00a0", el("span", { class: "lead-unit" }, unit)]);
      say(this.lead.firstChild, number);
    }
    say(this.first, [this.exampleSentence(), notes.length ? this.note(notes[0]) : null, this.answer.beside].filter(Boolean).join(" "));
  }

  exampleSentence() {
    const { example } = this.answer;
    if (!example) return null;
    if (example.all) return "Example numbers, no car's: type yours.";
    if (example.labels.length > MOST_EXAMPLES) return `${example.labels.length} values are still examples: say yours.`;
    return `Still an example: ${example.labels.map(inSentence).join(", ")}.`;
  }

  // What stands where a verdict would: "example" for values that are nobody's, "not known yet" where key values are missing.
  stateWord() {
    const { results, example, unknown = [] } = this.answer;
    if (example) return "example";
    return unknown.length ? "not known yet" : results.state ?? null;
  }

  drawMore() {
    const rest = this.answer.notes.slice(1).map((note) => this.note(note));
    const assumed = this.assumedSentence();
    if (assumed) rest.push(assumed);
    rebuild(this.more, rest, () => rest.map((text) => el("p", {}, text)));
  }

  assumedSentence() {
    const parts = Object.entries(this.answer.assumed ?? {}).map(([name, value]) => {
      const field = fieldNamed(this.form.fields, name.split("."));
      return field && `${inSentence(field.label)} (${valueInWords(field, value, this.units)})`;
    }).filter(Boolean);
    if (parts.length > MOST_ASSUMED) return `${parts.length} values are assumed; see the fields.`;
    return parts.length ? `Assumed: ${parts.join(", ")}.` : null;
  }

  drawList() {
    for (const told of this.form.results) {
      if (["table", "units"].includes(told.type) || told.kind === "state" || told.apart) continue;
      const value = this.answer.results[told.name];
      if (told.line) {
        this.drawLine(told, value);
        continue;
      }
      const parts = told.type === "group" ? told.parts : [told];
      for (const part of parts) {
        const inner = told.type === "group" ? value?.[part.name] : value;
        const row = this.row(`${told.name}.${part.name}`, told.type === "group" ? `${told.label}: ${part.label}` : part.label, part.help);
        row.element.hidden = inner == null || told.name === this.leadName;
        if (inner != null) say(row.value, this.shown(part, inner));
      }
    }
  }

  // A group in one line: its first part large, the others named under it.
  drawLine(told, value) {
    const row = this.row(told.name, told.label, told.help);
    row.element.hidden = value == null;
    if (value == null) return;
    const [first, ...rest] = told.parts.filter((part) => value[part.name] != null);
    const small = rest.map((part) => `${part.label} ${this.shown(part, value[part.name])}`).join(", ");
    rebuild(row.value, [this.shown(first, value[first.name]), small], () => [this.shown(first, value[first.name]), el("span", { class: "small" }, small)]);
  }

  row(key, label, help) {
    if (!this.rows.has(key)) {
      const value = el("dd");
      const element = el("div", { title: help || null }, el("dt", {}, label), value);
      this.rows.set(key, { element, value });
      this.list.append(element);
    }
    return this.rows.get(key);
  }

  shown(told, value) {
    if (Array.isArray(value)) return value.map((one) => this.shown(told, one)).join(", ");
    return typeof value === "number" && this.units.kinds[told.kind] ? this.units.text(told.kind, value) : spelled(String(value));
  }

  // Rows one below the other, under the word that they share: sentences side by side have no room on a phone.
  cards({ cards: by, columns, kinds }, rows) {
    const shared = [...new Set(rows.map((row) => row[by]))];
    const [first, ...others] = columns.filter(({ name }) => name !== by);
    const lines = (word, line) => rows.filter((row) => row[by] === word).map(line);
    if (!others.length) {
      return el("div", {}, ...shared.map((word) => el("div", {}, el("h3", {}, spelled(word)), el("ul", { class: "parts" }, ...lines(word, (row) => el("li", {}, this.cell(first, row[first.name], kinds, row)))))));
    }
    return el("ul", { class: "parts" }, ...shared.flatMap((word) => lines(word, (row) => el("li", {}, this.cardHead(word, [first, ...others], row),
      ...[first, ...others].filter(({ kind, name }) => kind !== "yes" && row[name] != null).map((column) => el("p", {}, column.label ? `${column.label}: ` : "", this.cell(column, row[column.name], kinds, row)))))));
  }

  cardHead(word, columns, row) {
    const yes = columns.find(({ kind }) => kind === "yes");
    return el("p", { class: "entry-head" }, el("strong", {}, capital(spelled(word))),
      yes ? el("strong", { class: "counts" }, row[yes.name] ? yes.label.toLowerCase() : `not ${yes.label.toLowerCase()}`) : null);
  }

  table(told, rows) {
    const heads = told.columns.map((column) => {
      const unit = this.units.kinds[column.kind] ? this.units.of(column.kind).name : "";
      return el("th", { scope: "col", class: column.kind === "sentence" ? "words" : null }, column.label, unit ? el("span", { class: "unit" }, ` ${unit}`) : null);
    });
    const body = rows.map((row) => el("tr", {}, ...told.columns.map((column) => el("td", { class: typeof row[column.name] === "number" || isShort(row[column.name]) ? "number" : null },
      this.cell(column, row[column.name], told.kinds, row)))));
    return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": told.label },
      el("table", { class: "rows" }, el("thead", {}, el("tr", {}, ...heads)), el("tbody", {}, ...body)));
  }

  cell(column, value, kinds, row) {
    if (value == null) return "–";
    if (column.kind === "sentence") return rowSentence(value, kinds, row, this.units);
    if (column.kind === "yes") return value ? "yes" : "no";
    return typeof value === "number" && this.units.kinds[column.kind] ? this.units.number(column.kind, value) : spelled(String(value));
  }

  drawWorking() {
    const steps = (this.answer.results.steps ?? []).map((step) => el("tr", {}, el("td", {}, spelled(step.label)),
      el("td", { class: "number" }, step.value == null ? "–" : this.shown(step, step.value))));
    this.working.box.replaceChildren(el("table", { class: "rows steps" }, el("tbody", {}, ...steps)),
      el("p", { class: "source" }, `Method: ${this.form.source}`));
  }
}

// A size such as "2.10 mm" stands like a number and is not broken.
const isShort = (value) => typeof value === "string" && value.length < SHORT && /\d/.test(value);

// A value of a field as a person reads it.
export function valueInWords(field, value, units) {
  if (typeof value === "number" && field.kind) return units.text(field.kind, value);
  if (Array.isArray(value)) return `${value.length} rows`;
  if (typeof value === "boolean") return value ? "yes" : "no";
  return field.options?.find((option) => option.value === value)?.label ?? String(value);
}

// A state as it stands within a line: its shape and its word.
export function stateWord(state) {
  return el("span", { class: `state-word ${state}` }, stateShape(state), state);
}

// A shape for each word, so that a state never hangs on colour: a full square, a half-filled one, a broken one.
export function stateShape(state) {
  const shape = svg("svg", { viewBox: "0 0 24 24", class: "shape", "aria-hidden": "true" });
  if (state === "holds") shape.append(svg("rect", { x: 2, y: 2, width: 20, height: 20 }));
  else if (state === "thin") shape.append(svg("rect", { x: 3, y: 3, width: 18, height: 18, class: "open" }), svg("rect", { x: 3, y: 15, width: 18, height: 6 }));
  else shape.append(svg("path", { d: "M3 3h18v18H3z", class: "open" }), svg("path", { d: "M3 3l18 18M21 3L3 21", class: "open" }));
  return shape;
}
