// Picking the columns of a file: which is what, in what unit, gauge or absolute, tapped where. What the heading says is set
// and marked as its word; what nobody says is asked.

import { oneByOne } from "../core/breath.js";
import { plain } from "../core/compute.js";
import { el, newId, say } from "../core/dom.js";
import { fromHeading, openQuestions, ROLES } from "./columns.js";
import { clockIn, numberIn } from "./table.js";
import { spelled } from "../core/words.js";

const SHOWN_VALUES = 3;
const READINGS = {
  boost: [["gauge", "Boost: 0 with the engine off"], ["absolute", "Absolute: the air's pressure with the engine off"]],
  fuel: [["gauge", "0 with the pump off"], ["absolute", "Absolute: the air's pressure with the pump off"]],
  mixture: [["lambda", "Lambda, 1 is balanced"], ["display", "The meter's air-fuel ratio"]],
};
const TAPPED = () => [["carburettor", spelled("At the carburettor")], ["regulator", "At the regulator"]];

export class ColumnPicker {
  // `told`: {shape, picked, ambient: SI or null, ratios: {fuel: ratio}, onRead(picked, ambient)}
  constructor(units, { shape, picked, ambient, ratios, onRead }) {
    Object.assign(this, { units, shape, picked, ambient, ratios, onRead });
    this.rows = el("div");
    this.left = el("p", { class: "help", role: "status" });
    this.read = el("button", { type: "button", class: "next", onclick: () => this.done() }, "Read the file");
    this.element = el("section", { class: "pick-columns" }, el("h2", {}, "Which column is what?"),
      el("p", { class: "help" }, "Picked once: the next file with this heading is read at once."), this.rows, this.left, this.read);
    this.draw();
  }

  draw() {
    const optional = ROLES.filter(({ needed }) => !needed);
    const isAsked = openQuestions(this.picked).some(([name]) => optional.some((role) => role.name === name));
    this.found = el("summary");
    const more = el("details", { class: "unfolding", open: isAsked }, this.found);
    this.air = this.ambientRow();
    const needed = el("div");
    this.rows.replaceChildren(needed, this.air, more);
    this.tell();
    // One by one: a file of a hundred columns makes long lists.
    this.drawn = new Map();
    oneByOne(ROLES.map((role) => () => {
      this.drawn.set(role, this.row(role));
      (role.needed ? needed : more).append(this.drawn.get(role));
    }), () => true);
  }

  // A row whose column or reading was chosen, and what hangs on it.
  drawAgain(role) {
    const old = this.drawn.get(role);
    const focused = old.contains(document.activeElement) ? document.activeElement.dataset.at : null;
    this.drawn.set(role, this.row(role));
    old.replaceWith(this.drawn.get(role));
    if (focused) this.drawn.get(role).querySelector(`[data-at="${focused}"]`)?.focus();
    if (this.needsAmbient() !== this.air.hasChildNodes()) {
      const before = this.air;
      this.air = this.ambientRow();
      before.replaceWith(this.air);
    }
    this.tell();
  }

  tell() {
    const open = openQuestions(this.picked);
    const labels = [...new Set(open.map(([name]) => ROLES.find((role) => role.name === name).label.toLowerCase()))];
    const lacksAir = this.needsAmbient() && this.ambient === null;
    say(this.left, open.length ? `Still to say: ${labels.join(", ")}.` : lacksAir ? "Still to say: the air's pressure that day." : "");
    say(this.found, `More columns (${ROLES.filter(({ name, needed }) => !needed && this.picked[name]?.column >= 0).length} found)`);
    if (this.doubt) {
      say(this.doubt, airDoubt(this.units, this.shape, this.picked, this.ambient));
      this.doubt.hidden = this.doubt.textContent === "";
    }
    this.read.disabled = open.length > 0 || lacksAir;
  }

  row(role) {
    const one = this.picked[role.name] ?? { column: -1 };
    const select = el("select", { "data-at": role.name, "aria-label": `Column of ${role.label.toLowerCase()}`, onchange: () => this.choose(role, Number(select.value)) },
      el("option", { value: -1 }, role.name === "time" ? "no such column: even samples" : role.needed ? "choose" : "none"),
      ...this.shape.names.map((name, i) => el("option", { value: i }, name)));
    select.value = String(one.column ?? -1);
    return el("div", { class: "field pick" }, el("div", { class: "field-head" }, el("span", { class: "label" }, role.label)), el("div", { class: "row" }, ...[select, one.column >= 0 ? this.unitOf(role, one) : null].filter(Boolean)),
      ...(one.column >= 0 ? [el("p", { class: "help" }, this.sample(one.column)), this.readingOf(role, one), this.tappedOf(role, one), this.ratioOf(role, one)] : [this.rateOf(role, one)]).filter(Boolean));
  }

  sample(column) {
    const values = this.shape.rows.map((cells) => cells[column]?.trim()).filter(Boolean);
    const at = [0, Math.floor(values.length / 2), values.length - 1].slice(0, Math.min(SHOWN_VALUES, values.length));
    return values.length ? `It begins ${[...new Set(at.map((place) => values[place]))].join(", ")} …` : "It begins empty.";
  }

  choose(role, column) {
    this.picked[role.name] = column < 0 ? { column } : complete(this.units, this.shape, role, fromHeading(this.units, this.shape, role, column));
    this.drawAgain(role);
  }

