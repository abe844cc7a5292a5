// After a bad pass: what was seen, the checks in order, and what each figure says with the build's own numbers in it. Opened from
// a pass it goes by that pass: its car as it was, its boost and air, and says which checks the pass itself answers.

import { stateWord } from "../answer/answer.js";
import { checkForm, wrongWords } from "../car/sections.js";
import { run } from "../core/compute.js";
import { el } from "../core/dom.js";
import { FormView } from "../form/form.js";
import { asTyped } from "../form/stored.js";
import { KEYS, recall, remember } from "../core/memory.js";
import { todaysAir } from "../car/air.js";
import { gather, keepSetting, settingOf } from "../car/check.js";
import { HowSure, judged } from "../car/sure.js";
import { BuildNumbers } from "./frombuild.js";
import { figureAnswer } from "./tried.js";
import { capital, spelled } from "../core/words.js";
import { offerUndo } from "../core/undo.js";

// What was changed in a figure opened from here; the build itself is changed on the Build screen.
const changes = new Map();

export class Guide {
  // `pass` as passes/bad.js tells it, or null.
  constructor({ app, form, builds, at, pass = null }) {
    Object.assign(this, { app, form, builds, pass, units: app.units, filling: [] });
    // Of a pass the car is as it was: how sure it was is not kept with the car in use.
    this.how = new HowSure({ form: checkForm(app), found: () => this.filling.filter(({ whole }) => whole).forEach(({ fill }) => fill()), keep: !pass });
    this.view = new FormView({ fields: form.fields, units: app.units, typed: pass ? { seen: pass.results.seen } : recall(KEYS.form(form.name), {}), changed: () => {
      if (!pass) remember(KEYS.form(form.name), this.view.typed());
      this.draw();
    } });
    this.last = el("section", { class: "first-to-do", hidden: !pass });
    this.first = el("p", { class: "first-note" });
    this.which = el("p", {});
    this.list = el("ol", { class: "checks" });
    this.rest = el("div", { class: "more-notes" });
    this.element = el("article", { class: "guide" }, el("h1", { tabindex: "-1" }, form.title), el("p", { class: "intro" }, form.intro), this.ofPass = el("div"), this.view.element,
      this.first, this.which, this.list, this.last, this.rest, el("p", { class: "source" }, form.source));
    this.stops = [app.units.onChange(() => this.draw()), builds?.onChange(() => this.draw())];
    this.draw();
    if (at) requestAnimationFrame(() => this.list.children[at - 1]?.scrollIntoView({ block: "center" }));
  }

  stop() {
    clearTimeout(this.timer);
    this.how.stop();
    for (const stop of this.stops) stop?.();
  }

  draw() {
    const { inputs } = this.view.read();
    const build = this.pass ? this.pass.build : this.builds?.current() ?? null;
    const key = JSON.stringify([inputs, build, this.units.system, this.units.chosen]);
    if (key === this.drawn) return;
    this.drawn = key;
    const { results, notes } = run(this.form, inputs);
    const numbers = build && numbersOf(this.app, build, this.pass);
    this.first.textContent = spelled(notes[0]);
    this.which.replaceChildren(...this.fillWords(build, numbers));
    const links = results.checks.map((row) => (row.opens ? this.link(inputs.seen, row, build) : null));
    const answered = this.pass?.answered() ?? {};
    this.list.replaceChildren(...results.checks.map((row, i) => el("li", {}, el("strong", {}, spelled(row.look)),
      row.asks in answered ? el("p", { class: "answered" }, el("strong", {}, "● The pass answers: "), answered[row.asks]) : el("p", {}, spelled(row.why)), links[i])));
    // What the pass answers itself outranks what is worked out.
    const open = results.checks.map((row, i) => ({ row, link: links[i] })).filter(({ row, link }) => link && !(row.asks in answered));
    const said = (row) => says(answerOf(this.app, inputs.seen, row, build, numbers, this.how, this.pass));
    this.filling = open.map(({ row, link }) => ({ whole: row.opens.whole_build, fill: () => link.replaceChildren(link.firstChild, ...said(row)) }));
    this.fill(this.filling);
    if (this.pass) this.drawPass(inputs.seen, results.checks.find((row) => !(row.asks in answered)));
    this.rest.replaceChildren(...notes.slice(1).map((note) => el("p", {}, spelled(note))));
  }

  // What the pass says, and at the end the one thing to do first.
  drawPass(seen, open) {
    const { pass } = this;
    this.ofPass.replaceChildren(el("section", { class: "of-pass" }, el("h2", {}, pass.title), ...pass.facts().map((line) => el("p", {}, line))));
    const first = seen === pass.results.seen || !open ? pass.first() : spelled(open.look);
    this.last.replaceChildren(el("h2", {}, "First"), el("p", { class: "first-thing" }, el("strong", {}, capital(first))),
      el("button", { type: "button", class: "next", onclick: () => noted(pass, first) }, "Note it in the log"));
  }

