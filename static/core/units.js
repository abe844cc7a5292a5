// The units that the server gave, which of them this person reads, and the way between shown values and SI.
// Scale and offset of every unit come from GET /api/forms; none is written here.

import { recall, remember } from "./memory.js";

const NUMBER_AND_UNIT = /^\s*([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$/s;
const NO_SPACE_BEFORE = ["%", "°"];

export class Units {
  constructor(kinds) {
    this.kinds = kinds;
    this.system = recall("system", "us");
    this.chosen = recall("units", {});
    this.listeners = new Set();
  }

  // Tell `listener` when a unit changes; returns the way to stop.
  onChange(listener) {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  setSystem(system) {
    this.system = system;
    this.chosen = {};
    this.changed();
  }

  set(kind, name) {
    this.chosen[kind] = name;
    this.changed();
  }

  changed() {
    remember("system", this.system);
    remember("units", this.chosen);
    for (const listener of this.listeners) listener();
  }

  // The unit this person reads this kind in.
  of(kind) {
    const told = this.kinds[kind];
    const name = this.chosen[kind] ?? told[this.system];
    return told.units.find((unit) => unit.name === name) ?? told.units[0];
  }

  all(kind) {
    return this.kinds[kind].units;
  }

  named(kind, name) {
    return this.kinds[kind].units.find((unit) => unit.name === name);
  }

  // Read what was typed: {si, unit} or {error}. A bare number is in `unit`; a known unit may be typed behind it.
  read(kind, text, unit = this.of(kind)) {
    if (text.trim() === "") return { error: "Enter a number." };
    const match = NUMBER_AND_UNIT.exec(text);
    if (!match) return { error: "Enter a number." };
    let typed = unit;
    if (match[2]) {
      typed = this.spelt(kind, match[2]);
      if (!typed) return { error: `“${match[2].slice(0, 12)}” is not a unit of ${this.kinds[kind].name} here.` };
    }
    const si = Number(match[1].replace(",", ".")) * typed.scale + typed.offset;
    return Number.isFinite(si) ? { si, unit: typed } : { error: "Enter a number that is not endless." };
  }

  spelt(kind, text) {
    const fits = (same) => this.all(kind).find((unit) => unit.spellings.some(same));
    return fits((word) => word === text) ?? fits((word) => word.toLowerCase() === text.toLowerCase());
  }

  value(kind, si, unit = this.of(kind)) {
    return (si - unit.offset) / unit.scale;
  }

  // The number alone, with the unit's usual decimals; a plain number without the zeros behind.
  number(kind, si, unit = this.of(kind)) {
    const value = this.value(kind, si, unit);
    const text = value.toFixed(decimalsOf(unit, value));
    if (Number(text) === 0) return text.replace("-", "");
    return unit.name === "" ? String(Number(text)) : text;
  }

  // All digits that are worth anything, for a conversion.
  exact(kind, si, unit) {
    const value = Number(this.value(kind, si, unit).toPrecision(6));
    return Math.abs(value) >= 1e7 || (value !== 0 && Math.abs(value) < 1e-3) ? value.toExponential() : String(value);
  }

  // The unit of the reader's system, whatever was chosen for a field.
  usual(kind) {
    return this.named(kind, this.kinds[kind][this.system]);
  }

  // For a field: no more digits than needed, no fewer than the value is worth.
  plain(kind, si, unit = this.of(kind)) {
    const value = this.value(kind, si, unit);
    const short = Number(value.toFixed(decimalsOf(unit, value)));
    const close = Math.abs(short - value) <= Math.abs(value) * 2e-3;
    return String(close ? short : Number(value.toPrecision(4)));
  }

  // Number and unit, for reading.
  text(kind, si, unit = this.of(kind)) {
    if (!this.kinds[kind]) return String(si);
    const joint = NO_SPACE_BEFORE.includes(unit.name) ? "" : "\u00a0";
    return `${this.number(kind, si, unit)}${unit.name ? joint + unit.name : ""}`;
  }
}

function decimalsOf({ decimals, digits }, value) {
  return digits && Math.abs(value) >= 1 ? Math.min(decimals, Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(value))))) : decimals;
}
