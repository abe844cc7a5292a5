// Jotting a pass or a note: the few numbers that matter at the line first, on one phone screen; saved as they are typed.

import { el, newId as newElementId, say } from "../core/dom.js";
import { inWords } from "../core/told.js";
import { FormView } from "../form/form.js";
import { Drafts } from "../log/drafts.js";
import { newId } from "../log/edit.js";
import { storageState } from "../log/storage.js";
import { AirPart } from "./airpart.js";
import { lastReading } from "./air.js";
import { before, fieldsOf, nextRun, passesOf, placeOf, title } from "./told.js";
import { dayInWords, dayOf, isGiven, millisecondsOf, momentOf, timeOf, toStore, toTyped, unreadable } from "./values.js";
import { offerUndo } from "../core/undo.js";

const SAME_OUTING = 16 * 60 * 60 * 1000; // ms: so long after the last pass, place and length are taken to be the same
const METER = ["reading_given", "meter_fuel", "meter_ratio"];

export class Jot {
  // `id` of a record that is there, or null for a new one.
  constructor(app, { log, builds }, kind, id) {
    Object.assign(this, { app, log, builds, kind, isNew: id === null });
    this.id = id ?? newId();
    this.fields = fieldsOf(app, kind);
    const first = this.isNew ? this.beginning() : {};
    this.values = { ...this.view?.values, ...first };
    this.draft = new Drafts(log, this.id, kind, { first, onSaved: () => this.onSaved(), onFailed: (error) => this.onFailed(error) });
    this.form = new FormView({ fields: [...this.fields.values()], units: app.units, typed: this.typedFrom(this.values), changed: () => this.onTyped() });
    this.known = this.stored();
    this.air = new AirPart(app, log, this.values, (values) => this.keep(values));
    this.draw();
    this.stops = [app.units.onChange(() => this.onUnits()), log.onChange(({ records }) => records.has(this.id) && this.onChanged())];
  }

  get view() {
    return this.log.get(this.id);
  }

  get name() {
    return title({ kind: this.kind, values: this.values });
  }

  // What follows by itself for a new record.
  beginning() {
    const values = { when: momentOf(new Date()), ...lastReading(this.app, this.log) };
    const [last] = passesOf(this.log);
    const recent = last && millisecondsOf(values.when) - millisecondsOf(last.values.when) < SAME_OUTING;
    if (recent) Object.assign(values, pick(last.values, ["place"]));
    if (this.kind !== "pass") return values;
    if (recent) Object.assign(values, pick(last.values, ["track"]));
    if (last) Object.assign(values, pick(last.values, METER));
    const build = this.builds.current();
    if (build) Object.assign(values, { build: build.id, build_at: this.log.get(build.id).at });
    return { ...values, run: this.runFor(values) };
  }

  runFor(values) {
    const run = nextRun(this.log, values, this.id);
    return { si: run, text: String(run), unit: "" };
  }

  typedFrom(values) {
    return Object.fromEntries([...this.fields].map(([name, field]) => [name, toTyped(field, values[name], this.app.units)]));
  }

  stored() {
    const typed = this.form.typed();
    return Object.fromEntries([...this.fields].map(([name, field]) => [name, toStore(field, typed[name], this.app.units)]));
  }

  // Only what the user changed here is kept, so that another phone's values are not written over.
  onTyped() {
    const now = this.stored();
    const changed = Object.keys(now).filter((name) => JSON.stringify(now[name]) !== JSON.stringify(this.known[name]));
    this.known = now;
    if (changed.length === 0) return;
    this.showWrong();
    const values = pick(now, changed);
    if (this.kind === "pass" && !changed.includes("run") && (changed.includes("place") || changed.includes("when")) && this.isNew && !this.ownRun) {
      values.run = this.runFor({ ...this.values, ...values });
      this.show("run", values.run);
    }
    if (changed.includes("run")) this.ownRun = true;
    this.keep(values);
  }

  keep(values) {
    const first = this.isNew && !this.named;
    // The time is that of the first thing typed; the screen may have been open for long.
    if (first && !("when" in values)) this.show("when", momentOf(new Date()));
    Object.assign(this.values, values);
    const typed = Object.entries(first ? { when: this.values.when, ...values } : values);
    this.draft.set(Object.fromEntries(typed.map(([name, value]) => [name, { value }])));
    if (first) this.takeAddress();
    say(this.state, "Typing…");
    this.drawHead();
  }

  // From the first thing typed the record has an address of its own, so that a page that was killed comes back to it.
  takeAddress() {
    this.named = true;
    history.replaceState(history.state, "", `#/passes/${this.id}/jot`);
    this.done.hash = `#/passes/${this.id}`;
    storageState({ ask: true }).catch(() => {});
  }

  onSaved() {
    say(this.state, "Kept on this device.");
  }

  onFailed(error) {
    say(this.state, `Not kept yet: ${inWords(error, "this device did not take it. It is tried again as you type.")}`);
  }

  // Another phone changed something; what is being typed here stays.
  onChanged() {
    const { values } = this.view;
    for (const [name, field] of this.fields) {
      if (this.draft.has(name) || JSON.stringify(values[name] ?? null) === JSON.stringify(this.values[name] ?? null)) continue;
      this.show(name, values[name] ?? null, field);
    }
    this.values = { ...values, ...this.draft.values };
    this.air.show(this.values);
    this.drawHead();
  }

  show(name, value) {
    const field = this.fields.get(name);
    const made = this.form.controls.get(name);
    made.setTyped(toTyped(field, value, this.app.units));
    this.values[name] = value;
    this.known[name] = toStore(field, made.typed(), this.app.units);
    this.form.hideWhatDoesNotApply();
  }

