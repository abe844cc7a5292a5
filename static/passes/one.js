// One pass or note read back: its numbers, the gauge against the supply check, what differs from the pass before and from
// the best one, what was typed over.

import { breathe } from "../core/breath.js";
import { el, keepFocus } from "../core/dom.js";
import { inWords as errorInWords } from "../core/told.js";
import { applies } from "../form/read.js";
import { airInWords } from "./airpart.js";
import { drawBadPass } from "./bad.js";
import { checkGauge, underCard } from "./check.js";
import { buildDifferences, buildOf, differences } from "./compare.js";
import { drawEarlier } from "./earlier.js";
import { KeptRecording } from "./kept.js";
import { airForm, hasAir, PREFIX, wordFor, workOut } from "./air.js";
import { before, best, fieldsOf, isBest, lambdaOf, passesOf, placeOf, title } from "./told.js";
import { inWords, isGiven, momentInWords, numberInWords, plainText } from "./values.js";
import { offerUndo, saveWithUndo } from "../core/undo.js";

const LEAD = ["elapsed_time", "speed"];
const FREE = ["words", "changed", "seen"];
const HEAD = ["when", "place", "run"];

export class OnePass {
  constructor(app, { log, builds }, view) {
    Object.assign(this, { app, log, builds, id: view.id });
    this.fields = fieldsOf(app, view.kind);
    this.element = el("article", { class: "one-pass" });
    this.draw();
    this.stops = [app.units.onChange(() => this.draw()), log.onChange(({ records }) => records.has(this.id) && this.draw())];
  }

  get view() {
    return this.log.get(this.id);
  }

  draw() {
    this.turn = {};
    const { view } = this;
    const { values } = view;
    const late = { said: el("div", { class: "said" }), below: el("div", { class: "below" }) };
    const parts = [
      el("h1", { tabindex: "-1" }, title(view)), el("p", { class: "intro" }, [momentInWords(values.when), placeOf(values)].filter(Boolean).join(" · ")),
      el("div", { class: "top" }, ...[view.deleted ? this.drawDeleted() : el("div", { class: "passes-next" }, el("a", { class: "next", href: `#/passes/${view.id}/jot` }, "Change it"),
        el("button", { type: "button", onclick: () => this.remove() }, "Delete")),
      view.kind === "pass" && !view.deleted ? el("a", { class: "other open-recording", href: `#/passes/${view.id}/recording` }, isGiven(values.recording) ? "Open another recording" : "Open a recording") : null,
      ...this.drawLead(values), ...this.drawFree(values), this.drawRest(values), late.said].filter(Boolean)), late.below,
    ];
    keepFocus(this.element, () => this.element.replaceChildren(...parts));
    this.drawLate(late, view).catch((error) => late.said.append(el("p", { class: "error" }, errorInWords(error, "What is compared with it could not be read."))));
  }

  drawDeleted() {
    return el("p", { class: "notice" }, "This one is deleted. ", el("button", { type: "button", onclick: () => this.log.restore(this.id) }, "Restore it"));
  }

  async remove() {
    const { id } = this;
    await this.log.remove(id);
    offerUndo(`${title(this.view)} is deleted.`, () => this.log.restore(id));
  }

  drawLead(values) {
    const given = LEAD.filter((name) => this.fields.has(name) && isGiven(values[name]));
    return given.length ? [el("p", { class: "lead-line" }, ...given.map((name) => el("span", { class: "lead-number" }, inWords(this.fields.get(name), values[name], this.app.units))))] : [];
  }

  drawFree(values) {
    return FREE.filter((name) => this.fields.has(name) && isGiven(values[name])).map((name) => (
      el("p", { class: "free" }, name === "words" ? null : el("strong", {}, `${this.fields.get(name).label}: `), inWords(this.fields.get(name), values[name], this.app.units))));
  }

  drawRest(values) {
    const rows = this.restRows(values);
    return el("dl", { class: "results" }, ...rows.map(([label, words]) => el("div", {}, el("dt", {}, label), el("dd", {}, words))));
  }

  // [[label, words]] of what a pass or note has besides its heading.
  restRows(values) {
    const { units } = this.app;
    const said = sayer(values, [...this.fields.values()]);
    const rows = [];
    for (const [name, field] of this.fields) {
      if ([...LEAD, ...FREE, ...HEAD, "reading_given"].includes(name) || !isGiven(values[name]) || !applies(field, said)) continue;
      rows.push([field.label, inWords(field, values[name], units)]);
    }
    const lambda = this.view.kind === "pass" && values.reading_given === "display" ? lambdaOf(this.app, values) : null;
    if (lambda !== null) rows.push(["Lambda", numberInWords("ratio", lambda, null, units)]);
    if (hasAir(values)) rows.push(...this.airRows(values));
    const build = typeof values.build === "string" && this.log.get(values.build);
    if (build) rows.push(["Build", plainText(build.values.name ?? "No name")]);
    return rows;
  }

  airRows(values) {
    const { units } = this.app;
    const worked = workOut(this.app, values);
    const rows = worked ? [["Density altitude", units.text("elevation", worked.density_altitude)]] : [["Air", airInWords(this.app, values)]];
    const { fields } = airForm(this.app);
    const said = sayer(values, fields, PREFIX);
    for (const field of fields) {
      const value = values[PREFIX + field.name];
      const told = field.type === "variant" ? field.variants[wordFor(field, values)] : field;
      if (told.type !== "choice" && isGiven(value) && applies(field, said)) rows.push([told.label, inWords(told, value, units)]);
    }
    return rows;
  }

