// A logger's file opened in a pass: picked, read, looked at, taken into the pass, kept with it.

import { breathe, oneByOne, shown } from "../core/breath.js";
import { el, say } from "../core/dom.js";
import { AgainstPicture } from "../recording/against.js";
import { guess, isUnit, openQuestions, recallColumns, rememberColumns, roleNamed } from "../recording/columns.js";
import { findAll, runsIn, stretchOf } from "../recording/finds.js";
import { airDoubt, ColumnPicker, complete } from "../recording/pick.js";
import { TimePicture } from "../recording/picture.js";
import { readColumns } from "../recording/read.js";
import { drawNet, drawRest } from "../recording/said.js";
import { shapeOf } from "../recording/table.js";
import { readHead, Unread } from "../recording/text.js";
import { plain } from "../core/compute.js";
import { cardOf } from "./check.js";
import { buildOf } from "./compare.js";
import { workOut } from "./air.js";
import { FILLS, fillFrom, keptFrom } from "./kept.js";
import { title } from "./told.js";
import { numberOf } from "./values.js";

const MOST_BYTES = 52_428_800; // 50 MB

export class RecordingScreen {
  constructor(app, { log }, view) {
    Object.assign(this, { app, log, id: view.id });
    this.stops = [];
    this.input = el("input", { type: "file", hidden: true, "aria-label": "A recording", accept: ".csv,.txt,.tsv,.log,.dat,.asc,text/*", onchange: () => this.open(this.input.files[0]) });
    this.box = el("div");
    this.element = el("article", { class: "recording-screen" }, el("p", { class: "back" }, el("a", { href: `#/passes/${view.id}` }, title(view))),
      el("h1", { tabindex: "-1" }, "A recording"), this.input, this.box);
    this.drawStart();
  }

  get values() {
    return this.log.get(this.id).values;
  }

  drawStart(wrong = null) {
    this.clear();
    this.box.replaceChildren(...[
      el("p", {}, "Open the file that your logger saved as text: a line a sample, columns parted by comma, semicolon or tab. It is read on this device and needs no signal."),
      wrong ? el("p", { class: "error" }, wrong) : null, el("button", { type: "button", class: "next", onclick: () => this.input.click() }, "Choose the file")].filter(Boolean));
  }

  async open(file) {
    this.input.value = "";
    if (!file) return;
    if (file.size > MOST_BYTES) return this.drawStart("This file is larger than 50 MB. Save a shorter piece of it in the logger's program.");
    this.file = file;
    let head;
    let shape;
    try {
      head = await readHead(file);
      await breathe();
      shape = await shapeOf(head.lines, (cell) => isUnit(this.app.units, cell));
    } catch (error) {
      return this.file === file && this.fail(error);
    }
    if (this.file !== file) return; // another one was chosen, or the screen was left
    Object.assign(this, { head, shape });
    const known = recallColumns(this.shape.key);
    const air = known && this.ambientFor(known);
    if (known && openQuestions(known).length === 0 && air !== null && !airDoubt(this.app.units, this.shape, known, air)) return this.read(known, air);
    const picked = known ?? await this.guessed();
    await breathe();
    if (this.file === file) this.drawPicker(picked);
  }

  fail(error) {
    this.drawStart(error instanceof Unread ? error.message : "The file could not be read from this phone. Copy it to the phone's own storage and choose it again.");
  }

  // What the heading, the numbers and the car say.
  async guessed() {
    await breathe();
    const picked = guess(this.app.units, this.shape);
    for (const [name, one] of Object.entries(picked)) {
      await breathe();
      picked[name] = complete(this.app.units, this.shape, roleNamed(name), one);
    }
    return picked;
  }

  // The air's pressure where it is needed; false where it is not, null where nobody gave it.
  ambientFor(picked) {
    if (!["boost", "fuel"].some((name) => picked[name]?.reading === "absolute")) return false;
    return workOut(this.app, this.values)?.station_pressure ?? null;
  }

