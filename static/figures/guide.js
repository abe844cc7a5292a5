// After a bad pass: what was seen, the checks in order, and what each figure says with the build's own numbers in it.

import { stateShape } from "../answer/answer.js";
import { checkForm } from "../car/sections.js";
import { run } from "../core/compute.js";
import { el } from "../core/dom.js";
import { FormView } from "../form/form.js";
import { read } from "../form/read.js";
import { asTyped } from "../form/stored.js";
import { KEYS, recall, remember } from "../core/memory.js";
import { todaysAir } from "../car/air.js";
import { checkPoint, gather, keepSetting, settingOf } from "../car/check.js";
import { BuildNumbers } from "./frombuild.js";
import { ticksOf } from "../car/ticks.js";

// What was changed in a figure opened from here; the build itself is changed on the Build screen.
const changes = new Map();

export class Guide {
  constructor({ app, form, builds, at }) {
    Object.assign(this, { app, form, builds, units: app.units });
    this.view = new FormView({ fields: form.fields, units: app.units, typed: recall(KEYS.form(form.name), {}), changed: () => {
      remember(KEYS.form(form.name), this.view.typed());
      this.draw();
    } });
    this.first = el("p", { class: "first-note" });
    this.which = el("p", {});
    this.list = el("ol", { class: "checks" });
    this.rest = el("div", { class: "more-notes" });
    this.element = el("article", { class: "guide" }, el("h1", { tabindex: "-1" }, form.title), el("p", { class: "intro" }, form.intro), this.view.element,
      this.first, this.which, this.list, this.rest, el("p", { class: "source" }, form.source));
    this.stops = [app.units.onChange(() => this.draw()), builds?.onChange(() => this.draw())];
    this.draw();
    if (at) requestAnimationFrame(() => this.list.children[at - 1]?.scrollIntoView({ block: "center" }));
  }

  stop() {
    clearTimeout(this.timer);
    for (const stop of this.stops) stop?.();
  }

  draw() {
    const { inputs } = this.view.read();
    const build = this.builds?.current() ?? null;
    const key = JSON.stringify([inputs, build, this.units.system, this.units.chosen]);
    if (key === this.drawn) return;
    this.drawn = key;
    const { results, notes } = run(this.form, inputs);
    const numbers = build && new BuildNumbers(this.app, build);
    this.first.textContent = notes[0];
    this.which.replaceChildren(...this.fillWords(build, numbers));
    const links = results.checks.map((row) => (row.opens ? this.link(inputs.seen, row, build) : null));
    this.list.replaceChildren(...results.checks.map((row, i) => el("li", {}, el("strong", {}, row.look), el("p", {}, row.why), links[i])));
    this.fill(results.checks.map((row, i) => () => links[i]?.append(...says(answerOf(this.app, inputs.seen, row, build, numbers)))));
    this.rest.replaceChildren(...notes.slice(1).map((note) => el("p", {}, note)));
  }

  fillWords(build, numbers) {
    if (!build) return ["There is no car yet, so each figure starts with its usual starting values: what they say here is not about your car. ", el("a", { class: "in-line", href: "#/build" }, "Begin a car")];
    return ["Each figure is filled from ", el("strong", {}, build.name), `${build.invented ? " (invented)" : ""}, at ${this.units.text("gauge_pressure", numbers.value("boost"))} of boost.`];
  }

  // What the figures say follows one by one, so that the page stays quick to the touch.
  fill(parts) {
    clearTimeout(this.timer);
    const [first, ...rest] = parts;
    if (!first) return;
    first();
    this.timer = setTimeout(() => this.fill(rest));
  }

  link(seen, row, build) {
    const whole = row.opens.whole_build;
    const href = whole ? `#/supply/after-bad-pass/${row.number}` : `#/figures/${row.calculator}/after/${seen}/${row.number}`;
    const onclick = whole && build ? () => keepSetting(build, supplySetting(this.app, build, row)) : () => {};
    return el("a", { class: "says", href, onclick }, el("span", { class: "says-figure" }, row.figure));
  }
}

