// One section of a build: its form, kept as it is typed, and what was changed in this sitting and why.

import { lastResult } from "../core/lastanswer.js";
import { el, say } from "../core/dom.js";
import { inWords as errorInWords } from "../core/told.js";
import { FormView } from "../form/form.js";
import { readStored, toStored, toTyped } from "../form/stored.js";
import { Drafts, draftsOf } from "../log/drafts.js";
import { inWords, nameOf } from "./sections.js";
import { measuredMark, measuredOf } from "./sure.js";
import { offerUndo } from "../core/undo.js";
import { inSentence } from "../core/words.js";

export class SectionView {
  // `check(id)` tells what the supply check finds wrong: {"section.field": [sentence]}.
  // `plain`: the fields alone, with no place for the reason of a change and no mark for what was measured.
  constructor({ section, form, builds, build, units, check, plain = false }) {
    Object.assign(this, { section, form, builds, units, check });
    this.id = build.id;
    this.before = build.values;
    this.stored = build.values;
    this.fields = section.fields;
    this.drafts = new Drafts(builds.log, this.id, "build", { onSaved: (values) => this.onSaved(values), onFailed: (error) => this.onFailed(error) });
    this.view = new FormView({ fields: this.fields, units, typed: this.typedFields(), answerOf: lastResult, changed: (_, made) => this.onTyped(made) });
    this.problem = el("p", { class: "error", hidden: true, role: "alert" });
    this.changed = el("ul", { class: "changed" });
    this.reason = el("input", { type: "text", id: "reason", autocomplete: "off", maxlength: 300, onchange: () => this.keepReason() });
    this.why = el("section", { class: "why", hidden: true }, el("h2", {}, "Changed just now"), this.changed,
      el("div", { class: "field" }, el("label", { for: "reason", class: "label" }, "Why? (optional)"), this.reason));
    this.element = el("div", {}, this.view.element, this.problem, plain ? null : this.why);
    this.element.addEventListener("focusout", () => this.drafts.flush());
    this.leaving = () => document.visibilityState === "hidden" && this.keepReason();
    document.addEventListener("visibilitychange", this.leaving);
    this.stops = [units.onChange(() => this.draw()), builds.onChange(() => this.takeOver())];
    this.showWrong();
    this.marks = new Map((plain ? [] : this.fields).filter((field) => this.spreadOf(field)).map((field) => [field.name, this.drawMark(field)]));
    this.showMeasured();
  }

  spreadOf(field) {
    return this.form.spreads.find((told) => told.section === this.section.name && told.field === field.name);
  }

  // One touch at a value that was typed: it was measured on this car, so less doubt counts for it.
  drawMark(field) {
    const button = el("button", { type: "button", class: "plain measured-mark", onclick: () => this.toggleMeasured(field) });
    const { how } = this.spreadOf(field);
    this.view.controls.get(field.name).element.append(el("p", { class: "measured-line" }, button), ...(how ? [el("p", { class: "how" }, how)] : []));
    return button;
  }

  showMeasured() {
    const values = this.builds.get(this.id)?.values ?? {};
    const measured = measuredOf(values);
    for (const [name, button] of this.marks) {
      const full = `${this.section.name}.${name}`;
      const is = measured[full] !== undefined;
      const row = button.parentElement;
      row.hidden = values[full] == null;
      if (row.nextElementSibling?.matches(".how")) row.nextElementSibling.hidden = row.hidden || is;
      button.setAttribute("aria-pressed", String(is));
      say(button, is ? "Measured: take back" : "Mark as measured");
    }
  }

  async toggleMeasured(field) {
    await this.drafts.flush();
    const { values } = this.builds.get(this.id);
    const name = this.name(field);
    await this.builds.save(this.id, measuredMark(name, measuredOf(values)[name] === undefined ? values[name] : null));
    this.showMeasured();
  }

  name(field) {
    return nameOf(this.section, field);
  }