  drawPicker(picked) {
    this.clear();
    const ratios = { ...this.app.records.pass.meter_ratios };
    const own = numberOf(this.values.meter_ratio);
    if (own) ratios["its own"] = own;
    const picker = new ColumnPicker(this.app.units, { shape: this.shape, picked, ratios, ambient: workOut(this.app, this.values)?.station_pressure ?? null,
      onRead: (now, ambient) => {
        rememberColumns(this.shape.key, now);
        this.read(now, ambient ?? false);
      } });
    this.box.replaceChildren(el("p", { class: "intro" }, `${this.file.name}, ${this.shape.names.length} columns.`), picker.element);
    shown().then(() => this.focus(picker.element.querySelector("h2")));
  }

  async read(picked, ambient) {
    this.picked = picked;
    this.ambient = ambient === false ? null : ambient;
    const stop = new AbortController();
    const bar = el("progress", { max: 1, value: 0, "aria-label": "Read so far" });
    const share = el("p", { class: "help", role: "status" }, "Reading…");
    this.clear();
    this.box.replaceChildren(el("p", { class: "intro" }, this.file.name), bar, share, el("button", { type: "button", onclick: () => stop.abort() }, "Stop"));
    this.stops.push(() => stop.abort());
    try {
      this.recording = await readColumns(this.file, { head: this.head, shape: this.shape, picked, ambient: this.ambient, units: this.app.units, signal: stop.signal,
        onPart: (part) => {
          bar.value = part;
          say(share, `${Math.round(part * 10) * 10} % read`);
        } });
    } catch (error) {
      if (error.name === "AbortError") return this.drawStart("Stopped: nothing of the file was taken.");
      return this.fail(error);
    }
    const { time, boost } = this.recording.columns;
    // The stretches under boost, the longest first.
    this.runs = (await runsIn(time, boost)).sort((a, b) => b.length - a.length);
    await this.lookAt(this.runs[0] ?? null);
  }

  async lookAt(run) {
    const { time } = this.recording.columns;
    this.stretch = run ? { start: run.start, end: run.end } : { start: time[0], end: time[time.length - 1] };
    const turn = this.turn = {};
    await breathe();
    const { columns, samples, taken } = stretchOf(this.recording.columns, this.stretch.start, this.stretch.end);
    const peak = columns.boost.reduce((most, value) => Math.max(most, value), 0);
    this.tapped = this.picked.fuel.tapped;
    const build = await buildOf(this.log, this.values);
    await breathe();
    this.card = cardOf(this.app, this.values, build, peak, this.tapped);
    const finds = await findAll(columns, this.card);
    await breathe();
    if (turn !== this.turn || !this.element.isConnected) return;
    this.seen = { columns, samples, taken, finds };
    await this.drawFound();
  }

  async drawFound() {
    this.clear();
    const { finds, columns } = this.seen;
    const { units } = this.app;
    const over = new TimePicture(units, { onStretch: ({ from, to }) => this.lookAt({ start: from, end: to }) });
    const against = new AgainstPicture(units);
    this.stops.push(() => over.stop(), () => against.stop(), units.onChange(() => this.drawFound()));
    const { turn } = this;
    this.done = el("div", { class: "recording-done" });
    const [stretch, rest] = [el("div"), el("div")];
    this.box.replaceChildren(el("p", { class: "intro" }, this.fileInWords()), ...this.recording.wrong.map((words) => el("p", { class: "notice" }, words)), stretch, this.done,
      drawNet(units, finds.net), rest);
    let net;
    // The answer is there first; what can be done with it, the rest and the pictures follow one by one.
    await oneByOne([
      shown,
      () => this.focus(this.element.querySelector("h1")),
      () => {
        stretch.replaceChildren(...[this.drawRuns()].filter(Boolean));
        this.drawDone();
      },
      () => rest.replaceWith(over.element, against.element, ...drawRest(units, finds), el("div", { class: "passes-next" },
        el("button", { type: "button", onclick: () => this.drawPicker(this.picked) }, "Change the columns"), el("button", { type: "button", onclick: () => this.input.click() }, "Another file"))),
      shown,
      () => { net = plain("recording", "net_of", { ...columns, drops: this.card.drops }); },
      () => over.show({ columns, net, card: this.card.card, under: finds.net.results?.under ?? [] }),
      () => against.show({ columns, card: this.card.card, line: finds.line?.results ?? null }),
    ], () => turn === this.turn);
  }

