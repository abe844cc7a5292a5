// The Supply screen of one car: the answer first, then the slider that it follows, then everything behind it.

import { AnswerView } from "../answer/answer.js";
import { fieldNamed, plainWords, wrongWords } from "../car/sections.js";
import { Chart } from "../answer/chart.js";
import { shortDay } from "../core/dates.js";
import { el, rebuild, say } from "../core/dom.js";
import { fitLine } from "../car/ticks.js";
import { atRest, inSight } from "../core/sight.js";
import { ageInWords, isOld, todaysAir } from "../car/air.js";
import { HowSure, judged, knowledge, namesOf } from "../car/sure.js";
import { ChangesList } from "./buys.js";
import { GaugeCard } from "./card.js";
import { PassCited } from "./pass.js";
import { boostField, checkBuild, checkFrame, gather, keepSetting, plannedBoost, settingOf } from "../car/check.js";
import { CaseRow } from "./cases.js";
import { BoostSlider } from "./slider.js";
import { WhatItTakes } from "./takes.js";
import { capital, spelled } from "../core/words.js";
import { saveWithUndo } from "../core/undo.js";

// What has a place of its own on this screen.
const APART = ["gauge_card", "changes", "together", "spare_pressure", "spare_fraction", "weak_link", "boost_ceiling", "gauge_reading", "gauge_least", "least_spare_fraction",
  "worst_case", "spare", "spare_low", "spare_high", "spare_give_or_take", "worst_spare_fraction", "worst_ceiling", "ceiling_case", "cases", "shown_case", "shown_boost", "caveat", "card_caveat"];

const CHART = { lines: ["least", "available"], band: { low: "least", high: "thin", label: "Thin" }, y_label: "Fuel pressure" };

export class SupplyView {
  constructor({ app, form, build, builds }) {
    const { units } = app;
    Object.assign(this, { app, form, build, builds, units, id: build.id });
    this.setting = settingOf(form, build);
    this.air = todaysAir();
    this.answer = new AnswerView({ ...form, charts: [], results: form.results.map((told) => ({ ...told, apart: APART.includes(told.name) })) }, units);
    this.slider = new BoostSlider({ field: boostField(form), units, changed: (boost) => this.set({ boost }), rested: () => this.keep(), planned: (boost) => this.plan(boost) });
    this.charts = form.charts.map((told) => new Chart({ ...told, ...CHART }, form, units));
    this.showCharts = this.charts.map((chart) => inSight(chart.element, (told) => chart.show(told)));
    this.card = new GaugeCard({ form, units });
    this.showCard = inSight(this.card.element, ({ words, ...told }) => this.card.show({ ...told, words: words() }));
    this.buys = new ChangesList({ units, form });
    this.takes = new WhatItTakes({ form: app.forms.find(({ name }) => name === "what-it-takes"), units, car: () => this.forTarget() });
    this.pass = new PassCited(app);
    this.cases = new CaseRow({ form, units, choose: (word) => this.set({ case: word }) });
    this.atRest = atRest(() => this.keep());
    this.sure = new HowSure({ form, found: () => this.update() });
    this.which = el("p", { class: "which" });
    this.missing = el("section", { class: "not-known", role: "status", hidden: true });
    this.keys = el("dl", { class: "key-numbers" });
    this.sureLine = el("p", { class: "give-or-take", hidden: true });
    this.bowls = el("div");
    this.showBowls = inSight(this.bowls, (results) => this.drawBowls(results));
    this.weak = el("div", { class: "weak-link" });
    this.airBox = el("section", { class: "air" });
    this.assumedBox = el("div");
    this.fit = el("div");
    this.rest = el("div", { class: "supply-body" }, this.pass.element, this.fit,
      el("section", { class: "bowls" }, el("h2", {}, "Spare at the bowls"), this.bowls),
      ...this.charts.map((chart) => chart.element), this.card.element,
      el("section", {}, el("h2", {}, "What gives out first"), this.weak,
        el("a", { class: "plain-link", href: "#/figures/through-a-pass" }, "How full the bowls stay through a pass")),
      this.buys.element, this.takes.element, this.airBox, this.drawNotes());
    this.answer.verdict.after(this.cases.worst);
    this.element = el("article", { class: "supply-check" }, this.which, this.answer.head, this.answer.words, this.missing,
      el("section", { class: "setting" }, this.slider.element, this.keys, this.sureLine), this.cases.element, this.rest, el("p", { class: "caution" }, form.caution));
    this.stopUnits = units.onChange(() => this.draw());
    this.slider.set(this.setting.boost);
    this.slider.setRange(undefined, plannedBoost(build));
    this.update();
    this.drawFit();
  }

