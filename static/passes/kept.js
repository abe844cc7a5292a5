// What of a recording stays with its pass: the numbers that it fills, a thinned copy, and both shown again.

import { breathe, oneByOne, shown } from "../core/breath.js";
import { plain } from "../core/compute.js";
import { el } from "../core/dom.js";
import { onThisDevice } from "../core/lastanswer.js";
import { bytesOf } from "../log/edit.js";
import { AgainstPicture } from "../recording/against.js";
import { drawNet, drawRest } from "../recording/said.js";
import { TimePicture } from "../recording/picture.js";
import { cardOf } from "./check.js";
import { passesOf, title } from "./told.js";
import { momentInWords } from "./values.js";

const THROUGH = "through-a-pass";
const MOST_BYTES = 7600; // a value of the log may have 8192
const FIRST_BUCKETS = 160;
const FEWER = 0.8;
const LONGEST_NAME = 60;
const DIGITS = 6;

// The pass's field, what of the finds fills it, and what it is called.
export const FILLS = [
  { field: "boost", from: "peak_boost", kind: "gauge_pressure", words: "peak boost" },
  { field: "fuel_pressure", from: "peak_fuel", kind: "gauge_pressure", words: "fuel pressure at that moment" },
  { field: "least_net", from: "least_net", kind: "pressure_difference", words: "the least over the bowls" },
  { field: "lambda_value", from: "peak_mixture", kind: "ratio", words: "lambda" },
];

export function fillFrom(app, found) {
  const values = {};
  for (const { field, from, kind } of FILLS) {
    if (found[from] === null) continue;
    const unit = app.units.of(kind);
    const text = app.units.figures(kind, found[from]);
    values[field] = { si: app.units.read(kind, text, unit).si, text, unit: unit.name };
  }
  if ("lambda_value" in values) values.reading_given = "lambda";
  return values;
}

// A recording as the log holds it, small enough for one value.
export async function keptFrom({ file, samples, tapped, columns, finds }) {
  const found = Object.fromEntries(Object.entries(finds).map(([part, { results = {}, notes = [] }]) => [part, { ...roundedNumbers(results), notes }]));
  for (let buckets = FIRST_BUCKETS; ; buckets = Math.floor(buckets * FEWER)) {
    await breathe();
    const places = plain("recording", "thin", [columns.fuel, columns.boost], 0, columns.time.length, buckets);
    const value = { file: file.slice(0, LONGEST_NAME), samples, tapped, columns: plain("recording", "pack", { columns, places }), found };
    if (bytesOf(JSON.stringify(value)) <= MOST_BYTES || buckets < 2) return value;
  }
}

// The rows of `under` are found again from the samples.
function roundedNumbers(results) {
  return Object.fromEntries(Object.entries(results).filter(([name]) => name !== "under").map(([name, value]) => [name, typeof value === "number" ? Number(value.toPrecision(DIGITS)) : value]));
}

// The log may hold anything.
function isKept(value) {
  const columns = value?.columns;
  if (typeof columns !== "object" || columns === null || typeof value.file !== "string") return false;
  return ["time", "boost", "fuel"].every((name) => columns[name]) && Object.values(columns).every((column) => Array.isArray(column?.values) && typeof column.step === "number");
}

// The columns of a kept recording, or null where it is not one.
export function columnsOf(value) {
  if (!isKept(value)) return null;
  const columns = plain("recording", "unpack", value.columns);
  const count = columns.time.length;
  return count > 1 && Object.values(columns).every((column) => column.length === count && column.every(Number.isFinite)) ? columns : null;
}

// The kept recording of a pass, drawn; another pass's can be laid over it.
export class KeptRecording {
  constructor(app, log, view, build) {
    Object.assign(this, { app, log, view, build });
    this.value = view.values.recording;
    this.columns = columnsOf(this.value);
    this.finds = Object.fromEntries(Object.entries(this.value.found ?? {}).map(([part, { notes, ...results }]) => [part, { results, notes }]));
    this.box = el("div");
    this.over = new TimePicture(app.units);
    this.against = new AgainstPicture(app.units);
    const others = passesOf(log).filter(({ id, values }) => id !== view.id && isKept(values.recording));
    this.select = el("select", { onchange: () => this.draw() }, el("option", { value: "" }, "no other pass"),
      ...others.map((other) => el("option", { value: other.id }, `${title(other)}, ${momentInWords(other.values.when)}`)));
    this.element = el("section", { class: "kept-recording" }, el("h2", {}, "The recording"), this.box);
    this.draw();
  }

  draw() {
    const { app, value, columns } = this;
    if (!columns) return this.box.replaceChildren(el("p", { class: "error" }, "What is kept here is no recording that this page can show."));
    const peak = columns.boost.reduce((most, boost) => Math.max(most, boost), 0);
    const turn = this.turn = {};
    let gauge;
    let told;
    let other;
    oneByOne([
      () => { gauge = cardOf(app, this.view.values, this.build, peak, value.tapped); },
      () => this.drawAround(),
      shown,
      () => {
        const { card, drops } = gauge;
        told = { columns, card, net: plain("recording", "net_of", { ...columns, drops }), under: card.length ? plain("recording", "under_card", { ...columns, card }) : [] };
        other = this.other();
      },
      () => this.over.show(told, other),
      () => this.against.show({ columns, card: told.card, line: this.finds.line?.results ?? null }, other),
    ], () => turn === this.turn);
  }

  // What stands about the pictures.
  drawAround() {
    const { app, value, columns, finds } = this;
    const words = el("p", { class: "intro" }, `${value.file}: ${columns.time.length} of ${value.samples} samples are kept, the least and largest of each stretch among them.`);
    const lay = this.select.options.length > 1 ? el("label", { class: "pick-one" }, el("span", {}, "Lay over it"), this.select) : null;
    const through = el("p", {}, el("a", { class: "plain-link", href: `#/figures/${THROUGH}`, onclick: () => this.askThrough() }, "How full the bowls stay through this recording"));
    this.box.replaceChildren(...[words, through, lay, this.over.element, this.against.element,
      finds.net && el("details", { class: "unfolding" }, el("summary", {}, "What it says"), drawNet(app.units, finds.net), ...drawRest(app.units, finds))].filter(Boolean));
  }

  // The figure opens on what was recorded, as though it had been typed there.
  askThrough() {
    const form = this.app.forms.find(({ name }) => name === THROUGH);
    const speed = this.build?.values["engine.speed"]?.si ?? form.fields.find(({ name }) => name === "top_speed").assumed;
    const { start, keep } = onThisDevice(form);
    keep({ ...start, told: "table", ...plain("transient", "as_recorded", { columns: this.columns, speed }) });
  }

  other() {
    const view = this.select.value && this.log.get(this.select.value);
    const columns = view && columnsOf(view.values.recording);
    return columns ? { columns, net: plain("recording", "net_of", { ...columns, drops: [] }), name: title(view) } : null;
  }

  stop() {
    this.turn = null;
    this.over.stop();
    this.against.stop();
  }
}