  typedFields() {
    const left = draftsOf(this.id);
    return Object.fromEntries(this.fields.map((field) => [field.name, left[this.name(field)]?.typed ?? toTyped(field, this.stored[this.name(field)], this.units)]));
  }

  onTyped(made) {
    if (!made) return;
    const typed = made.typed();
    const { value, error } = toStored(made.field, typed, this.units);
    this.drafts.set({ [this.name(made.field)]: error ? { typed, error } : { typed, value } });
    made.offerToClear(null);
    made.showError(error ?? null);
  }

  onSaved(values) {
    this.problem.hidden = true;
    this.stored = { ...this.stored, ...values };
    this.takeOver(); // where something newer stands, that is shown
    this.showChanges();
    this.showMeasured();
  }

  onFailed(error) {
    this.problem.hidden = false;
    say(this.problem, errorInWords(error, "This could not be kept on this device. It is tried again as you type."));
  }

  // Another device or page changed this build.
  takeOver() {
    const now = this.builds.get(this.id);
    if (!now) return;
    for (const field of this.fields) {
      const name = this.name(field);
      const made = this.view.controls.get(field.name);
      const same = JSON.stringify(now.values[name] ?? null) === JSON.stringify(this.stored[name] ?? null);
      if (same || this.drafts.has(name) || made.element.contains(document.activeElement)) continue;
      this.stored = { ...this.stored, [name]: now.values[name] };
      made.setTyped(toTyped(field, now.values[name], this.units));
    }
    this.view.hideWhatDoesNotApply();
    this.showWrong();
  }

  // What is typed wrong, what lies in the log and cannot be read, and the check's own sentences, where they belong to a field here.
  showWrong() {
    const errors = this.check(this.id);
    const left = draftsOf(this.id);
    for (const field of this.fields) {
      const name = this.name(field);
      const made = this.view.controls.get(field.name);
      const typedWrong = left[name]?.error ? toStored(field, made.typed(), this.units).error : null;
      const unreadable = left[name] ? null : readStored(field, this.stored[name]).error ?? null;
      made.showError(typedWrong ?? errors[name]?.join(" ") ?? null);
      made.offerToClear(unreadable, () => this.clear(field));
    }
  }

  async clear(field) {
    const name = this.name(field);
    const value = this.stored[name];
    await this.put(field, null);
    offerUndo("Cleared.", () => this.builds.save(this.id, { [name]: value }));
  }

  async putBack(field) {
    await this.drafts.flush();
    await this.put(field, this.before[this.name(field)]);
    this.showChanges();
    this.showMeasured();
    (this.why.hidden ? document.querySelector("#place h1") : this.reason).focus({ preventScroll: true });
  }

  // A value that was not typed here: kept, and shown in its field.
  async put(field, value) {
    const name = this.name(field);
    await this.builds.save(this.id, { [name]: value });
    this.stored = { ...this.stored, [name]: value };
    this.view.controls.get(field.name).setTyped(toTyped(field, value, this.units));
    this.view.hideWhatDoesNotApply();
    this.showWrong();
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
      return el("li", {}, changeLine(field, this.before[name], this.stored[name], this.units),
        el("button", { type: "button", class: "plain", "aria-label": `Put back ${inSentence(field.label)}`, onclick: () => this.putBack(field) }, "Put back"));
    }));
  }

  async keepReason() {
    const text = this.reason.value.trim();
    const { changes } = this;
    if (!changes.length || text === (this.keptReason ?? "")) return;
    this.keptReason = text;
    await this.builds.save(this.id, { reason: { text, fields: changes.map((field) => this.name(field)) } });
  }


  draw() {
    this.view.draw();
    this.showChanges();
  }

  async stop() {
    document.removeEventListener("visibilitychange", this.leaving);
    for (const stop of this.stops) stop();
    await this.drafts.stop();
    await this.keepReason();
  }
}

// "Base fuel pressure: 6 psi → 6.5 psi"
export function changeLine(field, from, to, units) {
  return el("span", {}, `${field.label}: `, el("s", {}, inWords(field, from, units)), " → ", el("strong", {}, inWords(field, to, units)));
}