  // Without the rest of the page the line is left out.
  async drawFit() {
    try {
      await this.app.complete();
    } catch {
      return;
    }
    rebuild(this.fit, this.build.values, () => [fitLine(this.app, this.build)]);
  }

  drawNotes() {
    const notes = el("section", { class: "notes" }, el("h2", {}, "More of the answer"), this.answer.more, this.answer.list,
      ...this.answer.tables.map((part) => part.element), this.assumed(), this.answer.working.element);
    this.answer.restStandsIn(notes);
    return notes;
  }

  stop() {
    this.stopUnits();
    this.buys.stop();
    this.takes.stop();
    this.pass.stop();
    this.sure.stop();
    this.keep();
  }

  setBuild(build) {
    this.build = build;
    this.gathered = null;
    this.drawFit();
    this.update();
  }

  set(changed) {
    Object.assign(this.setting, changed);
    if (!("boost" in changed)) this.gathered = null;
    this.update();
    this.atRest.later();
  }

  plan(boost) {
    return saveWithUndo(this.build.values, { boost }, (all) => this.builds.save(this.id, all), "The planned boost is changed.");
  }

  keep() {
    keepSetting(this.build, this.setting);
  }

  // The car and its setting, and what of the answer the boost does not change. Nothing is worked out from what nobody gave.
  gatherNow() {
    const { form, build, units } = this;
    const read = gather(form, build, this.setting, this.air, units);
    const stopped = Object.keys(read.errors).length || read.unknown.length;
    return { ...read, frame: stopped ? { errors: read.errors } : checkFrame(form, read.inputs) };
  }

  update() {
    const { form } = this;
    this.gathered ??= this.gatherNow();
    const read = { ...this.gathered, inputs: { ...this.gathered.inputs, boost: this.setting.boost, planned: plannedBoost(this.build) } };
    const answer = read.frame.errors ? read.frame : judged(this.sure, form, this.build, read, checkBuild(form, read, read.frame.results));
    this.drawHeadLine(read);
    this.showMissing(read, answer.errors ?? {});
    const shown = [this.answer.head, this.answer.words, this.keys, this.sureLine, this.cases.element, this.rest];
    for (const part of shown) part.hidden = Boolean(answer.errors);
    if (answer.errors) this.slider.setRange(undefined, plannedBoost(this.build));
    else this.showAnswer(read, answer);
  }

  showAnswer(read, answer) {
    const told = { ...answer, inputs: read.inputs };
    this.read = read;
    this.told = told;
    this.answer.show(told);
    this.cases.show(answer.results, this.setting.case);
    const { boost_ceiling: ceiling, ceiling_low: low, ceiling_high: high } = answer.results;
    this.slider.setRange(ceiling, plannedBoost(this.build), low, high);
    for (const show of this.showCharts) show(told);
    this.drawKeys(answer.results);
    this.drawSure(answer.results);
    this.showBowls(answer.results);
    this.showCard({ build: this.build, rows: answer.results.gauge_card, words: () => this.cardWords(read, answer.results) });
    this.drawWeakLink(answer.results);
    this.buys.show(read.inputs);
    this.takes.update();
    this.pass.show({ inputs: read.inputs, results: answer.results, isAssumed: (name) => read.assumed.some(({ section, field }) => name === `${section.name}.${field.name}`) });
    if (this.assumedElement.open) this.drawAssumed();
  }

  draw() {
    this.gathered = null;
    this.pass.stop();
    this.slider.draw();
    this.update();
    this.buys.draw();
    this.takes.draw();
  }

  // What the plan for a target starts from.
  forTarget() {
    const { boost, case: looked, throttle, ...inputs } = this.read.inputs;
    return { inputs, unknown: this.told.unknown ?? [], planned: plannedBoost(this.build), known: knowledge(this.form, this.build, namesOf(this.read.assumed)) };
  }

