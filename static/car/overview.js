// The car at a glance: every section with what is given and what is assumed, and the builds that are kept.

import { el, keepFocus, newId } from "../core/dom.js";
import { belongings } from "./kept.js";
import { todaysAir } from "./air.js";
import { freeName } from "./store.js";
import { HowSure, sureOf } from "./sure.js";
import { fromText, inWords, nameOf, readSection, sectionsOf } from "./sections.js";
import { offerUndo, saveWithUndo } from "../core/undo.js";

const QUICK_ADDRESS = "#/build/quick";
const SHOWN = 3; // values in a section's line
const NEXT = 3; // values to measure next

function exampleValues(form, units) {
  return { name: "Example car", invented: true, ...fromText(form, form.example_car, units) };
}

// A car that is made comes into use; at a touch it goes, and the one before is in use again.
async function createWithUndo(builds, values) {
  const before = builds.current()?.id;
  const id = await builds.create(values);
  offerUndo(`${values.name} is now the car in use.`, () => builds.discard(id, before));
}

// What an empty place offers. `then` is where to go with the build.
export function startButtons({ builds, form, units, example, own }) {
  return el("p", { class: "start" },
    el("button", { type: "button", class: "next", onclick: async () => { await builds.create({ name: "My car" }); location.hash = QUICK_ADDRESS; } }, "Three-minute car"),
    el("button", { type: "button", onclick: async () => { await createWithUndo(builds, exampleValues(form, units)); example(); } }, "Load the invented example car"),
    el("button", { type: "button", onclick: async () => { await builds.create({ name: "My car" }); own(); } }, "Enter my own car"));
}

export class Overview {
  constructor({ form, forms, builds, units, check }) {
    Object.assign(this, { form, forms, builds, units, check });
    this.element = el("div", { class: "overview" });
    this.how = new HowSure({ form, found: () => this.draw() });
    this.stops = [builds.onChange(() => this.draw()), units.onChange(() => this.draw())];
    this.draw();
  }

  stop() {
    for (const stop of this.stops) stop();
    this.how.stop();
  }

  draw() {
    if (this.element.contains(document.activeElement) && document.activeElement.matches("input[type=text]")) return;
    const build = this.builds.current();
    keepFocus(this.element, () => this.element.replaceChildren(...(build ? this.drawBuild(build) : this.drawEmpty())));
  }

  drawEmpty() {
    return [
      el("p", {}, "The car as it stands: engine, pump, lines, regulator, seats. Supply works out from it whether the bowls stay full. "
        + "You need not know everything: blanks are assumed, and marked so."),
      startButtons({ ...this, example: () => this.draw(), own: () => this.draw() }),
      el("ul", { class: "index" }, entry("#/build/hand", "Take in a car", "From a file that another phone handed over.")),
      ...this.drawRemoved(),
    ];
  }

  drawBuild(build) {
    const errors = this.check(build.id);
    const name = el("input", { type: "text", id: newId("name"), value: build.name, autocomplete: "off", maxlength: 60,
      onchange: () => this.rename(build, name.value.trim()), onblur: () => setTimeout(() => this.draw()) });
    return [
      el("div", { class: "field build-name" }, el("label", { for: name.id, class: "label" }, "Name of this car"), name),
      build.invented ? this.inventedLine(build) : null,
      this.drawMeasureNext(build),
      el("ul", { class: "index" }, entry(QUICK_ADDRESS, "Three-minute car", "Six questions, enough for a first verdict.")),
      el("ul", { class: "index sections" }, ...sectionsOf(this.form).map((section) => this.sectionEntry(section, build, errors))),
      el("p", {}, el("a", { class: "next", href: "#/supply" }, "Run the supply check")),
      el("section", {}, el("h2", {}, "Plans and lists of this car"), belongings(this.forms, build, this.units)),
      el("section", {}, el("h2", {}, "Changes"), el("ul", { class: "index" }, entry("#/build/changes", "What was changed, and why", "See old values and restore one."))),
      this.drawKept(build),
      ...this.drawRemoved(),
    ].filter(Boolean);
  }

  // The values whose measuring would make the ceiling surest, each with how.
  drawMeasureNext(build) {
    const told = sureOf(this.how, this.form, build, todaysAir(), this.units);
    if (!told?.measure.length) return null;
    return el("section", { class: "measure-next" }, el("h2", {}, "Measure next"),
      el("p", {}, `What would lift the low end of your ceiling, now ${this.units.text("gauge_pressure", told.ceiling_low ?? 0)}, most:`),
      el("ul", { class: "index" }, ...told.measure.slice(0, NEXT).map((row) => this.measureEntry(row))));
  }

