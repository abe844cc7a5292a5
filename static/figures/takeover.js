// What a figure measured on the car, written to it as measured, each with the spread that was found.

import { checkForm, fieldNamed } from "../car/sections.js";
import { measuredMark } from "../car/sure.js";
import { el, rebuild, say } from "../core/dom.js";
import { asTyped, toStored } from "../form/stored.js";
import { saveWithUndo } from "../core/undo.js";

export class TakeOver {
  constructor({ app, calculator, builds }) {
    Object.assign(this, { calculator, builds, units: app.units, carForm: checkForm(app) });
    this.list = el("ul", {});
    this.words = el("p", { role: "status" });
    this.button = el("button", { type: "button", class: "next", onclick: () => this.take() }, calculator.form.takes_over);
    this.element = el("section", { class: "keep-in-car take-over", hidden: true }, this.list, this.button, this.words);
  }

  // Rows {field, name in the car, value to store, half-width or null}; nothing while there is no answer, or one of an example.
  rows(shown = this.calculator.shown) {
    const build = this.builds.current();
    const rows = build && shown && !shown.example ? shown.results.take_over ?? [] : [];
    return rows.map(({ name, value, half }) => {
      const { field } = fieldNamed(this.carForm, name);
      const { relative } = this.carForm.spreads.find((told) => `${told.section}.${told.field}` === name) ?? {};
      return { field, name, half, relative, value: value === null ? null : toStored(field, asTyped(field, value, this.units), this.units).value };
    }).filter(({ value }) => value !== undefined);
  }

  draw() {
    const rows = this.rows();
    this.element.hidden = rows.length === 0;
    if (rows.length) rebuild(this.list, [this.builds.current().name, this.units.system, rows], () => rows.filter(({ half }) => half !== null).map((row) => el("li", {}, this.inWords(row))));
  }

  inWords({ field, value, half, relative }) {
    const { units } = this;
    const kind = relative ? "fraction" : field.kind === "gauge_pressure" ? "pressure_difference" : field.kind;
    const spread = half > 0 ? `, give or take ${units.text(kind, half)}` : "";
    if (field.type === "table") return `${field.label}: ${value.length} points${spread}`;
    return `${field.label} ${value.text} ${value.unit}${spread}`.replace(/ +(?=,|$)/g, "");
  }

  async take() {
    const answer = await this.calculator.current();
    if (!answer) return;
    const build = this.builds.current();
    const rows = this.rows(answer);
    const marks = rows.filter(({ half }) => half !== null).map(({ name, value, half }) => measuredMark(name, value, half));
    const values = Object.fromEntries(rows.map(({ name, value }) => [name, value]));
    try {
      await saveWithUndo(build.values, Object.assign(values, ...marks), (all) => this.builds.save(build.id, all), `Written to ${build.name} as measured.`);
      await this.builds.save(build.id, { reason: { text: this.calculator.form.title, fields: rows.map(({ name }) => name) } });
    } catch (error) {
      say(this.words, error.message);
    }
  }
}
