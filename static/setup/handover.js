// One car handed over: as a file, by the phone's own way of sharing, or as a code for the other phone's camera; and one taken in.
// A file is a backup with this car alone, so what is taken in is merged as in the log: nothing is replaced silently. A code
// carries the values as they stand, and becomes a car of its own. None of it needs the machine at home.

import { el, newId, say, svg } from "../core/dom.js";
import { inWords as errorInWords } from "../core/told.js";
import { checkForm } from "../car/sections.js";
import { freeName } from "../car/store.js";
import { readEdit } from "../log/edit.js";
import { codeOf, outline } from "./code.js";
import { packed, unpacked } from "./packed.js";
import { shapes } from "./shapes.js";
import { offerUndo } from "../core/undo.js";
import { asItIs, putBack } from "./putback.js";

const KIND = "application/json";
const SHARED = "text/plain"; // browsers share text, but no JSON (MDN, Navigator.share, shareable file types)
const LOOPBACK = /^(localhost|127\.|\[::1\])/;
const DEVICES_OWN = ["in_use", "reason"];
const PLACE = "#/build/hand";
const EDGE = 4; // dots of white around a code

export class HandOver {
  // `rest`: of a code that was opened, its values.
  constructor({ app, builds, rest: [code] }) {
    Object.assign(this, { app, builds });
    this.told = el("p", { role: "status" });
    this.use = el("div");
    this.file = el("input", { type: "file", accept: ".json,.txt,application/json,text/plain", hidden: true, "aria-label": "A car's file", onchange: () => this.open() });
    this.address = el("input", { id: newId("address"), type: "text", inputmode: "url", autocomplete: "off", spellcheck: "false" });
    this.out = el("section");
    this.came = el("section");
    this.element = el("div", { class: "hand-over" }, this.came, this.out,
      el("section", {}, el("h2", {}, "Take one in"), el("p", {}, "Open the file that another phone handed over. The car is added to yours. If it is here already, newer values count and the earlier ones are kept under Changes."),
        el("button", { type: "button", onclick: () => this.file.click() }, "Open a car's file"), this.file,
        el("div", { class: "field" }, el("label", { class: "label", for: this.address.id }, "Or paste the address that a code holds"), this.address),
        el("p", { class: "start" }, el("button", { type: "button", onclick: () => this.paste() }, "Open the address")), this.told, this.use));
    this.off = builds.onChange(() => this.draw());
    this.draw();
    if (code) this.readCode(code);
  }

  draw() {
    const build = this.builds.current();
    if (build?.id === this.drawn) return;
    this.drawn = build?.id;
    if (!build) return this.out.replaceChildren();
    this.done = el("p", { role: "status" });
    this.code = el("figure", { class: "code" });
    this.out.replaceChildren(el("h2", {}, `Hand over ${build.name}`), el("p", {}, "This car alone, with its earlier values: no pass, no note, no other car."),
      el("div", { class: "start" }, sharesFiles() ? el("button", { type: "button", class: "next", onclick: () => this.share(build) }, "Share it") : null,
        el("button", { type: "button", onclick: () => this.save(build) }, "Save as a file"), el("button", { type: "button", onclick: () => this.show(build) }, "Show a code")), this.done, this.code);
  }

  // Out