  onUnits() {
    this.form.draw();
    this.air.draw();
    this.known = this.stored();
  }

  sameAsLast() {
    const last = before({ id: this.id, kind: this.kind, values: this.values, at: "9" }, passesOf(this.log));
    const stays = this.app.records.pass.stays.filter((name) => isGiven(last?.values[name]) && !isGiven(this.values[name]));
    if (stays.length === 0) return say(this.state, last ? "Nothing to copy; it is all filled in." : "There is no pass before this one.");
    const words = `Copied from ${title(last).toLowerCase()}: ${stays.map((name) => this.fields.get(name).label.toLowerCase()).join(", ")}.`;
    offerUndo(words, () => this.putBack(Object.fromEntries(stays.map((name) => [name, null]))));
    for (const name of stays) this.show(name, last.values[name]);
    this.keep(pick(last.values, stays));
  }

  // Drawing

  draw() {
    this.heading = el("h1", { tabindex: "-1" });
    this.where = el("span", { class: "jot-where" });
    this.state = el("p", { class: "kept", role: "status" });
    this.done = el("a", { class: "next at-thumb", href: this.isNew ? "#/passes" : `#/passes/${this.id}` }, "Done");
    const groups = this.app.records[this.kind].groups;
    const parts = groups.map((group) => this.drawGroup(group));
    const head = el("details", { class: "jot-head" }, el("summary", {}, this.heading, this.where), parts.shift());
    const same = this.kind === "pass" ? el("button", { type: "button", onclick: () => this.sameAsLast() }, "Same as last pass") : null;
    this.form.element.remove();
    this.element = el("article", { class: `jot jot-${this.kind}` }, head, el("div", { class: "jot-tools" }, same, this.done),
      this.air.element, parts[0], this.state, ...parts.slice(1));
    this.element.querySelector(".group-car h2")?.after(this.drawBuild());
    this.suggestPlaces();
    this.walkWithEnter();
    this.drawHead();
    this.showWrong();
  }

  // What is typed wrong, and what lies in the log and cannot be read.
  showWrong() {
    this.form.read();
    for (const [name, field] of this.fields) {
      const words = this.draft.has(name) ? null : unreadable(field, this.values[name]);
      this.form.controls.get(name).offerToClear(words, () => this.clear(name));
    }
  }

  putBack(values) {
    for (const [name, value] of Object.entries(values)) this.show(name, value);
    this.keep(values);
    this.showWrong();
  }

  clear(name) {
    const value = this.values[name];
    offerUndo("Cleared.", () => this.putBack({ [name]: value }));
    this.show(name, null);
    this.keep({ [name]: null });
    this.showWrong();
  }

  drawGroup({ name, label, fields }) {
    const controls = fields.map((field) => this.form.controls.get(field).element);
    return el("section", { class: `group group-${name}`, "aria-label": label || null }, label && name !== "line" ? el("h2", {}, label) : null, ...controls);
  }

  // The build that the pass was made with; the current one goes in by itself.
  drawBuild() {
    const known = this.builds.list();
    if (known.length === 0) return el("a", { class: "line-link", href: "#/build" }, "No build yet: enter the car to have each gauge reading checked");
    const chosen = typeof this.values.build === "string" ? this.values.build : "";
    const gone = chosen && !known.some(({ id }) => id === chosen) ? [{ id: chosen, name: "a deleted build" }] : [];
    const select = el("select", { onchange: () => this.keep({ build: select.value || null, build_at: select.value ? this.log.get(select.value).at : null }) },
      el("option", { value: "" }, "none"), ...[...known, ...gone].map(({ id, name }) => el("option", { value: id }, name)));
    select.value = chosen;
    return el("label", { class: "pick-one" }, el("span", {}, "Build"), select);
  }

  drawHead() {
    say(this.heading, this.name);
    const place = placeOf(this.values);
    say(this.where, [timeOf(this.values.when) || "no time", dayOf(this.values) === momentOf(new Date()).slice(0, 10) ? null : dayInWords(dayOf(this.values)), place || "place?"]
      .filter(Boolean).join(" · "));
  }

  // The places of the log, the latest first.
  suggestPlaces() {
    const id = newElementId("places");
    const known = [...new Set([...passesOf(this.log), ...this.log.list("note")].map((view) => placeOf(view.values)).filter(Boolean))].slice(0, 30);
    const { input } = this.form.controls.get("place");
    input.setAttribute("list", id);
    input.after(el("datalist", { id }, ...known.map((place) => el("option", { value: place }))));
  }

  // Enter goes on to the next field, as the key on the phone's keyboard says.
  walkWithEnter() {
    for (const input of this.element.querySelectorAll("input")) {
      input.enterKeyHint = "next";
      input.addEventListener("keydown", (event) => event.key === "Enter" && this.goOn(event));
    }
    this.element.addEventListener("focusout", () => this.draft.flush());
  }

  goOn(event) {
    event.preventDefault();
    const all = [...this.element.querySelectorAll("input, textarea")].filter((input) => input.type !== "radio" && input.checkVisibility());
    const next = all[all.indexOf(event.target) + 1];
    if (next) next.focus();
    else event.target.blur();
  }

  // The keyboard is up at once: the first number can be typed without a tap.
  begin() {
    const first = this.kind === "pass" ? this.form.controls.get("boost").input : this.form.controls.get("words").input;
    if (this.isNew) first.focus({ preventScroll: true });
  }

  stop() {
    for (const stop of this.stops) stop();
    return this.draft.stop();
  }
}

const pick = (values, names) => Object.fromEntries(names.filter((name) => isGiven(values[name])).map((name) => [name, values[name]]));
