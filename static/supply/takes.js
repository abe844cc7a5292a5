// What it takes, of the car on this screen: the figure's own calculator, asked for the target alone, worked out while it is open.

import { AnswerView } from "../answer/answer.js";
import { runInPieces, withhold } from "../core/compute.js";
import { el } from "../core/dom.js";
import { onThisDevice } from "../core/lastanswer.js";
import { FormView } from "../form/form.js";
import { asTyped } from "../form/stored.js";

const ASKED = ["target_from", "target_boost", "target_power", "target_fuel", "target_ethanol"];

export class WhatItTakes {
  // `form` is the figure's. `car()` tells {inputs, unknown, planned, known}: the check's inputs, what nobody gave, the boost that is
  // planned or null, and how well the values are known.
  constructor({ form, units, car }) {
    Object.assign(this, { form, units, car, typed: onThisDevice(form) });
    this.box = el("div");
    this.element = el("details", { class: "unfolding what-it-takes", ontoggle: () => (this.element.open ? this.open() : this.stop()) },
      el("summary", {}, "What it takes"), this.box);
  }

  open() {
    this.view ??= this.build();
    this.update();
  }

  build() {
    const { form, units } = this;
    const fields = form.fields.filter(({ name }) => ASKED.includes(name));
    this.own = { ...this.typed.start };
    this.answer = new AnswerView({ ...form, results: form.results.map((told) => ({ ...told, apart: told.type !== "table" })) }, units);
    const view = new FormView({ fields, units, typed: this.own, changed: (_, made) => this.onTyped(made) });
    this.box.append(el("p", {}, form.intro), this.answer.head, this.answer.words, this.answer.top, view.errorLine(), view.element, this.answer.body,
      el("p", {}, el("a", { class: "plain-link", href: `#/figures/${form.name}` }, "Keep the changes as a copy of the car")));
    return view;
  }

  // Only what was typed is kept; the rest follows the car, here as in the figure.
  onTyped(made) {
    if (this.filling || !made) return;
    this.own[made.field.name] = made.typed();
    this.typed.keep(this.own);
    this.update();
  }

  // The boost that is planned, unless one was typed.
  fill(planned) {
    if (planned === this.filled) return;
    this.filled = planned;
    const field = this.form.fields.find(({ name }) => name === "target_boost");
    this.filling = true;
    this.view.setTyped({ ...(planned === null ? {} : { target_boost: asTyped(field, planned, this.units) }), ...this.own });
    this.filling = false;
  }

  // The car or its setting changed.
  update() {
    this.giveUp?.();
    if (!this.element.open || !this.view) return; // an element is open a moment before it tells so
    const { inputs, unknown, planned, known } = this.car();
    this.fill(planned);
    const read = this.view.read();
    if (read.errors) return this.answer.markOld(true);
    const asked = { ...inputs, ...this.pumps, ...read.inputs };
    const key = JSON.stringify([asked, known.assumed, known.measured]);
    if (key === this.key && !this.answer.isOld) return;
    this.key = key;
    this.giveUp = runInPieces(this.form, unknown.length ? asked : { ...asked, known }, (answer) => {
      if (answer.errors) {
        this.view.showFormErrors(this.view.showErrors(answer.errors));
        return this.answer.markOld(true);
      }
      this.view.showFormErrors([]);
      this.answer.show({ ...withhold(this.form, answer, unknown), inputs: asked });
    });
    this.answer.markOld(true, "Working it out …");
  }

  // What is allowed of pumps stands in the figure.
  get pumps() {
    const of = (name) => this.form.fields.find((field) => field.name === name).assumed;
    return { largest_pump: this.own.largest_pump?.si ?? of("largest_pump"), most_pumps: this.own.most_pumps?.si ?? of("most_pumps") };
  }

  draw() {
    if (!this.view) return;
    this.view.draw();
    this.answer.draw();
  }

  stop() {
    this.giveUp?.();
    this.key = null;
  }
}
