// One calculator on screen: its form, its answer, and the short way between them. Answers follow the fields; there is no button.

import { AnswerView } from "./answer.js";
import { run } from "./compute.js";
import { el } from "./dom.js";
import { FormView } from "./form.js";
import { recall, remember } from "./memory.js";

export class Calculator {
  constructor(form, { units }) {
    this.form = form;
    this.units = units;
    this.answer = new AnswerView(form, units);
    this.view = new FormView({
      fields: form.fields, units, typed: recall(`form.${form.name}`, {}), answerOf: lastResult,
      changed: () => this.onTyped(),
    });
    const again = el("button", { type: "button", class: "plain", onclick: () => this.view.setTyped({}) }, "Start over");
    this.element = el("article", { class: "calculator" },
      el("h1", { tabindex: "-1" }, form.title), el("p", { class: "intro" }, form.intro),
      this.answer.head, this.answer.words,
      el("section", { class: "inputs", "aria-label": "Inputs" }, this.view.errorLine(), this.view.element, again),
      this.answer.body,
      form.caution ? el("p", { class: "caution" }, form.caution) : null);
    this.stop = units.onChange(() => this.draw());
    this.update();
  }

  draw() {
    this.view.draw();
    this.update();
    this.answer.draw();
  }

  onTyped() {
    remember(`form.${this.form.name}`, this.view.typed());
    remember(`typed-at.${this.form.name}`, Date.now());
    // One answer a frame, however fast the keys or the slider come.
    this.frame ??= requestAnimationFrame(() => {
      this.frame = null;
      this.update();
    });
  }

  update() {
    const read = this.view.read();
    const answer = read.errors ? read : run(this.form, read.inputs);
    if (answer.errors) {
      this.view.showFormErrors(this.view.showErrors(answer.errors));
      return this.answer.markOld(true);
    }
    this.view.showFormErrors([]);
    this.answer.show({ ...answer, inputs: read.inputs, assumed: read.assumed });
    rememberNumbers(this.form.name, { ...read.inputs, ...answer.results });
  }
}

// The last good numbers of a form, put in or worked out, for another form's "take over" button.
function rememberNumbers(name, numbers) {
  const plain = Object.fromEntries(Object.entries(numbers).filter(([, value]) => typeof value === "number"));
  remember(`answer.${name}`, plain);
}

export function lastResult(formName, resultName) {
  return recall(`answer.${formName}`, {})[resultName] ?? null;
}

// When something was last typed in a form [ms since 1970], or null where it only shows what it starts with.
export function typedAt(formName) {
  return recall(`typed-at.${formName}`);
}