  drawHeadLine({ inputs, assumed }) {
    const text = [this.build.invented ? " · invented, no real car" : null, assumed.length ? ` · ${countWords(assumed)}` : null].filter(Boolean).join("");
    rebuild(this.which, [this.build.name, text], () => [el("a", { href: "#/build" }, this.build.name), text]);
    this.drawAir(inputs);
    say(this.assumedElement.querySelector("summary"), `What is assumed: ${assumed.length === 1 ? "1 value" : `${assumed.length} values`}`);
  }

  // What stands in the way of an answer, each with the way to it: a value typed that cannot be used, or one that nobody gave.
  showMissing({ unknown }, errors) {
    const refused = Object.entries(errors);
    this.missing.hidden = refused.length === 0 && unknown.length === 0;
    rebuild(this.missing, [refused, unknown.map(({ word }) => word)], () => [
      refused.length ? el("ul", { class: "wrong-list" }, ...refused.map(([name, sentences]) => this.refusedLine(name, sentences))) : null,
      ...this.unknownLines(unknown.filter(({ names }) => !refused.some(([name]) => names.includes(name)))),
    ]);
  }

  refusedLine(name, sentences) {
    const [first] = name.split(".");
    const section = this.form.fields.find((field) => field.name === first && field.fields);
    const key = fieldNamed(this.form, name)?.field.key;
    const begins = !section ? "" : key ? `Your ${key} is not known yet. ` : `${section.label}, `;
    return el("li", { class: "refused" }, el("p", { class: "error" }, `${begins}${wrongWords(this.form, name, sentences)}`), section ? el("a", { class: "next", href: `#/build/${first}` }, `Fix it in ${section.label}`) : null);
  }

  unknownLines(unknown) {
    if (!unknown.length) return [];
    const sections = [...new Set(unknown.map(({ section }) => section))];
    const words = (section) => unknown.filter((one) => one.section === section).map(({ word }) => word).join(", ");
    return [el("p", { class: "lead-words" }, el("strong", {}, "Not known yet: "), `${unknown.map(({ word }) => word).join(", ")}.`),
      el("p", {}, "There is no verdict, no ceiling and no gauge card until these are entered."),
      el("ul", { class: "index" }, ...sections.map((section) => el("li", {}, el("a", { href: `#/build/${section.name}` }, el("strong", {}, section.label), el("span", {}, words(section))))))];
  }

  // What the card was made for, and how much of it nobody gave.
  cardWords({ inputs: { air }, assumed }, { boost_ceiling: ceiling, worst_case: worst, card_caveat: caveat }) {
    const { units } = this;
    const plan = plannedBoost(this.build);
    return [plan === null ? null : `planned ${units.text("gauge_pressure", plan)}`, ceiling === null ? null : `ceiling ${units.text("gauge_pressure", ceiling)}`,
      `worst case: ${this.cases.label(worst).toLowerCase()}`, countWords(assumed),
      `air ${units.text("absolute_pressure", air.pressure)}, ${units.text("temperature", air.temperature)}`, shortDay(new Date()), caveat].filter(Boolean).join(" · ");
  }

  // The three numbers to take along. With each step of the slider only the text in them changes.
  drawKeys({ gauge_least: least, gauge_reading: reading, boost_ceiling: ceiling }) {
    const { units } = this;
    const unit = units.of("gauge_pressure").name;
    const told = [["Gauge, minimum", least], ["Gauge, expected", reading], ["Boost ceiling", ceiling]];
    rebuild(this.keys, [unit, told.map(([, si]) => si === null)], () => told.map(([label, si]) => el("div", {}, el("dt", {}, label),
      el("dd", {}, el("span", {}), si === null ? null : el("span", { class: "unit" }, unit)))));
    told.forEach(([, si], i) => say(this.keys.children[i].querySelector("dd > span"), si === null ? "none found" : units.number("gauge_pressure", si)));
  }

  // "Ceiling 17.4 psi, give or take 1.9"; both ends where up and down differ by much.
  drawSure(results) {
    const words = [this.sureOfCeiling(results), this.sureOfSpare(results)].filter(Boolean);
    this.sureLine.hidden = !words.length;
    say(this.sureLine, words.join(" "));
  }

