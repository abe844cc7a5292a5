// One section of a build: its form, kept as it is typed, and what was changed in this sitting and why.

import { lastResult } from "../core/lastanswer.js";
import { el, say } from "../core/dom.js";
import { FormView } from "../form/form.js";
import { draftsOf, dropDrafts, keepDraft } from "./drafts.js";
import { inWords, nameOf, toStore, toTyped } from "./sections.js";

const REST = 1500; // ms without a key before a field counts as entered

export class SectionView {
  // `check(id)` tells what the supply check finds wrong: {"section.field": [sentence]}.
  constructor({ section, builds, build, units, check }) {
    Object.assign(this, { section, builds, units, check });
    this.id = build.id;
    this.before = build.values;
    this.stored = build.values;
    this.fields = section.fields;
    this.view = new FormView({ fields: this.fields, units, typed: this.typedFields(), answerOf: lastResult, changed: (_, made) => this.onTyped(made) });
    this.problem = el("p", { class: "error", hidden: true, role: "alert" });
    this.changed = el("ul", { class: "changed" });
    this.reason = el("input", { type: "text", id: "reason", autocomplete: "off", maxlength: 300, onchange: () => this.keepReason() });
    this.why = el("section", { class: "why", hidden: true }, el("h2", {}, "Changed just now"), this.changed,
      el("div", { class: "field" }, el("label", { for: "reason", class: "label" }, "Why? (if you like)"), this.reason));
    this.element = el("div", {}, this.view.element, this.problem, this.why);
    this.element.addEventListener("focusout", () => this.keep());
    this.leaving = () => document.visibilityState === "hidden" && this.finish();
    document.addEventListener("visibilitychange", this.leaving);
    this.stops = [units.onChange(() => this.draw()), builds.onChange(() => this.takeOver())];
    this.showWrong();
  }

  name(field) {
    return nameOf(this.section, field);
  }

  draft(field) {
    return draftsOf(this.id)[this.name(field)];
  }

  typedFields() {
    return Object.fromEntries(this.fields.map((field) => [field.name, this.draft(field)?.typed ?? toTyped(field, this.stored[this.name(field)])]));
  }

  onTyped(made) {
    if (!made) return;
    const { value, error } = toStore(made.field, made);
    keepDraft(this.id, this.name(made.field), { typed: made.typed(), value });
    made.showError(error ?? null);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.keep(), REST);
  }

  // Write what was typed and is right into the log.
  async keep() {
    clearTimeout(this.timer);
    const right = this.fields.map((field) => this.name(field)).filter((name) => draftsOf(this.id)[name]?.value !== undefined);
    if (!right.length) return;
    const drafts = draftsOf(this.id);
    const values = Object.fromEntries(right.map((name) => [name, drafts[name].value]));
    try {
      await this.builds.save(this.id, values);
    } catch (error) {
      this.problem.hidden = false;
      return say(this.problem, error.message);
    }
    this.problem.hidden = true;
    this.stored = { ...this.stored, ...values };
    const now = draftsOf(this.id);
    dropDrafts(this.id, right.filter((name) => JSON.stringify(now[name]) === JSON.stringify(drafts[name]))); // not what was typed on meanwhile
    this.showChanges();
    this.showWrong();
  }

  // Another device or page changed this build.
  takeOver() {
    const now = this.builds.get(this.id);
    if (!now) return;
    for (const field of this.fields) {
      const name = this.name(field);
      const made = this.view.controls.get(field.name);
      const same = JSON.stringify(now.values[name] ?? null) === JSON.stringify(this.stored[name] ?? null);
      if (same || this.draft(field) || made.element.contains(document.activeElement)) continue;
      this.stored = { ...this.stored, [name]: now.values[name] };
      made.setTyped(toTyped(field, now.values[name]));
    }
    this.view.hideWhatDoesNotApply();
  }

  // The check's own sentences, where they belong to a field of this section.
  showWrong() {
    const errors = this.check(this.id);
    for (const field of this.fields) {
      const made = this.view.controls.get(field.name);
      const typedWrong = this.draft(field) ? toStore(field, made).error : null;
      made.showError(typedWrong ?? errors[this.name(field)]?.join(" ") ?? null);
    }
  }

  get changes() {
    return this.fields.filter((field) => {
      const name = this.name(field);
      return this.before[name] != null && JSON.stringify(this.before[name]) !== JSON.stringify(this.stored[name] ?? null);
    });
  }

  showChanges() {
    const { changes } = this;
    this.why.hidden = changes.length === 0;
    this.changed.replaceChildren(...changes.map((field) => {
      const name = this.name(field);
      return el("li", {}, changeLine(field, this.before[name], this.stored[name], this.units));
    }));
  }

  async keepReason() {
    const text = this.reason.value.trim();
    const { changes } = this;
    if (!changes.length || text === (this.keptReason ?? "")) return;
    this.keptReason = text;
    await this.builds.save(this.id, { reason: { text, fields: changes.map((field) => this.name(field)) } });
  }

  async finish() {
    await this.keep();
    await this.keepReason();
  }

  draw() {
    this.view.draw();
    this.showChanges();
  }

  stop() {
    document.removeEventListener("visibilitychange", this.leaving);
    for (const stop of this.stops) stop();
    return this.finish();
  }
}

// "Base fuel pressure: 6 psi → 6.5 psi"
export function changeLine(field, from, to, units) {
  return el("span", {}, `${field.label}: `, el("s", {}, inWords(field, from, units)), " → ", el("strong", {}, inWords(field, to, units)));
}
