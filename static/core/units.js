// The units that the server gave, which of them this person reads, and the way between shown values and SI.
// Scale and offset of every unit come from the server; none is written here.

import { KEYS, recall, remember } from "./memory.js";
import { TOO_LARGE, pick, readNumber } from "./typed.js";
import { speak } from "./words.js";

const GIVEN_DIGITS = 4;
const NO_SPACE_BEFORE = ["%", "°"];

export class Units {
  constructor(kinds) {
    this.kinds = kinds;
    this.system = recall(KEYS.system) ?? systemHere();
    speak(this.system);
    this.chosen = recall(KEYS.units, {});
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

  // What meets it in one sentence is read in the same unit.
  set(kind, name) {
    this.chosen[kind] = name;
    const other = this.kinds[kind].with;
    if (other) this.chosen[other] = name;
    this.changed();
  }

  changed() {
    speak(this.system);
    remember(KEYS.system, this.system);
    remember(KEYS.units, this.chosen);
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

  // Read what was typed: {si, unit, written} or {error}. A bare number is in `unit`; a known unit may be typed behind it.
  // `low` and `high` (SI, or null) bound the field: where a comma can be read in two ways, the one reading that lies there
  // is taken. `written` is the number alone, as it may be typed again in `unit`.
  read(kind, text, low, high, unit = this.of(kind)) {
    const found = readNumber(text);
    if (found.error) return found;
    const typed = found.behind ? this.spelt(kind, found.behind) : unit;
    if (!typed) return { error: this.noUnit(kind, found.behind) };
    const si = (number) => number * typed.scale + typed.offset;
    const { error, number, written } = pick(found.readings, (one) => low != null && within(low, high, si(one)));
    if (error) return { error };
    return Number.isFinite(si(number)) ? { si: si(number), unit: typed, written } : { error: TOO_LARGE };
  }

  noUnit(kind, text) {
    const all = [...text];
    const allowed = this.all(kind).map(({ name }) => name).filter(Boolean).join(", ") || "a plain number";
    return `“${all.slice(0, 12).join("")}${all.length > 12 ? "…" : ""}” is not a unit of ${this.kinds[kind].name} here; use ${allowed}.`;
  }

  // What is wrong with a value for a field, in the unit that it was given in; null where it lies in the range.
  outside({ kind, label, low, high }, si, unit = this.of(kind)) {
    if (Number.isFinite(si) && within(low, high, si)) return null;
    const [least, most] = this.bounds(kind, low, high, unit);
    return `${label} must lie between ${least} and ${most}.`;
  }

  // A field's bounds, rounded inwards: what is shown may be typed.
  bounds(kind, low, high, unit = this.of(kind)) {
    const fits = (number) => within(low, high, number * unit.scale + unit.offset);
    return [[low, Math.ceil], [high, Math.floor]].map(([bound, inwards]) => withUnit(this.bound(kind, bound, unit, inwards, fits), unit));
  }

  bound(kind, bound, unit, inwards, fits) {
    const exact = this.value(kind, bound, unit);
    for (let { decimals } = unit; ; decimals += 1) {
      const power = 10 ** decimals;
      // A bound that is round in this unit stays what it is, whatever its last binary digit.
      const near = Math.floor(exact * power + 0.5) / power;
      const number = fits(near) && Math.abs(near - exact) <= 1e-6 * Math.abs(exact) ? near : inwards(exact * power) / power;
      const close = Math.abs(number - exact) <= 0.02 * Math.abs(exact);
      if ((close && fits(number)) || decimals >= 12) return number.toFixed(decimals).replace(/^-(?=[0.]+$)/, "");
    }
  }

  spelt(kind, text) {
    const fits = (same) => this.all(kind).find((unit) => unit.spellings.some(same));
    return fits((word) => word === text) ?? fits((word) => word.toLowerCase() === text.toLowerCase());
  }

  value(kind, si, unit = this.of(kind)) {
    return (si - unit.offset) / unit.scale;
  }

  // The number alone, for reading: with a true minus.
  number(kind, si, unit = this.of(kind)) {
    return this.figures(kind, si, unit).replace("-", "\u2212");
  }

  // With the unit's usual decimals; a plain number without the zeros behind.
  figures(kind, si, unit = this.of(kind)) {
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

  // For a field: no more digits than needed, no fewer than the value is worth; what was given is no first-order figure.
  plain(kind, si, unit = this.of(kind)) {
    const value = this.value(kind, si, unit);
    const short = Number(value.toFixed(decimalsOf({ ...unit, digits: GIVEN_DIGITS }, value)));
    const close = Math.abs(short - value) <= Math.abs(value) * 2e-3;
    return String(close ? short : Number(value.toPrecision(4)));
  }

  // Number and unit, for reading.
  text(kind, si, unit = this.of(kind)) {
    if (!this.kinds[kind]) return String(si);
    return withUnit(this.number(kind, si, unit), unit);
  }
}

// Until one is chosen: the units of the region that the browser is set to. Most name it; only the others cost a look into tables.
function systemHere() {
  try {
    const region = /-([A-Z]{2})(?:-|$)/.exec(navigator.language)?.[1] ?? new Intl.Locale(navigator.language).maximize().region;
    return ["US", "LR", "MM"].includes(region) ? "us" : "metric";
  } catch {
    return "us"; // no language that can be read
  }
}

function withUnit(text, { name }) {
  return `${text}${name && !NO_SPACE_BEFORE.includes(name) ? "\u00a0" : ""}${name}`;
}

// In a field's range. A bound that was converted to a shown unit and typed back may differ in the last place.
function within(low, high, si) {
  const slack = 1e-9 * Math.max(Math.abs(low), Math.abs(high));
  return si >= low - slack && si <= high + slack;
}

function decimalsOf({ decimals, digits }, value) {
  return digits && value !== 0 ? Math.min(decimals, Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(value))))) : decimals;
}
