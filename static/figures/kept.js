// Figures kept with the car: "kept.spark_plan" of the build holds what was put in, as it was typed, and
// "kept.spark_plan_result" what came out. Earlier ones stay in the build's history and can be loaded or compared.

import { toStore, toTyped } from "../build/sections.js";
import { timeOf } from "../build/store.js";
import { shortMoment } from "../dates.js";
import { el, rebuild } from "../dom.js";
import { progress } from "./ticks.js";

// The figures that belong to a car, for the Build screen: what each says as it was kept.
export function belongings(forms, build, units) {
  return el("ul", { class: "index" }, ...forms.filter((form) => form.keep || form.ticks).map((form) => {
    const words = form.ticks ? `${progress(form, build)} ticked` : keptWords(form, build.values[`${nameOf(form)}_result`], units) ?? "none kept yet";
    return el("li", {}, el("a", { href: `#/figures/${form.name}` }, el("strong", {}, form.title), el("span", {}, words)));
  }));
}

const nameOf = (form) => `kept.${form.name.replaceAll("-", "_")}`;

// "total advance under boost 12.0°", or null.
function keptWords(form, result, units) {
  const told = form.results.find(({ name }) => name === form.lead);
  const lead = result?.[told.name];
  return lead == null ? null : `${(result[told.label_from] ?? told.label).toLowerCase()} ${units.text(told.kind, lead)}`;
}

const MOST_SHOWN = 6;

export class KeptPanel {
  constructor({ calculator, builds, units }) {
    Object.assign(this, { calculator, builds, units, form: calculator.form, view: calculator.view });
    this.name = nameOf(this.form);
    // A plan before is for comparing, and no part of the plan.
    this.before = this.form.fields.find((field) => field.type === "section");
    this.fields = this.form.fields.filter((field) => field.type !== "section" && !this.before?.when?.[field.name]);
    this.error = el("p", { class: "error", hidden: true, role: "alert" });
    this.button = el("button", { type: "button", class: "next", onclick: () => this.keep() }, "Keep with the build");
    this.state = el("p", { role: "status" });
    this.list = el("ul", { class: "kept-list" });
    this.element = el("section", { class: "kept-panel" }, el("h2", {}, "Kept with the build"), this.state, this.button, this.error, this.list);
    this.stops = [builds.onChange(() => this.load()), units.onChange(() => this.draw())];
    calculator.onAnswer = () => this.draw();
    this.entries = [];
    this.load();
  }

  stop() {
    for (const stop of this.stops) stop();
  }

  // Newest first: {inputs, result, at}.
  async load() {
    const build = this.builds.current();
    const history = build ? await this.builds.log.history(build.id) : {};
    const results = history[`${this.name}_result`] ?? [];
    const kept = (history[this.name] ?? []).filter(({ value }) => value !== null).sort((a, b) => (a.at < b.at ? 1 : -1));
    this.build = build;
    this.entries = kept.map(({ value, at, device }) => {
      const mine = results.filter((entry) => entry.device === device && entry.at >= at).sort((a, b) => (a.at < b.at ? -1 : 1));
      return { inputs: value, at, result: mine[0]?.value ?? null };
    });
    this.draw();
  }

  // What the fields say now, to store; null while something is wrong.
  now() {
    const applying = this.fields.filter((field) => this.view.applies(field));
    const read = applying.map((field) => [field.name, toStore(field, this.view.controls.get(field.name))]);
    return read.some(([, { error }]) => error) ? null : Object.fromEntries(read.map(([name, { value }]) => [name, value]));
  }

  async keep() {
    const inputs = this.now();
    if (!inputs || !this.calculator.shown) return;
    try {
      await this.builds.save(this.build.id, { [this.name]: inputs, [`${this.name}_result`]: this.result() });
    } catch (error) {
      this.error.hidden = false;
      this.error.textContent = error.message;
      return;
    }
    this.error.hidden = true;
  }

  // The numbers and words of the answer, and the list that is the answer.
  result() {
    const { results } = this.calculator.shown;
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
    this.button.disabled = !now || same === 0;
    const words = same === 0 ? `This is what ${build.name} has now.` : same > 0 ? `This was kept once; ${build.name} has another now.` : `Not kept with ${build.name} yet.`;
    rebuild(this.state, words, () => [words]);
    rebuild(this.list, [entries.slice(0, MOST_SHOWN), same, this.units.system, this.units.chosen], () => entries.slice(0, MOST_SHOWN).map((entry, i) => this.line(entry, i, same)));
  }

  line(entry, i, same) {
    const when = shortMoment(timeOf(entry.at));
    const words = keptWords(this.form, entry.result, this.units);
    const button = (label, act) => el("button", { type: "button", "aria-label": `${label}: ${when}`, onclick: act }, label);
    return el("li", {}, el("p", {}, el("strong", {}, when), i === 0 ? " (in the car)" : "", words && `: ${words}`),
      el("p", { class: "start" }, i === same ? el("span", {}, "shown above") : button("Load", () => this.show(entry)),
        this.before && i !== same ? button("Compare", () => this.compare(entry)) : null));
  }

  show({ inputs }) {
    this.view.setTyped(this.asTyped(this.fields, inputs));
  }

  // The kept one becomes the plan before.
  compare({ inputs }) {
    const [flag] = Object.keys(this.before.when);
    this.view.controls.get(flag).setTyped(true);
    this.view.controls.get(this.before.name).setTyped(this.asTyped(this.before.fields, inputs));
    this.view.onChange();
  }

  asTyped(fields, inputs) {
    return Object.fromEntries(fields.map((field) => [field.name, toTyped(field, inputs[field.name])]));
  }
}

// The same numbers, however they were typed.
function alike(a, b) {
  if (a === null || b === null || typeof a !== "object" || typeof b !== "object") return a === b;
  if ("si" in a && "si" in b) return Math.abs(a.si - b.si) <= 1e-9 * Math.max(Math.abs(a.si), Math.abs(b.si));
  const keys = [...new Set([...Object.keys(a), ...Object.keys(b)])];
  return keys.every((key) => alike(a[key] ?? null, b[key] ?? null));
}
