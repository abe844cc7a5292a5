// Two cars side by side: both answers at one boost, and the fields in which they differ.

import { stateWord } from "../answer/answer.js";
import { el, keepFocus, newId } from "../core/dom.js";
import { KEYS, recall, remember } from "../core/memory.js";
import { gather, settingOf } from "./check.js";
import { todaysAir } from "./air.js";
import { inWords, nameOf, readSection, sectionsOf } from "./sections.js";
import { HowSure, judged } from "./sure.js";

const LINES = [
  ["gauge_reading", "gauge_pressure", "Fuel gauge reads"], ["worst_spare_pressure", "pressure_difference", "Spare pressure, least"],
  ["worst_spare_fraction", "fraction", "Spare flow, least"], ["boost_ceiling", "gauge_pressure", "Boost ceiling"], ["weak_link", null, "Gives out first"],
  ["fuel_demand", "volume_flow", "Fuel drawn"], ["return_floor", "gauge_pressure", "Lowest pressure at idle"], ["charge_temperature", "temperature", "Charge temperature"],
];

export class CompareView {
  constructor({ form, builds, units }) {
    Object.assign(this, { form, builds, units });
    this.element = el("div", { class: "compare" });
    this.sure = [0, 1].map(() => new HowSure({ form, found: () => keepFocus(this.element, () => this.draw()) }));
    this.stops = [builds.onChange(() => this.draw()), units.onChange(() => this.draw())];
    this.draw();
  }

  stop() {
    for (const stop of this.stops) stop();
    for (const how of this.sure) how.stop();
  }

  draw() {
    const all = this.builds.list();
    if (all.length < 2) {
      this.element.replaceChildren(el("p", {}, "There is only one car yet. Copy it under Build, change the copy, and compare the two here."));
      return;
    }
    const current = this.builds.current();
    const first = this.builds.get(recall(KEYS.compared("first"))) ?? current;
    const second = all.find(({ id }) => id === recall(KEYS.compared("second")) && id !== first.id) ?? all.find(({ id }) => id !== first.id);
    const setting = settingOf(this.form, current);
    const pair = [first, second];
    const answers = pair.map((build, i) => this.answer(build, setting, this.sure[i]));
    this.element.replaceChildren(
      el("div", { class: "compare-pick" }, this.picker("first", "One", all, first), this.picker("second", "The other", all, second)),
      el("p", {}, `At ${this.units.text("gauge_pressure", setting.boost)} of boost, as set under Supply; the worst case of each.`),
      el("table", { class: "side-by-side" }, this.head(pair), el("tbody", {}, this.states(answers), ...LINES.map((line) => this.line(line, answers)).filter(Boolean))),
      el("h2", {}, "What differs"), this.differences(pair));
  }

  answer(build, setting, how) {
    return judged(how, this.form, build, gather(this.form, build, { boost: setting.boost }, todaysAir(), this.units));
  }

  picker(key, label, all, chosen) {
    const select = el("select", { id: newId("pick"), onchange: () => { remember(KEYS.compared(key), select.value); this.draw(); } },
      ...all.map(({ id, name }) => el("option", { value: id }, name)));
    select.value = chosen.id;
    return el("div", { class: "field" }, el("label", { for: select.id, class: "label" }, label), select);
  }

  head(pair) {
    return el("thead", {}, el("tr", {}, el("td"), ...pair.map((build) => el("th", { scope: "col" }, build.name, build.invented ? el("span", { class: "unit" }, " invented") : null))));
  }

  states(answers) {
    return el("tr", {}, el("th", { scope: "row" }, "Bowls"), ...answers.map((answer) => el("td", {}, stateOrWhy(answer))));
  }

  line([name, kind, label], answers) {
    const shown = answers.map(({ results }) => {
      const value = results?.[name];
      if (value == null) return "–";
      return kind ? this.units.text(kind, value) : value;
    });
    if (shown.every((text) => text === "–")) return null;
    return el("tr", { class: shown[0] === shown[1] ? null : "differs" }, el("th", { scope: "row" }, label), ...shown.map((text) => el("td", {}, text)));
  }

  differences(pair) {
    const rows = sectionsOf(this.form).flatMap((section) => {
      const applying = new Set(pair.flatMap((build) => readSection(section, build.values).fields.map(({ field }) => field.name)));
      return section.fields.filter((field) => applying.has(field.name)).map((field) => {
        const words = pair.map((build) => inWords(field, build.values[nameOf(section, field)], this.units));
        const values = pair.map((build) => JSON.stringify(si(build.values[nameOf(section, field)])));
        return values[0] === values[1] ? null : el("tr", {}, el("th", { scope: "row" }, `${section.label}: ${field.label}`), ...words.map((text) => el("td", {}, text)));
      }).filter(Boolean);
    });
    if (!rows.length) return el("p", {}, "Nothing: the two are alike.");
    return el("table", { class: "side-by-side" }, this.head(pair), el("tbody", {}, ...rows));
  }
}

// What counts of a stored value; how it was typed does not.
function si(stored) {
  if (Array.isArray(stored)) return stored.map(si);
  return stored != null && typeof stored === "object" ? stored.si : stored ?? null;
}

function stateOrWhy({ results, unknown = [] }) {
  if (unknown.length) return `not known yet: ${unknown.join(", ")}`;
  return results ? stateWord(results.state) : "no answer";
}
