// A form drawn from its description: the controls, what applies, what was typed. It knows nothing of answers.

import { control } from "./fields.js";
import { applies, assumedOf, read, sayer } from "./read.js";
import { el, say } from "../core/dom.js";

export class FormView {
  // options: {fields, units, typed: {name: typed}, changed(form, control), answerOf(form, result)}; the control is the one
  // that was changed, undefined where all were.
  constructor({ fields, units, typed = {}, changed, answerOf = () => null }) {
    this.fields = fields;
    this.units = units;
    this.changed = changed;
    this.controls = new Map();
    this.folds = new Map();
    this.element = el("div", { class: "form" });
    for (const field of fields) {
      const context = { units, typed: typed[field.name], answerOf, changed: () => this.onChange(made) };
      const made = field.type === "section" ? new SectionControl(field, context) : control(field, context);
      this.controls.set(field.name, made);
      (field.fold ? this.foldOf(field.fold).box : this.element).append(made.element);
    }
    this.element.append(...[...this.folds.values()].map(({ element }) => element));
    this.hideWhatDoesNotApply();
  }

  // Fields that are rarely wanted stand behind a line to tap.
  foldOf(title) {
    if (!this.folds.has(title)) {
      const count = el("span", { class: "counts" });
      const box = el("div", { class: "form" });
      const element = el("details", { class: "fold unfolding" }, el("summary", {}, el("span", { class: "entry-head" }, el("span", {}, title), count)), box);
      this.folds.set(title, { element, box, count });
    }
    return this.folds.get(title);
  }

  drawFolds() {
    for (const [title, { element, box, count }] of this.folds) {
      const inside = this.fields.filter((field) => field.fold === title).map((field) => this.controls.get(field.name));
      element.hidden = inside.every((made) => made.element.hidden);
      const given = inside.filter((made) => !made.element.hidden && isGiven(made)).length;
      const ticks = inside.every((made) => made.field.type === "flag") && inside.length > 1;
      const assumed = inside.every(({ field }) => field.default == null);
      const offered = box.querySelectorAll(".field:not([hidden]) > .take:not([hidden])").length;
      const words = [given ? `${given} given` : assumed ? "assumed" : null, offered ? `${offered} to take over` : null];
      say(count, ticks ? `${given} of ${inside.length}` : words.filter(Boolean).join(", "));
    }
  }

  onChange(made) {
    this.hideWhatDoesNotApply();
    this.changed(this, made);
  }

  // Units changed, or an answer that can be taken over did.
  draw() {
    for (const made of this.controls.values()) made.draw();
    this.drawFolds();
  }

  setTyped(typed) {
    for (const [name, made] of this.controls) made.setTyped(typed[name]);
    this.onChange();
  }

  typed() {
    const all = {};
    for (const [name, made] of this.controls) if (made.typed() != null) all[name] = made.typed();
    return all;
  }

  applies(field) {
    return applies(field, this.said);
  }

  hideWhatDoesNotApply() {
    this.said = sayer(this.fields, this.typed(), this.units);
    for (const field of this.fields) {
      const made = this.controls.get(field.name);
      made.element.hidden = !this.applies(field);
      if (field.by) made.choose(this.said(field.by));
      if (field.assumed_by) made.assume(assumedOf(field, this.said));
    }
    this.drawFolds();
  }

  // {inputs, assumed, errors} of form/read.js. Errors are shown at their fields.
  read() {
    const told = read(this.fields, this.typed(), this.units);
    this.showErrors(told.errors ?? {});
    return told;
  }

  // Returns the sentences that belong to no field shown here.
  showErrors(errors) {
    for (const [name, made] of this.controls) {
      made.showError(errors[name]?.join(" ") ?? null);
      if (errors[name] && made.field?.fold) this.folds.get(made.field.fold).element.open = true;
      made.showErrors?.(Object.fromEntries(Object.entries(errors).filter(([key]) => key.startsWith(`${name}.`)).map(([key, said]) => [key.slice(name.length + 1), said])));
    }
    return Object.entries(errors).filter(([name]) => !this.controls.has(name.split(".")[0])).flatMap(([, sentences]) => sentences);
  }

  errorLine() {
    this.line ??= el("p", { class: "error", hidden: true });
    return this.line;
  }

  showFormErrors(sentences) {
    const line = this.errorLine();
    line.hidden = sentences.length === 0;
    say(line, sentences.join(" "));
  }
}

// A group of fields as one control: a form within the form, folded until it is wanted.
class SectionControl {
  constructor(field, { units, typed, answerOf, changed }) {
    this.field = field;
    this.inner = new FormView({ fields: field.fields, units, typed: typed ?? {}, answerOf, changed: () => { this.sayCount(); changed(); } });
    this.count = el("span", { class: "counts" });
    this.error = el("p", { class: "error", hidden: true });
    this.element = el("details", { class: "section unfolding", "data-field": field.name },
      el("summary", {}, el("span", { class: "entry-head" }, el("span", {}, field.label), this.count)), this.error, this.inner.element);
    this.sayCount();
  }

  sayCount() {
    const given = Object.keys(this.inner.typed()).length;
    say(this.count, given ? `${given} given` : "all assumed");
  }

  typed() {
    const typed = this.inner.typed();
    return Object.keys(typed).length ? typed : null;
  }

  setTyped(typed) {
    this.inner.setTyped(typed ?? {});
  }

  showError(sentence) {
    this.error.hidden = !sentence;
    say(this.error, sentence ?? "");
  }

  showErrors(errors) {
    this.inner.showErrors(errors);
    if (Object.keys(errors).length) this.element.open = true;
  }

  draw() {
    this.inner.draw();
  }
}

// Said by the user, and not only what the page starts with.
function isGiven(made) {
  const typed = made.typed();
  return made.field.type === "flag" ? typed === true : typed != null && typed !== (made.field.default ?? null);
}
