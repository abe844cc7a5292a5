// What a figure found, as a copy of the car: the car itself stays as it is.

import { boostField } from "../car/check.js";
import { checkForm, fieldNamed } from "../car/sections.js";
import { freeName } from "../car/store.js";
import { el, say } from "../core/dom.js";
import { asTyped, toStored } from "../form/stored.js";
import { offerUndo } from "../core/undo.js";

const SHEET = "kept.carburettor_sheet";

export class CopyCar {
  constructor({ app, calculator, builds }) {
    Object.assign(this, { calculator, builds, units: app.units, form: calculator.form, carForm: checkForm(app) });
    this.words = el("p", { role: "status" });
    this.button = el("button", { type: "button", class: "next", onclick: () => this.copy() }, this.form.copies);
    this.element = el("section", { class: "keep-in-car", hidden: true }, this.words, this.button);
  }

  draw() {
    this.element.hidden = !this.builds.current() || !this.fields();
  }

  // {name in the car: value in SI or a word} of an answer, or nothing where it is none of the car.
  fields(answer = this.calculator.shown) {
    return answer && !answer.unknown?.length ? answer.results.copy : null;
  }

  async copy() {
    const answer = await this.calculator.current();
    const fields = this.fields(answer);
    if (!fields) return; // what was typed meanwhile has no answer that could be kept
    const build = this.builds.current();
    const stored = Object.entries(fields).map(([name, value]) => {
      const field = name === "boost" ? boostField(this.carForm) : fieldNamed(this.carForm, name).field;
      return [name, value == null ? null : toStored(field, asTyped(field, value, this.units), this.units).value];
    });
    const sheet = this.sheet(build, answer.results.copy_kept);
    const name = freeName(`${build.name}, ${this.form.title.toLowerCase()}`, this.builds.list());
    try {
      const made = await this.builds.create({ ...build.values, ...Object.fromEntries(stored), ...sheet, reason: null, name });
      offerUndo(`${name} is now the car in use.`, () => this.builds.discard(made, build.id));
      say(this.words, `Kept as “${name}”, which is now the car in use.`);
    } catch (error) {
      say(this.words, error.message);
    }
  }

  // The carburettor's sheet that the car keeps, with its new sizes.
  sheet(build, sizes) {
    const kept = build.values[SHEET];
    if (!sizes || !kept) return {};
    const field = (name) => this.form.fields.find((one) => one.name === name);
    const stored = Object.entries(sizes).map(([name, si]) => [name, si === null ? null : toStored(field(name), asTyped(field(name), si, this.units), this.units).value]);
    return { [SHEET]: { ...kept, ...Object.fromEntries(stored) } };
  }
}