  sureOfCeiling({ boost_ceiling: ceiling, give_or_take: spread, ceiling_low: low, ceiling_high: high }) {
    const { units } = this;
    const text = (si) => units.text("gauge_pressure", si);
    return low == null ? "" : spread != null ? `Ceiling ${text(ceiling)}, give or take ${units.number("pressure_difference", spread)}.`
      : high != null ? `The ceiling lies between ${units.number("gauge_pressure", low)} and ${text(high)}.` : `The ceiling is ${text(low)} at least.`;
  }

  // Of the boost looked at: it follows when the slider rests.
  sureOfSpare({ spare, spare_low: low, spare_high: high, spare_give_or_take: spread }) {
    if (spare == null) return "";
    const { units } = this;
    const text = (si) => units.text("pressure_difference", si);
    return spread != null ? `Least spare at a seat ${text(spare)}, give or take ${units.number("pressure_difference", spread)}.`
      : `Least spare at a seat ${text(spare)}, between ${units.number("pressure_difference", low)} and ${units.number("pressure_difference", high)}.`;
  }

  // Spare at each bowl

  drawBowls({ spare_pressure: pressure, spare_fraction: fraction }) {
    const { units } = this;
    const row = (label, name) => (pressure[name] === null ? null : el("tr", {}, el("th", { scope: "row" }, label),
      el("td", {}, units.number("pressure_difference", pressure[name])), el("td", {}, units.number("fraction", fraction[name]))));
    const head = (label, kind) => el("th", { scope: "col" }, label, el("span", { class: "unit" }, ` ${units.of(kind).name}`));
    rebuild(this.bowls, [pressure, fraction, units.of("pressure_difference").name, units.of("fraction").name], () => [el("table", { class: "bowl-table" },
      el("thead", {}, el("tr", {}, el("td"), head("Pressure", "pressure_difference"), head("Flow", "fraction"))),
      el("tbody", {}, row(pressure.secondary === null ? "All bowls" : "Primaries", "primary"), row("Secondaries", "secondary")))]);
  }

  drawWeakLink({ weak_link: link, boost_ceiling: ceiling, ceiling_case: limit }) {
    const sets = ceiling === null ? "Your margins hold up to the highest boost checked; beyond it, this is the weak link."
      : `This sets the ceiling of ${this.units.text("gauge_pressure", ceiling)}: ${this.cases.label(limit).toLowerCase()}.`;
    rebuild(this.weak, [link, sets], () => [el("strong", {}, capital(spelled(link))), el("p", {}, sets)]);
  }

  // Today's air

  drawAir({ air }) {
    if (this.airOf === this.gathered) return;
    this.airOf = this.gathered;
    const { units } = this;
    const numbers = `${units.text("absolute_pressure", air.pressure)}, ${units.text("temperature", air.temperature)}, ${units.text("fraction", air.humidity)} humidity`;
    const since = this.air ? `Entered ${ageInWords(this.air.at)}${isOld(this.air) ? ": old, look again." : "."}` : "No air entered today; using the car's, or assumed air.";
    rebuild(this.airBox, [numbers, since], () => [el("h2", {}, "Air"), el("p", { class: "air-numbers" }, numbers), el("p", { class: this.air && isOld(this.air) ? "error" : null }, since),
      el("a", { class: "plain-link", href: "#/figures/density-altitude" }, this.air ? "Update today's air" : "Enter today's air")]);
  }

  // What is assumed

  assumed() {
    this.assumedElement = el("details", { class: "unfolding assumed-list", ontoggle: () => this.assumedElement.open && this.drawAssumed() }, el("summary", {}, "What is assumed"), this.assumedBox);
    return this.assumedElement;
  }

  drawAssumed() {
    const sections = [...new Set(this.read.assumed.map(({ section }) => section))];
    this.assumedBox.replaceChildren(...sections.map((section) => el("div", {}, el("a", { class: "plain-link", href: `#/build/${section.name}` }, section.label),
      el("p", {}, this.read.assumed.filter((one) => one.section === section).map(({ field, value }) => `${field.label.toLowerCase()} ${plainWords(field, value, this.units)}`).join(", ")))));
  }
}

function countWords(assumed) {
  return assumed.length === 0 ? "nothing assumed" : assumed.length === 1 ? "1 value assumed" : `${assumed.length} values assumed`;
}
