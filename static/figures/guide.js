// After a bad pass: what was seen, the checks in order, and what each figure says with the build's own numbers in it.

import { stateShape } from "../answer/answer.js";
import { checkForm } from "../car/sections.js";
import { run } from "../core/compute.js";
import { el } from "../core/dom.js";
import { FormView } from "../form/form.js";
import { asTyped } from "../form/stored.js";
import { KEYS, recall, remember } from "../core/memory.js";
import { todaysAir } from "../car/air.js";
import { checkBuild, gather, keepSetting, settingOf } from "../car/check.js";
import { BuildNumbers } from "./frombuild.js";
import { figureAnswer } from "./tried.js";

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
    if (!build) return ["There is no car yet, so the figures have only example numbers, and say so. ", el("a", { class: "in-line", href: "#/build" }, "Begin a car")];
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

// The case that a check looks at.
function supplySetting(app, build, { set }) {
  const setting = settingOf(checkForm(app), build);
  if ("throttle" in set) setting.case = set.throttle < 1 ? "part" : "full";
  if (set["launch.on"]) setting.case = "line";
  return setting;
}

// {state, words} of the figure that a check opens.
export function answerOf(app, seen, row, build, numbers) {
  const form = app.forms.find(({ name }) => name === row.calculator);
  const answer = row.opens.whole_build ? supplyAnswer(app, form, build, row) : figureAnswer(app, form, numbers, { own: changes.get(key(seen, row, build)), asked: askedOf(app, form, row), build });
  if (answer.errors) return { state: null, words: Object.values(answer.errors).flat().join(" ") };
  if (answer.unknown?.length) return { state: null, words: `not known yet: ${answer.unknown.join(", ")}` };
  const name = typeof form.lead === "object" ? form.lead.of[answer.inputs[form.lead.by]] : form.lead;
  const told = form.results.find((result) => result.name === name);
  const value = answer.results[name];
  const words = value == null ? null : `${told.label.toLowerCase()} ${typeof value === "string" ? value : app.units.text(told.kind, value)}`;
  if (answer.allAssumed) return { state: null, words: `only assumed values yet: ${words}` };
  return answer.example ? { state: null, words: "only example numbers yet: open it and type yours" } : { state: answer.results.state ?? null, words };
}

function supplyAnswer(app, form, build, row) {
  if (!build) return { results: {}, inputs: {}, example: true };
  const read = gather(form, build, supplySetting(app, build, row), todaysAir(), app.units);
  return { ...checkBuild(form, read), inputs: read.inputs };
}

// What a check sets, as the controls of the form keep what was typed.
function askedOf(app, form, { set }) {
  return Object.fromEntries(form.fields.filter(({ name }) => name in set).map((field) => [field.name, asTyped(field, set[field.name], app.units)]));
}

const key = (seen, { number }, build) => `${seen}.${number}.${build?.id}`;

// How a Calculator opened from check `number` is filled: from the car, and with what the check asks for.
export function guideOptions({ app, form, builds, guide, seen, number }) {
  const { results } = run(guide, { seen });
  const row = results.checks[number - 1];
  const build = builds?.current() ?? null;
  const own = key(seen, row, build);
  return {
    asked: askedOf(app, form, row),
    typed: { start: changes.get(own) ?? {}, keep: (typed) => changes.set(own, { ...typed }), fresh: () => ({}), forget: () => changes.delete(own) },
  };
}

export function guideLine(build) {
  return build ? el("p", { class: "filled" }, "Filled from ", el("strong", {}, build.name), `${build.invented ? " (invented)" : ""}. What you try here leaves the car as it is.`)
    : el("p", { class: "filled" }, "There is no car yet: these are example numbers. ", el("a", { class: "in-line", href: "#/build" }, "Begin a car"));
}