  fillWords(build, numbers) {
    if (this.pass && build) return ["Each figure is filled from ", el("strong", {}, build.name), ` as it was on ${this.pass.title}, at its ${this.units.text("gauge_pressure", numbers.value("boost"))} of boost${this.pass.air ? " and in its air" : ""}.`];
    if (this.pass) return ["This pass has no car, so the figures have only example numbers, and say so."];
    if (!build) return ["There is no car yet, so the figures have only example numbers, and say so. ", el("a", { class: "in-line", href: "#/build" }, "Begin a car")];
    return ["Each figure is filled from ", el("strong", {}, build.name), `${build.invented ? " (invented)" : ""}, at ${this.units.text("gauge_pressure", numbers.value("boost"))} of boost.`];
  }

  // What the figures say follows one by one, so that the page stays quick to the touch.
  fill(parts) {
    clearTimeout(this.timer);
    const [first, ...rest] = parts;
    if (!first) return;
    first.fill();
    this.timer = setTimeout(() => this.fill(rest));
  }

  link(seen, row, build) {
    const whole = row.opens.whole_build;
    const figure = el("span", { class: "says-figure" }, row.figure);
    if (this.pass) return whole ? (row.asks in this.pass.answered() ? null : el("div", { class: "says" }, el("span", {}, row.figure))) : el("a", { class: "says", href: `#/figures/${row.calculator}/after/${seen}/${row.number}/${this.pass.id}` }, figure);
    const href = whole ? `#/supply/after-bad-pass/${row.number}` : `#/figures/${row.calculator}/after/${seen}/${row.number}`;
    const onclick = whole && build ? () => keepSetting(build, supplySetting(this.app, build, row)) : () => {};
    return el("a", { class: "says", href, onclick }, figure);
  }
}

async function noted(pass, first) {
  offerUndo("Noted in the log.", await pass.note(first));
}

function says({ state, words }) {
  return [state && stateWord(state), words && el("span", { class: "says-words" }, words)].filter(Boolean);
}

// The car's numbers, or those of a pass's car in its air.
function numbersOf(app, build, pass) {
  return pass ? new BuildNumbers(app, build, pass.setting, pass.air) : new BuildNumbers(app, build);
}

// The case that a check looks at.
function supplySetting(app, build, { set }, pass = null) {
  const setting = pass ? { ...pass.setting } : settingOf(checkForm(app), build);
  if ("throttle" in set) setting.case = set.throttle < 1 ? "part" : "full";
  if (set["launch.on"]) setting.case = "line";
  return setting;
}

// {state, words} of the figure that a check opens.
export function answerOf(app, seen, row, build, numbers, how, pass = null) {
  const form = app.forms.find(({ name }) => name === row.calculator);
  const answer = row.opens.whole_build ? supplyAnswer(app, form, build, row, how, pass) : figureAnswer(app, form, numbers, { own: changes.get(key(seen, row, build)), asked: askedOf(app, form, row), build });
  if (answer.errors) return { state: null, words: Object.entries(answer.errors).map(([name, sentences]) => wrongWords(form, name, sentences)).join(" ") };
  if (answer.unknown?.length) return { state: null, words: `not known yet: ${answer.unknown.join(", ")}` };
  const name = typeof form.lead === "object" ? form.lead.of[answer.inputs[form.lead.by]] : form.lead;
  const told = form.results.find((result) => result.name === name);
  const value = answer.results[name];
  const words = value == null ? null : `${told.label.toLowerCase()} ${typeof value === "string" ? value : app.units.text(told.kind, value)}`;
  if (answer.allAssumed) return { state: null, words: `only assumed values yet: ${words}` };
  return answer.example ? { state: null, words: "only example numbers yet: open it and type yours" } : { state: answer.results.state ?? null, words };
}

function supplyAnswer(app, form, build, row, how, pass) {
  if (!build) return { results: {}, inputs: {}, example: true };
  const read = gather(form, build, supplySetting(app, build, row, pass), pass ? pass.air : todaysAir(), app.units);
  return { ...judged(how, form, build, read), inputs: read.inputs };
}

// What a check sets, as the controls of the form keep what was typed.
function askedOf(app, form, { set }) {
  return Object.fromEntries(form.fields.filter(({ name }) => name in set).map((field) => [field.name, asTyped(field, set[field.name], app.units)]));
}

const key = (seen, { number }, build) => `${seen}.${number}.${build?.id}`;

// How a Calculator opened from check `number` is filled: from the car, and with what the check asks for.
export function guideOptions({ app, form, builds, guide, seen, number, pass = null }) {
  const { results } = run(guide, { seen });
  const row = results.checks[number - 1];
  const build = pass ? pass.build : builds?.current() ?? null;
  const own = key(seen, row, build);
  return {
    ...(pass ? { numbers: build && numbersOf(app, build, pass) } : {}),
    asked: askedOf(app, form, row),
    typed: { start: changes.get(own) ?? {}, keep: (typed) => changes.set(own, { ...typed }), fresh: () => ({}), forget: () => changes.delete(own) },
  };
}

export function guideLine(build, pass = null) {
  if (pass && build) return el("p", { class: "filled" }, "Filled from ", el("strong", {}, build.name), ` as it was on ${pass.title}. What you try here leaves the car as it is.`);
  return build ? el("p", { class: "filled" }, "Filled from ", el("strong", {}, build.name), `${build.invented ? " (invented)" : ""}. What you try here leaves the car as it is.`)
    : el("p", { class: "filled" }, "There is no car yet: these are example numbers. ", el("a", { class: "in-line", href: "#/build" }, "Begin a car"));
}
