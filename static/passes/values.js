// Stored values of a pass as numbers, as words and as what a control shows. Stored are {si, text, unit} for a number and
// words as they are; a text where a number should be was typed and is none, and is shown as it was typed. The log may hold
// anything, so anything is shown.

import { longDay } from "../core/dates.js";
import { isPlain } from "../core/typed.js";

export const isNumber = (field) => field?.type === "quantity" || field?.type === "whole";

export function numberOf(value) {
  if (typeof value === "number") return value;
  return typeof value?.si === "number" ? value.si : null;
}

export const isGiven = (value) => value != null && value !== "";

// What a control says now, to be stored; null for an empty one.
export function toStore(field, control, units) {
  const read = control.read();
  if (!isNumber(field)) return read.absent || read.error ? null : read.value;
  const typed = control.typed();
  const text = typed?.text.trim() ?? "";
  if (text === "") return null;
  const unit = units.named(field.kind, typed.unit) ?? units.of(field.kind);
  if (read.error) return /^[+-]?[\d.,]+$/.test(text) && unit.name ? `${text} ${unit.name}` : text;
  return { si: read.value, ...read.as };
}

// The same the other way round.
export function toTyped(field, value, units) {
  if (!isGiven(value)) return undefined;
  if (!isNumber(field)) return typeof value === "string" ? value : JSON.stringify(value);
  const si = numberOf(value);
  if (si === null) return { text: String(value?.text ?? value), unit: null };
  const known = typeof value.text === "string" && units.named(field.kind, value.unit);
  return known ? { text: value.text, unit: value.unit, si } : { text: units.plain(field.kind, si), unit: units.of(field.kind).name, si };
}

// As a person reads it. What was typed in the unit now shown stays as it was typed.
export function inWords(field, value, units) {
  if (!isGiven(value)) return "–";
  const si = isNumber(field) ? numberOf(value) : null;
  if (si !== null) return numberInWords(field.kind, si, value, units);
  if (field?.type === "choice") return field.options.find((option) => option.value === value)?.label ?? String(value);
  if (field?.type === "moment") return momentInWords(value);
  return plainText(value);
}

export function numberInWords(kind, si, value, units) {
  const unit = units.of(kind);
  const typed = typeof value?.text === "string" ? value.text.trim() : "";
  if (value?.unit !== unit.name || !isPlain(typed)) return units.text(kind, si);
  return units.text(kind, si).replace(units.number(kind, si), typed);
}

// For a value of which no more is known than that it is there.
export function plainText(value) {
  if (typeof value === "string") return value;
  if (typeof value?.text === "string") return `${value.text}${typeof value.unit === "string" && value.unit ? ` ${value.unit}` : ""}`;
  if (typeof value?.file === "string" && value.columns) return `${value.file}, ${value.samples} samples`;
  return JSON.stringify(value);
}

// Date and time, by the clock at the place

const two = (number) => String(number).padStart(2, "0");

export function momentOf(date) {
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}T${two(date.getHours())}:${two(date.getMinutes())}`;
}

export const dayOf = (values) => (typeof values.when === "string" ? values.when.slice(0, 10) : "");
export const timeOf = (moment) => (typeof moment === "string" ? moment.slice(11, 16) : "");
export const millisecondsOf = (moment) => (typeof moment === "string" ? Date.parse(moment) : NaN);


const days = new Map();

export function dayInWords(day) {
  if (!days.has(day)) {
    const date = new Date(`${day}T12:00`);
    days.set(day, Number.isNaN(date.getTime()) ? day || "No date" : longDay(date));
  }
  return days.get(day);
}

export function momentInWords(moment) {
  if (typeof moment !== "string") return "No date";
  const time = timeOf(moment);
  return time ? `${dayInWords(moment.slice(0, 10))}, ${time}` : dayInWords(moment);
}

// A difference of two values of a kind, with its sign.
export function differenceInWords(kind, difference, units) {
  const unit = units.of(kind);
  const shown = difference / unit.scale;
  const text = Math.abs(shown).toFixed(unit.decimals);
  return `${Number(text) === 0 ? "±" : shown < 0 ? "−" : "+"}${unit.name === "" ? String(Number(text)) : text}`;
}
