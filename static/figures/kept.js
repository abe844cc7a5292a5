// Figures kept with the car: "kept.spark_plan" of the build holds what was put in, as it was typed, and
// "kept.spark_plan_result" what came out. Earlier ones stay in the build's history and can be loaded or compared.

import { toStored, toTyped } from "../form/stored.js";
import { timeOf } from "../car/store.js";
import { shortMoment } from "../core/dates.js";
import { el, rebuild } from "../core/dom.js";
import { inWords } from "../core/told.js";
import { keptWords, nameOf } from "../car/kept.js";
import { saveWithUndo } from "../core/undo.js";

const MOST_SHOWN = 6;

export class KeptPanel {
  constructor({ calculator, builds, units }) {
    Object.assign(this, { calculator, builds, units, form: calculator.form, view: calculator.view });
    this.name = nameOf(this.form);
    // A plan before is for comparing, and no part of the plan.
    this.before = this.form.fields.find((field) => field.type === "section");
    this.fields = this.form.fields.filter((field) => field.type !== "section" && !this.before?.when?.[field.name]);
    this.error = el("p", { class: "error", hidden: true, role: "alert" });
    this.button = el("button", { type: "button", class: "next", onclick: () => this.keep() }, "Keep in the car");
    this.state = el("p", { role: "status" });
    this.list = el("ul", { class: "kept-list" });
    this.element = el("section", { class: "kept-panel" }, el("h2", {}, "Kept in the car"), this.state, this.button, this.error, this.list);
    this.stops = [builds.onChange(() => this.load()), units.onChange(() => this.draw())];
    calculator.onAnswer = () => this.draw();
    this.entries = [];
    this.load();
  }

  stop() {
    this.turn = null;
    for (const stop of this.stops) stop();
  }

  // Newest first: {inputs, result, at}.
  async load() {
    const turn = this.turn = {};
    const build = this.builds.current();
    const history = build ? await this.builds.log.history(build.id) : {};
    if (turn !== this.turn) return; // changed again, or left, while the history came
    const results = history[`${this.name}_result`] ?? [];
    const kept = (history[this.name] ?? []).filter(({ value }) => value !== null).sort((a, b) => (a.at < b.at ? 1 : -1));
    this.build = build;
    const all = kept.map(({ value, at, device }) => {
      const mine = results.filter((entry) => entry.device === device && entry.at >= at).sort((a, b) => (a.at < b.at ? -1 : 1));
      return { inputs: value, at, result: mine[0]?.value ?? null };
    });
    // What was kept twice is told once.
    this.entries = all.filter(({ inputs }, i) => !all.slice(0, i).some((newer) => alike(newer.inputs, inputs)));
    this.inCar = this.entries.findIndex(({ inputs }) => alike(inputs, build.values[this.name] ?? null));
    this.draw();
  }

  // What was typed or kept before, to store; null while something is wrong or nothing is anybody's. What the car says elsewhere
  // and what only is an example is no part of it.
  now() {
    const { tried } = this.calculator;
    const applying = this.fields.filter((field) => this.view.applies(field) && tried.isSaid(field.name));
    if (!applying.length) return null;
    const typed = this.view.typed();
    const read = applying.map((field) => [field.name, toStored(field, typed[field.name], this.units, this.view.said)]);
    return read.some(([, { error }]) => error) ? null : Object.fromEntries(read.map(([name, { value }]) => [name, value]));
  }

  async keep() {
    const answer = await this.calculator.current();
    const inputs = this.now();
    if (!inputs || !answer) return;
    try {
      const { id, name, values } = this.build;
      await saveWithUndo(values, { [this.name]: inputs, [`${this.name}_result`]: this.result(answer) }, (all) => this.builds.save(id, all), `Kept in ${name}.`);
    } catch (error) {
      this.error.hidden = false;
      this.error.textContent = inWords(error, "This could not be kept on this device.");
      return;
    }
    this.error.hidden = true;
  }

  // The numbers and words of the answer, and the list that is the answer; nothing of an example.
  result({ example, results }) {
    if (example) return null;
    const told = this.form.results.filter(({ type, shown }) => ["quantity", "word"].includes(type) || shown);
    return Object.fromEntries(told.map(({ name }) => [name, results[name] ?? null]));
  }

  draw() {
    const { build, entries } = this;
    this.button.hidden = !build;
    if (!build) {
      rebuild(this.state, "no car", () => ["There is no car to keep it with yet. ", el("a", { class: "in-line", href: "#/build" }, "Begin a car")]);
      return this.list.replaceChildren();
    }
    const now = this.now();
    const same = entries.findIndex(({ inputs }) => now && alike(inputs, now));
    this.button.disabled = !now || (same >= 0 && same === this.inCar);
    const words = same >= 0 && same === this.inCar ? `This is what ${build.name} has now.` : same >= 0 ? `This was kept once; ${build.name} has ${this.inCar < 0 ? "none" : "another"} now.` : now ? `Not kept in ${build.name} yet.` : "Type your own numbers to keep them.";
    rebuild(this.state, words, () => [words]);
    rebuild(this.list, [entries.slice(0, MOST_SHOWN), same, this.inCar, this.units.system, this.units.chosen], () => entries.slice(0, MOST_SHOWN).map((entry, i) => this.line(entry, i, same)));
  }

  line(entry, i, same) {
    const when = shortMoment(timeOf(entry.at));
    const words = keptWords(this.form, entry.result, this.units);
    const button = (label, act) => el("button", { type: "button", "aria-label": `${label}: ${when}`, onclick: act }, label);
    return el("li", {}, el("p", {}, el("strong", {}, when), i === this.inCar ? " (in the car)" : "", words && `: ${words}`),
      el("p", { class: "start" }, i === same ? el("span", {}, "shown above") : button("Load", () => this.show(entry)),
        this.before && i !== same ? button("Compare", () => this.compare(entry)) : null));
  }

  show({ inputs }) {
    this.calculator.load(this.asTyped(this.fields, inputs));
  }

  // The kept one becomes the plan before.
  compare({ inputs }) {
    const [flag] = Object.keys(this.before.when);
    this.calculator.load({ [flag]: true, [this.before.name]: this.asTyped(this.before.fields, inputs) });
  }

  asTyped(fields, inputs) {
    const typed = fields.map((field) => [field.name, toTyped(field, inputs?.[field.name] ?? inputs?.[field.was], this.units)]);
    return Object.fromEntries(typed.filter(([, one]) => one !== undefined));
  }
}

// The same numbers, however they were typed.
function alike(a, b) {
  if (a === null || b === null || typeof a !== "object" || typeof b !== "object") return a === b;
  if ("si" in a && "si" in b) return Math.abs(a.si - b.si) <= 1e-9 * Math.max(Math.abs(a.si), Math.abs(b.si));
  const keys = [...new Set([...Object.keys(a), ...Object.keys(b)])];
  return keys.every((key) => alike(a[key] ?? null, b[key] ?? null));
}
