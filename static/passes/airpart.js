// The air of a pass or note on the screen: a line that says what it was, and under it the reading to change.

import { el, say } from "../core/dom.js";
import { FormView } from "../form/form.js";
import { airFields, airOf, hasAir, lastReading, PREFIX, storedAir, wordFor, workOut } from "./air.js";
import { isGiven, momentOf, timeOf, toTyped, unreadable } from "./values.js";
import { offerUndo } from "../core/undo.js";

export class AirPart {
  // `keep(values)` is told what the user changed.
  constructor(app, log, values, keep) {
    Object.assign(this, { app, log, keep });
    this.values = airOf(values);
    this.fields = airFields(app);
    this.form = new FormView({ fields: this.fields, units: app.units, typed: this.typed(), changed: () => this.onTyped() });
    this.known = this.stored();
    this.line = el("summary");
    this.take = el("button", { type: "button", class: "take", onclick: () => this.takeReading() });
    this.none = el("button", { type: "button", class: "plain", onclick: () => this.replace({}, "The air reading is gone.") }, "No air reading for this pass");
    this.more = el("a", { class: "line-link", href: "#/figures/density-altitude" }, "Work out today's air: it is offered here for two hours");
    this.element = el("details", { class: "air-part" }, this.line, this.take, this.form.element, this.none, this.more);
    this.draw();
  }

  typed() {
    return Object.fromEntries(this.fields.map((field) => {
      const value = this.values[PREFIX + field.name];
      if (field.type !== "variant") return [field.name, toTyped(field, value, this.app.units)];
      const word = wordFor(field, this.values);
      return [field.name, isGiven(value) ? { [word]: toTyped(field.variants[word], value, this.app.units) } : undefined];
    }));
  }

  stored() {
    return storedAir(this.fields, this.form.typed(), this.app.units);
  }

  onTyped() {
    if (this.setting) return;
    const now = this.stored();
    const changed = Object.keys(now).filter((name) => JSON.stringify(now[name]) !== JSON.stringify(this.known[name]));
    this.known = now;
    if (changed.length === 0) return;
    this.showWrong();
    const values = Object.fromEntries(changed.map((name) => [name, now[name]]));
    // The words say what the numbers are, so they go in together.
    for (const name of ["pressure_given", "humidity_given"]) if (this.values[PREFIX + name] == null) values[PREFIX + name] = now[PREFIX + name];
    this.tell({ ...values, "air.at": momentOf(new Date()) });
  }

  tell(values) {
    Object.assign(this.values, values);
    this.keep(values);
    this.drawLine();
  }

  takeReading() {
    const reading = lastReading(this.app, this.log);
    if (reading) this.replace(reading, "Air reading taken.");
  }

  replace(values, words) {
    const before = { ...this.values };
    this.keepAll(values);
    offerUndo(words, () => this.keepAll(before));
  }

  // All of the air is what is given here, and nothing else.
  keepAll(values) {
    const emptied = Object.fromEntries(Object.keys(this.values).filter((name) => this.values[name] != null).map((name) => [name, null]));
    this.tell({ ...emptied, ...values });
    this.reset();
  }

  reset() {
    this.setting = true;
    this.form.setTyped(this.typed());
    this.setting = false;
    this.known = this.stored();
    this.draw();
  }

  // Values that came from elsewhere; not while this is being typed into.
  show(values) {
    if (this.element.contains(document.activeElement)) return;
    this.values = airOf(values);
    this.reset();
  }

  draw() {
    this.form.draw();
    this.showWrong();
    this.drawLine();
  }

  showWrong() {
    this.form.read();
    for (const field of this.fields) {
      const name = PREFIX + field.name;
      const words = unreadable(field.type === "variant" ? field.variants[wordFor(field, this.values)] : field, this.values[name]);
      this.form.controls.get(field.name).offerToClear(words, () => { this.tell({ [name]: null }); this.reset(); });
    }
  }

  drawLine() {
    say(this.line, airInWords(this.app, this.values));
    const reading = lastReading(this.app, this.log);
    const differs = reading && reading["air.at"] !== this.values["air.at"];
    this.take.hidden = !differs;
    if (differs) say(this.take, `Take the reading of ${timeOf(reading["air.at"])}`);
    this.none.hidden = !hasAir(this.values);
  }
}

export function airInWords(app, values) {
  const worked = workOut(app, values);
  const time = timeOf(values["air.at"]);
  if (worked) return `Air${time ? ` of ${time}` : ""}: density altitude ${app.units.text("elevation", worked.density_altitude)}`;
  return hasAir(values) ? "Air reading incomplete" : "No air reading";
}