  // What needs the history of the build, which comes from the phone's database.
  async drawLate({ said, below }, view) {
    const parts = view.kind === "pass" ? await this.comparisons(view) : { said: [], below: [] };
    const history = await this.log.history(view.id);
    const { clash, earlier } = drawEarlier(this.app, view, history, {
      bringBack: (field, value) => saveWithUndo(view.values, { [field]: value }, (all) => this.log.save(view.id, view.kind, all), "Brought back."), redraw: () => this.draw() });
    said.replaceChildren(...[clash, ...parts.said].filter(Boolean));
    below.replaceChildren(...[...parts.below, earlier].filter(Boolean));
  }

  async comparisons(view) {
    const passes = passesOf(this.log);
    const { turn } = this;
    const build = await buildOf(this.log, view.values);
    this.recording?.stop();
    await breathe();
    if (turn !== this.turn) return { said: [], below: [] }; // drawn anew, or left, meanwhile
    this.recording = view.values.recording ? new KeptRecording(this.app, this.log, view, build) : null;
    const [earlier, quickest] = [before(view, passes), best(view, passes)];
    // Each asks the supply check: a touch gets in between.
    const said = [];
    for (const draw of [() => this.drawUnder(view.values, build), () => this.drawCheck(view.values, build), () => drawBadPass(this.app, this.log, view, build)]) {
      await breathe();
      said.push(draw());
    }
    return { said, below: [
      this.recording?.element,
      ...await this.drawOthers(view, build, [["The pass before", "Since the pass before", earlier],
        quickest?.id === earlier?.id ? [] : isBest(view, quickest) ? ["The next best", "Against the next best", quickest] : ["The best", "Against the best", quickest]].filter(([, , other]) => other)),
    ] };
  }

  // A list after the other on a phone; side by side where there is room. `all`: [[name, heading, the other pass]].
  async drawOthers(view, build, all) {
    const told = await Promise.all(all.map(async ([name, heading, other]) => ({ name, heading, other, rows: await this.differ(view, other, build) })));
    return [...told.map((one) => this.drawDifferences(one)), told.length ? this.sideBySide(view, told) : null];
  }

  drawUnder(values, build) {
    const { units } = this.app;
    const found = underCard(this.app, values, build);
    return found && el("section", { class: "loud" }, el("p", { class: "under-card" }, el("strong", {}, "✕ Under the card")),
      el("p", {}, `The gauge read ${units.text("pressure_difference", found.under)} under the ${units.text("gauge_pressure", found.least)} that this car's card asks for at that boost. Find out why before more boost.`));
  }

  drawCheck(values, build) {
    const check = checkGauge(this.app, values, build);
    return el("section", { class: "gauge-check" }, el("h2", {}, "The gauge and the supply check"), el("p", { class: check.missing ? "help" : null }, check.missing ?? check.words),
      check.missing ? null : el("a", { class: "plain-link", href: "#/passes/gauge" }, "What your gauge readings say"));
  }

  async differ(view, other, build) {
    const theirs = await buildOf(this.log, other.values);
    return [...differences(this.app, view.values, other.values), ...(build && theirs ? buildDifferences(this.app, build, theirs) : [])];
  }

  // Every line that one of them has, and how the others differ from this one.
  sideBySide(view, told) {
    const mine = new Map([...LEAD.filter((name) => isGiven(view.values[name])).map((name) => [this.fields.get(name).label, inWords(this.fields.get(name), view.values[name], this.app.units)]), ...this.restRows(view.values)]);
    for (const { label, now } of told.flatMap(({ rows }) => rows)) if (!mine.has(label)) mine.set(label, now);
    const theirs = new Map(told.map(({ other }) => [other.id, new Map(this.restRows(other.values))]));
    const cell = ({ rows, other }, label, words) => {
      const row = rows.find((one) => one.label === label);
      if (row) return el("td", {}, row.then, row.change ? el("span", { class: "then" }, `${row.change} now`) : null);
      return el("td", { class: "same" }, theirs.get(other.id).get(label) ?? words);
    };
    const head = ({ name, other }) => el("th", { scope: "col" }, name, el("a", { class: "line-link", href: `#/passes/${other.id}` }, `${title(other)}, ${momentInWords(other.values.when)}`));
    return el("section", { class: "pass-columns" }, el("h2", {}, "Side by side"), el("table", { class: "rows" },
      el("thead", {}, el("tr", {}, el("td"), el("th", { scope: "col" }, "This pass"), ...told.map(head))),
      el("tbody", {}, ...[...mine].map(([label, words]) => el("tr", {}, el("th", { scope: "row" }, label), el("td", {}, words), ...told.map((one) => cell(one, label, words)))))));
  }

  drawDifferences({ heading, other, rows }) {
    const link = el("a", { class: "line-link", href: `#/passes/${other.id}` }, `${title(other)}, ${momentInWords(other.values.when)}${placeOf(other.values) ? `, ${placeOf(other.values)}` : ""}`);
    return el("section", { class: "differences" }, el("h2", {}, heading), link, rows.length
      ? el("dl", { class: "results changes" }, ...rows.map((row) => el("div", {}, el("dt", {}, row.label), el("dd", {}, row.now,
        el("span", { class: "then" }, row.change ? `${row.change} from ${row.then}` : `was ${row.then}`)))))
      : el("p", {}, "No differences."));
  }

  stop() {
    this.turn = null;
    this.recording?.stop();
    for (const stop of this.stops) stop();
  }
}

// What a field of the record says or is taken to say; `prefix` is before the names of the air.
function sayer(values, fields, prefix = "") {
  return (name) => {
    const field = fields.find((told) => told.name === name);
    return values[prefix + name] ?? field?.assumed ?? field?.default ?? null;
  };
}