  async fileOf(build, ending, type) {
    const name = build.name.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "").slice(0, 40) || "car";
    return new File([await this.builds.log.exportText(build.id)], `overbowl-car-${name}.${ending}`, { type });
  }

  async share(build) {
    say(this.done, "");
    try {
      await navigator.share({ files: [await this.fileOf(build, "txt", SHARED)], title: build.name });
      say(this.done, "Handed on.");
    } catch (error) {
      if (error.name !== "AbortError") say(this.done, "This phone would not share it. Save it as a file instead.");
    }
  }

  async save(build) {
    const file = await this.fileOf(build, "json", KIND);
    const address = URL.createObjectURL(file);
    el("a", { href: address, download: file.name }).click();
    setTimeout(() => URL.revokeObjectURL(address), 60_000);
    say(this.done, `Saved: ${file.name}. Send it by whatever carries files.`);
  }

  async show(build) {
    this.code.replaceChildren();
    say(this.done, "");
    if (LOOPBACK.test(location.hostname)) return say(this.done, "A code needs an address that the other phone reaches: open this page over the network, or hand over the file.");
    const values = Object.fromEntries(Object.entries(build.values).filter(([name, value]) => value !== null && !DEVICES_OWN.includes(name)));
    const digits = await packed(values, checkForm(this.app), this.app.units).catch(() => null);
    if (!digits) return say(this.done, "This browser makes no codes. Hand over the file instead.");
    const rows = codeOf(`${location.origin}/${PLACE}/`, digits);
    if (!rows) return say(this.done, "This is too much for a code that a phone can read from a screen. Hand over the file instead.");
    say(this.done, "Point the other phone's camera at it. If this page does not open there, copy the address that the camera shows, and paste it there under “Take one in”.");
    const size = rows.length + 2 * EDGE;
    this.code.replaceChildren(svg("svg", { viewBox: `${-EDGE} ${-EDGE} ${size} ${size}`, role: "img", "aria-label": `A code with ${build.name}` },
      svg("path", { d: `M${-EDGE} ${-EDGE}h${size}v${size}h-${size}z`, fill: "#fff" }), svg("path", { d: outline(rows), fill: "#000" })));
    this.code.scrollIntoView({ block: "nearest" });
  }

  // In

  async open() {
    const [file] = this.file.files;
    if (!file) return;
    try {
      const text = await file.text();
      say(this.told, await this.takeIn(text));
    } catch (error) {
      say(this.told, errorInWords(error, "This file could not be read."));
    }
    this.file.value = "";
  }

  async takeIn(text) {
    const cars = carsIn(text);
    if (cars === null) return "This is a backup with more than cars: restore it in Settings.";
    const { log } = this.builds;
    const before = new Set(cars.filter((id) => log.get(id)));
    const all = asItIs(log);
    const { added, left } = await log.importText(text, shapes(this.app));
    if (added) offerUndo("The car is taken in.", () => { say(this.told, ""); this.use.replaceChildren(); return putBack(log, all); });
    this.offer(cars);
    const names = cars.map((id) => this.builds.get(id)?.name ?? "a car that was put away").join(", ");
    const lost = left.length ? ` ${left.length} values could not be read and were left out.` : "";
    if (!before.size) return `Added: ${names}.${lost}`;
    return `${names} was here already. ${added ? `${added} values were new here; the newest of each counts, and the earlier ones are kept under Changes.` : "Nothing in the file is new."}${lost}`;
  }

  // The car in use stays the car in use until the user says otherwise.
  offer(ids) {
    const others = ids.map((id) => this.builds.get(id)).filter((build) => build && build.id !== this.builds.current()?.id);
    this.use.replaceChildren(...others.map((build) => el("button", { type: "button", class: "next", onclick: () => { this.builds.setCurrent(build.id); this.use.replaceChildren(); } }, `Use ${build.name} now`)));
  }

  // An address as another phone's camera shows it, whatever machine it names.
  paste() {
    const [, code] = /\/build\/hand\/(\d+)\s*$/.exec(this.address.value) ?? [];
    if (!code) return say(this.told, "This is no address of a car's code: it ends in /build/hand/ and many digits.");
    this.address.value = "";
    this.readCode(code);
  }

  readCode(code) {
    say(this.told, "");
    this.read(code).then(() => this.came.scrollIntoView({ block: "nearest" }), () => say(this.told, "This code is not whole. Read it once more, or hand over a file."));
  }

  // A code's values, shown before they are added.
  async read(code) {
    const why = shapes(this.app);
    const all = Object.entries(await unpacked(code, checkForm(this.app), this.app.units));
    const values = Object.fromEntries(all.filter(([field, value]) => !why(readEdit({ record: "car", kind: "build", field, value })) && !DEVICES_OWN.includes(field)));
    const name = freeName(typeof values.name === "string" && values.name ? values.name : "A car", this.builds.list());
    const add = el("button", { type: "button", class: "next", onclick: async () => {
      add.disabled = true;
      const inUse = this.builds.current();
      const id = await this.builds.log.create("build", { ...values, name });
      if (!inUse) this.builds.setCurrent(id);
      say(this.told, `Added: ${name}.`);
      offerUndo(`${name} is added.`, () => { say(this.told, ""); this.use.replaceChildren(); return this.builds.discard(id, inUse?.id); });
      this.offer([id]);
      this.came.replaceChildren();
      history.replaceState(history.state, "", PLACE);
    } }, `Add ${name}`);
    this.came.replaceChildren(el("h2", {}, "A car by code"), el("p", {}, el("bdi", {}, name), `: ${Object.keys(values).length} values. It is added to your cars and replaces none.`), add);
  }

  stop() {
    this.off();
  }
}

const sharesFiles = () => Boolean(navigator.share && navigator.canShare?.({ files: [new File(["car"], "car.txt", { type: SHARED })] }));

// The ids of the cars of a file; null where it holds anything else. What is no backup at all, the log says.
function carsIn(text) {
  try {
    const { records } = JSON.parse(text);
    return records.every(({ kind }) => kind === "build") ? records.map(({ id }) => id) : null;
  } catch {
    return [];
  }
}