  set(role, key, value) {
    this.picked[role.name] = { ...this.picked[role.name], [key]: value };
    this.drawAgain(role);
  }

  unitOf(role, one) {
    if (role.name === "mixture" || one.clock) return null;
    const [kind] = role.kinds;
    const all = this.units.all(kind);
    if (all.length === 1) return null;
    const select = el("select", { class: "unit", "data-at": `${role.name}-unit`, "aria-label": `Unit of ${role.label.toLowerCase()}`, onchange: () => this.set(role, "unit", select.value || null) },
      el("option", { value: "" }, "unit?"), ...all.map(({ name }) => el("option", { value: name }, name || "1")));
    select.value = one.unit ?? "";
    return select;
  }

  readingOf(role, one) {
    const told = READINGS[role.name];
    return told ? el("div", {}, this.choices(role, "reading", `${role.label} reads`, told, one.reading), one.doubt ? el("p", { class: "error" }, one.doubt) : null) : null;
  }

  tappedOf(role, one) {
    return role.name === "fuel" ? this.choices(role, "tapped", "Tapped", TAPPED(), one.tapped) : null;
  }

  ratioOf(role, one) {
    if (role.name !== "mixture" || one.reading !== "display") return null;
    const options = Object.entries(this.ratios).map(([fuel, ratio]) => [String(ratio), `${fuel} (${ratio})`]);
    return this.choices(role, "ratio", "The meter is set to", options, one.ratio ? String(one.ratio) : null, Number);
  }

  rateOf(role, one) {
    if (role.name !== "time") return null;
    const input = el("input", { inputmode: "decimal", "data-at": "rate", "aria-label": "Samples a second", onchange: () => this.set(role, "rate", numberIn(input.value, input.value.includes(",")) || 0) });
    input.value = one.rate ? String(one.rate) : "";
    return el("label", { class: "pick-one" }, el("span", {}, "Samples a second"), input);
  }

  needsAmbient() {
    return ["boost", "fuel"].some((name) => this.picked[name]?.column >= 0 && this.picked[name].reading === "absolute");
  }

  // Absolute pressure less the air's of that day is gauge pressure.
  ambientRow() {
    if (!this.needsAmbient()) return el("div");
    const unit = this.units.of("absolute_pressure");
    const wrong = el("p", { class: "error", hidden: true });
    const input = el("input", { inputmode: "decimal", "data-at": "ambient", "aria-label": "The air's pressure that day, at the track", oninput: () => {
      const read = this.units.read("absolute_pressure", input.value);
      this.ambient = read.error ? null : read.si;
      wrong.hidden = !read.error || input.value.trim() === "";
      say(wrong, read.error ?? "");
      this.tell();
    } });
    this.doubt = el("p", { class: "error" });
    input.value = this.ambient === null ? "" : this.units.plain("absolute_pressure", this.ambient);
    return el("div", { class: "field pick" }, el("div", { class: "field-head" }, el("span", { class: "label" }, "The air's pressure that day, at the track")),
      el("p", { class: "help" }, "Absolute readings less this are gauge pressure. It is the station pressure, not the altimeter setting; the pass's own air stands here where it has one."),
      el("div", { class: "row" }, input, el("span", { class: "unit" }, unit.name)), wrong, this.doubt);
  }

  choices(role, key, label, options, value, read = (text) => text) {
    const name = newId(`${role.name}-${key}`);
    return el("fieldset", { class: "choices-of" }, el("legend", {}, label), el("div", { class: "options" }, ...options.map(([told, words]) => {
      const input = el("input", { type: "radio", name, value: told, "data-at": `${role.name}-${key}-${told}`, onchange: () => this.set(role, key, read(told)) });
      input.checked = told === value;
      return el("label", { class: "option" }, input, words);
    })));
  }

  done() {
    this.onRead(this.picked, this.needsAmbient() ? this.ambient : null);
  }
}

// What the numbers themselves say: a clock is a clock, and a pressure that cannot be what the heading says is asked again.
export function complete(units, shape, role, one) {
  const cells = shape.rows.map((row) => row[one.column] ?? "").filter((cell) => cell.trim() !== "");
  if (role.name === "time" && cells.length && cells.every((cell) => clockIn(cell, shape.comma))) return { ...one, clock: true };
  const values = cells.map((cell) => numberIn(cell, shape.comma)).filter((value) => Number.isFinite(value));
  if (role.name === "boost" && one.unit && values.length) {
    const { scale, offset } = units.named("gauge_pressure", one.unit);
    const seen = plain("recording", "looks", values.map((value) => value * scale + offset));
    if (one.reading && seen !== "either" && seen !== one.reading) return { ...one, reading: null, doubt: `The heading says ${one.reading}, the numbers look ${seen}. Which is it?` };
  }
  return one;
}

// With the engine off or idling the manifold has the air's pressure or less. A sentence, or nothing.
export function airDoubt(units, shape, { boost }, ambient) {
  if (boost?.reading !== "absolute" || !boost.unit || !ambient) return "";
  const { scale, offset } = units.named("gauge_pressure", boost.unit);
  const values = shape.rows.map((cells) => numberIn(cells[boost.column] ?? "", shape.comma)).filter(Number.isFinite);
  const least = values.length ? plain("recording", "above_air", values.map((value) => value * scale + offset), ambient) : null;
  return least === null ? "" : `The file begins at ${units.text("absolute_pressure", least)} or more, above this air. Unless it begins under boost, one of the two is wrong.`;
}