function says({ state, words }) {
  return [state && el("span", { class: `state-word ${state}` }, stateShape(state), state), words && el("span", { class: "says-words" }, words)].filter(Boolean);
}

function supplySetting(app, build, { set }) {
  const setting = settingOf(checkForm(app), build);
  if ("throttle" in set) setting.part = set.throttle < 1;
  if ("launch.on" in set) setting.launching = set["launch.on"];
  return setting;
}

// {state, words} of the figure that a check opens.
function answerOf(app, seen, row, build, numbers) {
  const form = app.forms.find(({ name }) => name === row.calculator);
  const { inputs, errors } = inputsOf(app, form, seen, row, build, numbers);
  if (errors) return { state: null, words: "something is missing there" };
  const answer = row.opens.whole_build ? checkPoint(form, inputs) : run(form, inputs);
  if (answer.errors) return { state: null, words: Object.values(answer.errors).flat().join(" ") };
  const name = typeof form.lead === "object" ? form.lead.of[inputs[form.lead.by]] : form.lead;
  const told = form.results.find((result) => result.name === name);
  const value = answer.results[name];
  return { state: answer.results.state ?? null, words: value == null ? null : `${told.label.toLowerCase()} ${typeof value === "string" ? value : app.units.text(told.kind, value)}` };
}

function inputsOf(app, form, seen, row, build, numbers) {
  if (row.opens.whole_build) {
    const read = gather(form, build ?? { id: "", values: {} }, build ? supplySetting(app, build, row) : { boost: form.fields.find(({ name }) => name === "boost").default, ...starting(row) }, todaysAir(), app.units);
    return { inputs: read.inputs, errors: Object.keys(read.errors).length ? read.errors : null };
  }
  if (form.ticks) return { inputs: ticksOf(form, build) };
  return read(form.fields, typedFor(form, seen, row, build, numbers), app.units);
}

function starting({ set }) {
  return { part: (set.throttle ?? 1) < 1, launching: set["launch.on"] === true };
}

function typedFor(form, seen, row, build, numbers) {
  return changes.get(key(seen, row, build)) ?? filled(form, row, numbers);
}

const key = (seen, { number }, build) => `${seen}.${number}.${build?.id}`;

// The form's fields with what the build has for them, be it given or assumed there, and with what the check asks to set.
function filled(form, { set }, numbers) {
  const units = numbers?.units;
  const typed = form.fields.filter((field) => field.build && numbers).map((field) => [field.name, numbers.typed(field.build, field)]);
  const asked = form.fields.filter((field) => field.name in set).map((field) => [field.name, units ? asTyped(field, set[field.name], units) : plainTyped(field, set[field.name])]);
  return Object.fromEntries([...typed, ...asked].filter(([, one]) => one !== undefined));
}

const plainTyped = (field, value) => (field.kind ? { text: String(value), unit: null, si: value } : value);

// Where a Calculator opened from check `number` takes its inputs from; "Start over" fills it from the build again.
export function guideStore({ app, form, builds, guide, seen, number }) {
  const { results } = run(guide, { seen });
  const row = results.checks[number - 1];
  const build = builds?.current() ?? null;
  const numbers = build && new BuildNumbers(app, build);
  const fill = () => filled(form, row, numbers);
  return {
    start: changes.get(key(seen, row, build)) ?? fill(),
    keep: (typed) => changes.set(key(seen, row, build), typed),
    fresh: fill,
    forget: () => changes.delete(key(seen, row, build)),
  };
}

export function guideLine(build) {
  return build ? el("p", { class: "filled" }, "Filled from ", el("strong", {}, build.name), `${build.invented ? " (invented)" : ""}. What you change here is not kept; `, el("a", { class: "in-line", href: "#/build" }, "change the car in Build"), ".")
    : el("p", { class: "filled" }, "There is no car yet: these are starting values, not your car's.");
}