  measureEntry({ name, part, label, known, gain }) {
    const [section, field] = name.split(".");
    const { how } = this.form.spreads.find((told) => told.section === section && told.field === field);
    return el("li", {}, el("a", { href: `#/build/${section}` }, el("span", { class: "entry-head" }, el("strong", {}, `${part}: ${label.toLowerCase()}`),
      el("span", { class: "counts" }, `+${this.units.text("pressure_difference", gain)}`)), el("span", {}, `It is ${known}. ${how}`)));
  }

  inventedLine(build) {
    return el("div", { class: "invented" }, el("p", {}, el("strong", {}, "Invented car."), " Its numbers belong to no real one. Change what you like, or enter your own below."),
      el("button", { type: "button", class: "plain", onclick: () => saveWithUndo(build.values, { invented: false, name: build.name === "Example car" ? "My car" : build.name }, (all) => this.builds.save(build.id, all), "No longer marked as invented.") },
        "These are my own numbers now"));
  }

  sectionEntry(section, build, errors) {
    const { fields } = readSection(section, build.values);
    const given = fields.filter((read) => read.given);
    const missing = fields.filter((read) => read.missing);
    const assumed = fields.filter((read) => !read.given && !read.missing && read.value !== null);
    const wrong = Object.keys(errors).some((name) => name.startsWith(`${section.name}.`));
    const values = given.slice(0, SHOWN).map(({ field }) => `${field.label} ${inWords(field, build.values[nameOf(section, field)], this.units)}`);
    const counts = [given.length && `${given.length} given`, assumed.length && `${assumed.length} assumed`, missing.length && `${missing.length} needed`];
    const line = el("span", { class: "counts" }, given.length || missing.length ? counts.filter(Boolean).join(" · ") : "all assumed");
    return el("li", {}, el("a", { href: `#/build/${section.name}` }, el("span", { class: "entry-head" }, el("strong", {}, section.label), line),
      values.length ? el("span", { class: "values" }, values.join(" · ") + (given.length > SHOWN ? " …" : "")) : null,
      wrong ? el("span", { class: "error" }, "There is an error in this section.") : null));
  }

  drawKept(build) {
    const all = this.builds.list();
    const choose = all.map((one) => {
      const input = el("input", { type: "radio", name: "current-build", onchange: () => this.choose(one, build) });
      input.checked = one.id === build.id;
      return el("label", { class: "option" }, input, el("span", {}, one.name + (one.invented ? " (invented)" : "")));
    });
    const hasExample = all.some((one) => one.invented && one.name === "Example car");
    return el("section", {}, el("h2", {}, "Cars kept"),
      el("div", { class: "options column", role: "radiogroup", "aria-label": "The car in use" }, ...choose),
      el("ul", { class: "index" }, all.length > 1 ? entry("#/build/compare", "Compare two", "Both answers and what differs, side by side.") : null,
        entry("#/build/hand", "Hand over a car", "This car to another phone, by a file or a code; or take one in.")),
      el("p", { class: "start" },
        el("button", { type: "button", onclick: () => createWithUndo(this.builds, { ...build.values, reason: null, name: freeName(`${build.name}, changed`, all) }) }, "Copy this car"),
        el("button", { type: "button", onclick: () => createWithUndo(this.builds, { name: freeName("My car", all) }) }, "New car"),
        hasExample ? null : el("button", { type: "button", onclick: () => createWithUndo(this.builds, exampleValues(this.form, this.units)) }, "The invented example"),
        el("button", { type: "button", class: "plain", onclick: () => this.remove(build) }, "Remove this car")));
  }

  rename(build, name) {
    if (name && name !== build.name) saveWithUndo(build.values, { name }, (all) => this.builds.save(build.id, all), `${build.name} is now called ${name}.`);
  }

  choose({ id, name }, before) {
    this.builds.setCurrent(id);
    offerUndo(`${name} is now the car in use.`, () => this.builds.setCurrent(before.id));
  }

  async remove({ id, name }) {
    await this.builds.remove(id);
    offerUndo(`${name} is removed.`, () => this.bringBack(id));
  }

  async bringBack(id) {
    await this.builds.restore(id);
    this.builds.setCurrent(id);
  }

  drawRemoved() {
    const removed = this.builds.removed();
    if (!removed.length) return [];
    return [el("section", {}, el("h2", {}, "Removed"), el("ul", { class: "put-away" }, ...removed.map((one) => el("li", {},
      el("span", {}, one.name + (one.invented ? " (invented)" : "")),
      el("button", { type: "button", "aria-label": `Bring back ${one.name}`, onclick: () => this.bringBack(one.id) }, "Bring back")))))];
  }
}

function entry(href, title, text) {
  return el("li", {}, el("a", { href }, el("strong", {}, title), el("span", {}, text)));
}