  fileInWords() {
    const { samples, kept } = this.recording;
    const thinned = kept < samples ? `, of which ${kept} are held here, the least and largest of each stretch among them` : "";
    return `${this.file.name}: ${samples} samples${thinned}. Looked at: ${this.seen.samples}${this.seen.taken < this.seen.samples ? `, thinned to ${this.seen.taken}` : ""}.`;
  }

  // Which pull of the file is looked at.
  drawRuns() {
    const { runs } = this;
    const { units } = this.app;
    const { time } = this.recording.columns;
    const whole = { start: time[0], end: time[time.length - 1] };
    const all = [...runs, ...(runs.length === 1 && runs[0].start === whole.start && runs[0].end === whole.end ? [] : [whole])];
    const place = all.findIndex(({ start, end }) => start === this.stretch.start && end === this.stretch.end);
    if (all.length < 2) return null;
    const words = (run) => (run === whole ? "The whole file" : `From ${units.text("logged_time", run.start)}: ${units.text("gauge_pressure", run.peak)}`);
    const select = el("select", { onchange: () => this.lookAt(all[select.value]) }, ...all.map((run, i) => el("option", { value: i }, words(run))), place < 0 ? el("option", { value: -1 }, "The stretch picked below") : null);
    select.value = String(place);
    return el("label", { class: "pick-one" }, el("span", {}, "Stretch"), select);
  }

  drawDone(words = null) {
    if (this.seen.finds.net.errors) return this.done.replaceChildren();
    const names = FILLS.filter(({ from }) => this.seen.finds.net.results[from] !== null).map(({ words: told }) => told);
    const undo = this.before && el("button", { type: "button", onclick: () => this.undo() }, "Undo");
    this.done.replaceChildren(
      el("button", { type: "button", class: "next", onclick: (event) => this.fill(event.target) }, "Fill the pass and keep the recording"),
      el("p", { class: "help" }, `Fills ${names.join(", ")}; a thinned copy of the recording stays with the pass.`), el("p", { role: "status" }, words ?? ""), undo ?? "");
  }

  // One touch fills the pass and keeps the recording; one more takes both back.
  async fill(button) {
    button.disabled = true; // until it is drawn anew: once more meanwhile would keep the recording twice
    const { finds, columns, samples } = this.seen;
    const found = { ...fillFrom(this.app, finds.net.results), recording: await keptFrom({ file: this.file.name, samples, tapped: this.tapped, columns, finds }) };
    // The log keeps every value that it was given: the same recording once more would only make it longer.
    const values = Object.fromEntries(Object.entries(found).filter(([name, value]) => JSON.stringify(value) !== JSON.stringify(this.values[name] ?? null)));
    if (!Object.keys(values).length) return this.drawDone("Filled and kept on this device.");
    this.before = Object.fromEntries(Object.keys(values).map((name) => [name, this.values[name] ?? null]));
    await this.log.save(this.id, "pass", values);
    this.drawDone("Filled and kept on this device.");
  }

  async undo() {
    await this.log.save(this.id, "pass", this.before);
    this.before = null;
    this.drawDone("As it was before.");
  }

  focus(element) {
    if (!element.isConnected) return; // the screen was left meanwhile
    element.tabIndex = -1;
    element.focus({ preventScroll: true });
    window.scrollTo(0, 0);
  }

  clear() {
    for (const stop of this.stops.splice(0)) stop();
  }

  stop() {
    this.turn = null;
    this.file = null;
    this.clear();
  }
}
