// What was changed on the car: when, from what to what, and why; an old value can be brought back.

import { shortMoment } from "../core/dates.js";
import { el } from "../core/dom.js";
import { changeLine } from "./section.js";
import { fieldNamed, inWords } from "./sections.js";
import { timeOf } from "./store.js";
import { saveWithUndo } from "../core/undo.js";

const NAME = { label: "Name", type: "text" };

export class ChangesView {
  constructor({ form, builds, units }) {
    Object.assign(this, { form, builds, units });
    this.element = el("div", {});
    this.stops = [builds.onChange(() => this.draw()), units.onChange(() => this.draw())];
    this.draw();
  }

  stop() {
    this.turn = null;
    for (const stop of this.stops) stop();
  }

  async draw() {
    const turn = this.turn = {};
    const build = this.builds.current();
    if (!build) return this.element.replaceChildren(el("p", {}, "There is no car yet."));
    const changes = (await this.builds.changes(build.id)).filter(({ field }) => this.told(field));
    if (turn !== this.turn) return; // changed again, or left, while the history came
    this.element.replaceChildren(el("p", {}, build.name),
      changes.length ? el("ul", { class: "changes" }, ...changes.map((change) => this.line(build, change)))
        : el("p", {}, "Nothing was changed since this car was entered. Change a value in a section, and the old one is kept here."));
  }

  told(name) {
    return name === "name" ? { section: null, field: NAME } : fieldNamed(this.form, name);
  }

  line(build, { field: name, at, from, to, reason }) {
    const { section, field } = this.told(name);
    const when = shortMoment(timeOf(at));
    const isNow = JSON.stringify(build.values[name] ?? null) === JSON.stringify(from);
    const back = isNow ? null : el("button", { type: "button", class: "plain", onclick: () => saveWithUndo(build.values, { [name]: from }, (all) => this.builds.save(build.id, all), "Brought back.") },
      `Back to ${inWords(field, from, this.units)}`);
    return el("li", {}, el("p", { class: "when" }, `${when}${section ? `, ${section.label.toLowerCase()}` : ""}`), changeLine(field, from, to, this.units),
      reason ? el("p", { class: "reason" }, `“${reason}”`) : null, back);
  }
}
