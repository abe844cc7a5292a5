// What was tried in a figure, to be kept in the car: only on a word, and only what was typed.

import { checkForm, fieldNamed, nameOf } from "../car/sections.js";
import { el, say } from "../core/dom.js";
import { toStored } from "../form/stored.js";
import { swapped } from "./frombuild.js";
import { offerUndo } from "../core/undo.js";

export class KeepInCar {
  constructor({ app, calculator, builds }) {
    Object.assign(this, { calculator, builds, form: calculator.form, carForm: checkForm(app) });
    this.button = el("button", { type: "button", class: "next", onclick: () => this.keep() }, "Keep in the car");
    this.words = el("p", { role: "status" });
    this.element = el("section", { class: "keep-in-car", hidden: true }, this.words, this.button);
    calculator.onAnswer = () => this.draw();
    this.draw();
  }

  // [{field, name in the car, typed, control}] of what was typed here and has a place of its own in the car.
  typed() {
    const { tried, view } = this.calculator;
    const own = this.form.fields.filter((field) => field.build && field.name in tried.own && view.applies(field));
    return own.flatMap((field) => {
      const name = swapped(this.form, field.build, (one) => tried.word(one));
      if (field.type === "section") return this.typedInside(field, name);
      const isField = name !== null && fieldNamed(this.carForm, name) !== null;
      return isField ? [{ field, name, control: view.controls.get(field.name) }] : [];
    });
  }

  typedInside(section, name) {
    const { tried, view } = this.calculator;
    const { inner } = view.controls.get(section.name);
    return section.fields.filter((field) => field.name in tried.own[section.name])
      .map((field) => ({ field, name: nameOf({ name }, field), control: inner.controls.get(field.name) }));
  }

  draw() {
    const build = this.builds.current();
    const typed = build ? this.typed() : [];
    this.element.hidden = typed.length === 0;
    if (typed.length) say(this.words, `Tried here, not in ${build.name}: ${typed.map(({ field }) => field.label.toLowerCase()).join(", ")}.`);
  }

  async keep() {
    const build = this.builds.current();
    const read = this.typed().map(({ field, name, control }) => [name, toStored(field, control.typed(), this.calculator.units)]);
    const wrong = read.find(([, { error }]) => error);
    if (wrong) return say(this.words, wrong[1].error);
    const { own } = this.calculator.tried;
    const before = Object.fromEntries(read.map(([name]) => [name, build.values[name] ?? null]));
    try {
      await this.builds.save(build.id, Object.fromEntries(read.map(([name, { value }]) => [name, value])));
    } catch (error) {
      return say(this.words, error.message);
    }
    this.calculator.clear();
    offerUndo(`Kept in ${build.name}.`, async () => {
      await this.builds.save(build.id, before);
      this.calculator.putBack(own);
    });
    say(this.words, `Kept in ${build.name}.`);
    this.element.hidden = false;
    this.button.hidden = true;
    setTimeout(() => { this.button.hidden = false; this.draw(); }, 4000);
  }
}
