// One calculator on screen: its form, its answer, and the short way between them. Answers follow the fields; there is no button.

import { AnswerView } from "../answer/answer.js";
import { run, runInPieces } from "../core/compute.js";
import { el } from "../core/dom.js";
import { FormView } from "../form/form.js";
import { lastResult, onThisDevice } from "../core/lastanswer.js";
import { Tried } from "./tried.js";
import { offerUndo } from "../core/undo.js";

export class Calculator {
  // `typed` is where what is tried comes from and goes to: {start, keep(typed)}; where one may start over, `fresh`; where the
  // answer is not told as it is, `tell`. `numbers` are those of the car in use, or null. `beside` has words to say with an answer,
  // or is null. `extra` stands under the inputs.
  constructor(form, { units }, { typed = onThisDevice(form), numbers = null, asked = {}, beside = null, extra = [] } = {}) {
    Object.assign(this, { form, units, typed, beside, waiting: [] });
    this.answer = new AnswerView(form, units);
    this.tried = new Tried(form, { own: typed.start, numbers, asked });
    this.view = new FormView({ fields: form.fields, units, typed: this.tried.typed(), answerOf: lastResult, changed: (_, made) => this.onTyped(made) });
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
    this.settle(null);
    this.stopUnits();
  }

  draw() {
    this.view.draw();
    this.update();
    this.answer.draw();
  }

  // The car changed, or another one is in use.
  setNumbers(numbers) {
    this.tried.setNumbers(numbers);
    this.fill();
  }

  // Show what the car says, and over it what was tried here.
  fill() {
    this.filling = true;
    this.view.setTyped(this.tried.typed());
    this.filling = false;
    this.update();
  }

  startOver() {
    this.undoable("Started over.");
    this.clear();
  }

  clear() {
    this.tried.forget();
    this.typed.forget?.();
    if (this.form.ticks) this.typed.keep({});
    this.fill();
  }

  // What stands here now comes back at a touch.
  undoable(words) {
    const { own } = this.tried;
    offerUndo(words, () => this.putBack(own));
  }

  putBack(own) {
    this.tried.own = own;
    this.tried.refill();
    this.typed.keep(own);
    this.fill();
  }

  // Try these, as though they had been typed.
  load(typed) {
    this.undoable("Loaded.");
    this.tried.own = { ...this.tried.own, ...typed };
    this.typed.keep(this.tried.own);
    this.fill();
  }

  onTyped(made) {
    if (this.filling) return;
    const again = this.tried.note(this.view, made);
    this.typed.keep(this.form.ticks ? this.view.typed() : this.tried.own);
    if (again) this.fill();
    else this.update();
  }

  update() {
    const read = this.view.read();
    this.tried.mark(this.view);
    this.giveUp?.();
    const refused = this.tried.refused(this.view);
    if (refused.length && !read.errors) return this.showAnswer(read, { errors: { form: refused }, why: "Not updated: a value of the car is wrong." });
    if (this.form.slow && !read.errors) {
      this.view.showFormErrors([]);
      this.isWorking = true;
      this.giveUp = runInPieces(this.form, { ...read.inputs, ...this.tried.known(this.view, read) }, (answer) => this.showAnswer(read, answer));
      return this.answer.markOld(true, "Working it out …");
    }
    return this.showAnswer(read, read.errors ? read : run(this.form, read.inputs));
  }

  // What the fields now say, once that is worked out: what is kept or written to the car is never an older answer. Null where
  // a field is wrong.
  current() {
    if (!this.isWorking) return Promise.resolve(this.shown);
    return new Promise((done) => { this.waiting.push(done); });
  }

  settle(told) {
    this.isWorking = false;
    for (const done of this.waiting.splice(0)) done(told);
  }

  showAnswer(read, answer) {
    if (answer.errors) {
      this.view.showFormErrors(this.view.showErrors(answer.errors));
      this.shown = null; // an answer to other numbers is not to be kept or taken over
      this.onAnswer?.();
      this.answer.markOld(true, answer.why);
      return this.settle(null);
    }
    this.view.showFormErrors([]);
    const told = this.tried.told(this.view, read, answer);
    this.shown = this.typed.tell?.(told) ?? told;
    this.tell();
    this.typed.answered?.({ ...read.inputs, ...answer.results });
    this.onAnswer?.();
    this.settle(this.shown);
  }

  tell() {
    this.answer.show({ ...this.shown, beside: this.beside?.words(this.shown) });
  }

  // What is said beside the answer came after it.
  tellAgain() {
    if (this.shown && !this.isWorking) this.tell();
  }
}
