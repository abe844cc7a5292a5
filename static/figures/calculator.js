// One calculator on screen: its form, its answer, and the short way between them. Answers follow the fields; there is no button.

import { AnswerView } from "../answer/answer.js";
import { run, runInPieces } from "../core/compute.js";
import { el } from "../core/dom.js";
import { FormView } from "../form/form.js";
import { lastResult, onThisDevice } from "../core/lastanswer.js";

export class Calculator {
  // `typed` is where the inputs come from and go to: {start, keep(typed)}; where one may start over, `fresh`; where the
  // answer is not told as it is, `tell`. `extra` stands under the inputs.
  constructor(form, { units }, { typed = onThisDevice(form), extra = [] } = {}) {
    this.form = form;
    this.units = units;
    this.typed = typed;
    this.answer = new AnswerView(form, units);
    this.view = new FormView({ fields: form.fields, units, typed: typed.start, answerOf: lastResult, changed: () => this.onTyped() });
    const again = typed.fresh && el("button", { type: "button", class: "plain", onclick: () => this.startOver() }, "Start over");
    this.element = el("article", { class: "calculator" },
      el("h1", { tabindex: "-1" }, form.title), el("p", { class: "intro" }, form.intro),
      this.answer.head, this.answer.words, this.answer.top,
      el("section", { class: "inputs", "aria-label": "Inputs" }, this.view.errorLine(), this.view.element, again, ...extra),
      this.answer.body,
      form.caution ? el("p", { class: "caution" }, form.caution) : null);
    this.stopUnits = units.onChange(() => this.draw());
    this.update();
  }

  stop() {
    this.giveUp?.();
    this.stopUnits();
  }

  // What the build knows better, at each field (figures/frombuild.js).
  offer(offers) {
    this.offers = offers;
    this.view.element.before(offers.all);
    offers.draw();
  }

  draw() {
    this.view.draw();
    this.update();
    this.answer.draw();
  }

  startOver() {
    this.view.setTyped(this.typed.fresh());
    this.typed.forget?.();
  }

  onTyped() {
    this.typed.keep(this.view.typed());
    this.update();
  }

  update() {
    const read = this.view.read();
    this.offers?.draw();
    this.giveUp?.();
    if (this.form.slow && !read.errors) {
      this.view.showFormErrors([]);
      this.giveUp = runInPieces(this.form, read.inputs, (answer) => this.showAnswer(read, answer));
      return this.answer.markOld(true, "Working it out …");
    }
    return this.showAnswer(read, read.errors ? read : run(this.form, read.inputs));
  }

  showAnswer(read, answer) {
    if (answer.errors) {
      this.view.showFormErrors(this.view.showErrors(answer.errors));
      return this.answer.markOld(true);
    }
    this.view.showFormErrors([]);
    const told = { ...answer, inputs: read.inputs, assumed: read.assumed };
    this.shown = this.typed.tell?.(told) ?? told;
    this.answer.show(this.shown);
    this.typed.answered?.({ ...read.inputs, ...answer.results });
    this.onAnswer?.();
  }
}
