// The three-minute car: six questions on one screen, enough for a first verdict. They are fields of the sections, declared
// with the form (`quick`: [{title, fields: ["section.field"]}]), and are kept in the same place; all else can wait.

import { todaysAir } from "./air.js";
import { gather, settingOf } from "./check.js";
import { nameOf, sectionsOf } from "./sections.js";
import { SectionView } from "./section.js";
import { HowSure, sureOf } from "./sure.js";
import { el, rebuild } from "../core/dom.js";

export class QuickView {
  constructor({ form, quick, builds, units, check }) {
    Object.assign(this, { form, builds, units });
    this.count = quick.length;
    this.asked = new Set(quick.flatMap(({ fields }) => fields));
    this.build = builds.current();
    this.views = [];
    if (!this.build) {
      this.element = el("p", {}, "There is no car yet. ", el("a", { href: "#/supply" }, "Begin one"), ".");
      this.stops = [];
      return;
    }
    const checkOnce = once(check);
    this.how = new HowSure({ form, found: () => this.draw() });
    this.needed = el("p", { class: "needed", role: "status" });
    this.later = el("div");
    this.element = el("div", { class: "quick" },
      el("p", { class: "intro" }, `${this.build.name}${this.build.invented ? " (invented)" : ""}. Answer what you know. Blanks are assumed, and marked so.`),
      ...quick.map((question, n) => this.question(question, n, checkOnce)),
      this.needed, el("p", { class: "start" }, el("a", { class: "next", href: "#/supply" }, "Run the supply check")), this.later);
    this.stops = [builds.onChange(() => this.draw()), units.onChange(() => this.draw())];
    this.draw();
  }

  question({ title, fields }, n, check) {
    const sections = sectionsOf(this.form).map((section) => ({ ...section, fields: section.fields.filter((field) => fields.includes(nameOf(section, field))) }));
    // In the order in which the question names them.
    const first = (section) => fields.findIndex((name) => name.startsWith(`${section.name}.`));
    const asked = sections.filter((section) => section.fields.length).sort((a, b) => first(a) - first(b));
    const views = asked.map((section) => new SectionView({ section, form: this.form, builds: this.builds, build: this.build, units: this.units, check, plain: true }));
    this.views.push(...views);
    const part = (view, i) => el("div", {}, asked.length > 1 ? el("h3", {}, asked[i].label) : null, view.element);
    return el("section", { "aria-label": title }, el("h2", {}, el("span", { class: "which-question" }, `${n + 1} of ${this.count} `), title), ...views.map(part));
  }

  draw() {
    const build = this.builds.get(this.build.id);
    if (!build) return;
    const { unknown, assumed } = gather(this.form, build, settingOf(this.form, build), todaysAir(), this.units);
    const words = [...new Set(unknown.map(({ word }) => word))];
    const said = words.length ? `Still needed for a verdict: ${words.join(", ")}.` : "That is enough for a first verdict.";
    rebuild(this.needed, [said], () => [said]);
    const rest = assumed.filter(({ section, field }) => !this.asked.has(nameOf(section, field)));
    this.drawLater(rest, sureOf(this.how, this.form, build, todaysAir(), this.units)?.measure ?? []);
  }

  // Section by section what is still assumed, the section first in which one value is worth most.
  drawLater(rest, measure) {
    const worth = ({ name }) => Math.max(0, ...measure.filter((row) => row.name.startsWith(`${name}.`) && !this.asked.has(row.name)).map(({ gain }) => gain));
    const lines = [...new Set(rest.map(({ section }) => section))].map((section) => ({ section, gain: worth(section),
      left: rest.filter((one) => one.section === section).length })).sort((a, b) => b.gain - a.gain);
    const text = (gain) => `worth ${this.units.text("pressure_difference", gain)}`;
    const isShown = (gain) => this.units.number("pressure_difference", gain) !== this.units.number("pressure_difference", 0);
    const rows = lines.map(({ section, gain, left }) => [section.name, section.label, [`${left} assumed`, isShown(gain) ? text(gain) : null].filter(Boolean).join(", ")]);
    rebuild(this.later, rows, () => [el("h2", {}, "Later"),
      el("p", {}, `${rest.length} more values are assumed. Measure or enter them in Build when you can.`),
      measure.length ? el("p", {}, "Worth: what the one value that matters most would add to the low end of your ceiling.") : null,
      el("ul", { class: "index" }, ...rows.map(([name, label, counts]) => el("li", {}, el("a", { href: `#/build/${name}` },
        el("span", { class: "entry-head" }, el("strong", {}, label), el("span", { class: "counts" }, counts))))))]);
  }

  stop() {
    for (const stop of this.stops) stop();
    this.how?.stop();
    return Promise.all(this.views.map((view) => view.stop()));
  }
}

// Eight parts of a screen ask in one go what the check finds wrong: it is worked out once.
function once(work) {
  let kept = null;
  return (...asked) => {
    if (kept === null) {
      kept = work(...asked);
      queueMicrotask(() => { kept = null; });
    }
    return kept;
  };
}
