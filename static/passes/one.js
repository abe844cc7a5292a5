// One pass or note read back: its numbers, the gauge against the supply check, what differs from the pass before and from
// the best one, what was typed over.

import { el } from "../core/dom.js";
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
    const { view } = this;
    const { values } = view;
    const late = el("div", { class: "late" });
    this.element.replaceChildren(...[
      el("h1", { tabindex: "-1" }, title(view)), el("p", { class: "intro" }, [momentInWords(values.when), placeOf(values)].filter(Boolean).join(" · ")),
      view.deleted ? this.drawDeleted() : el("div", { class: "passes-next" }, el("a", { class: "next", href: `#/passes/${view.id}/jot` }, "Change it"),
        el("button", { type: "button", onclick: () => this.remove() }, "Delete")),
      view.kind === "pass" && !view.deleted ? el("a", { class: "other open-recording", href: `#/passes/${view.id}/recording` }, isGiven(values.recording) ? "Open another recording" : "Open a recording") : null,
      ...this.drawLead(values), ...this.drawFree(values), this.drawRest(values), late,
    ].filter(Boolean));
    this.drawLate(late, view).catch((error) => late.append(el("p", { class: "error" }, errorInWords(error, "What is compared with it could not be read."))));
  }

  drawDeleted() {
    return el("p", { class: "notice" }, "This one is deleted. ", el("button", { type: "button", onclick: () => this.log.restore(this.id) }, "Restore it"));
  }

  async remove() {
    await this.log.remove(this.id);
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
    return el("dl", { class: "results" }, ...rows.map(([label, words]) => el("div", {}, el("dt", {}, label), el("dd", {}, words))));
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
  async drawLate(box, view) {
    const parts = view.kind === "pass" ? await this.comparisons(view) : [];
    const history = await this.log.history(view.id);
    const { clash, earlier } = drawEarlier(this.app, view, history, {
      bringBack: (field, value) => this.log.edit(view.id, view.kind, field, value), redraw: () => this.draw() });
    box.replaceChildren(...[clash, ...parts, earlier].filter(Boolean));
  }

  async comparisons(view) {
    const passes = passesOf(this.log);
    const build = await buildOf(this.log, view.values);
    this.recording?.stop();
    this.recording = view.values.recording ? new KeptRecording(this.app, this.log, view, build) : null;
    const [earlier, quickest] = [before(view, passes), best(view, passes)];
    return [
      this.drawUnder(view.values, build),
      this.drawCheck(view.values, build),
      drawBadPass(this.app, this.log, view, build),
      this.recording?.element,
      earlier ? await this.drawDifferences("Since the pass before", view, earlier, build) : null,
      !quickest || quickest.id === earlier?.id ? null : await this.drawDifferences(isBest(view, quickest) ? "Against the next best" : "Against the best", view, quickest, build),
    ];
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

  async drawDifferences(heading, view, other, build) {
    const theirs = await buildOf(this.log, other.values);
    const rows = [...differences(this.app, view.values, other.values), ...(build && theirs ? buildDifferences(this.app, build, theirs) : [])];
    const link = el("a", { class: "line-link", href: `#/passes/${other.id}` }, `${title(other)}, ${momentInWords(other.values.when)}${placeOf(other.values) ? `, ${placeOf(other.values)}` : ""}`);
    return el("section", { class: "differences" }, el("h2", {}, heading), link, rows.length
      ? el("dl", { class: "results changes" }, ...rows.map((row) => el("div", {}, el("dt", {}, row.label), el("dd", {}, row.now,
        el("span", { class: "then" }, row.change ? `${row.change} from ${row.then}` : `was ${row.then}`)))))
      : el("p", {}, "No differences."));
  }

  stop() {
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
