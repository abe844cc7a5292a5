// Stored values of a pass in words, and its date and time. How a value is kept, form/stored.js says; besides, a text where a
// number should be was typed in a hurry and is none, and is shown as it was typed.

import { isNumber, readStored, siOf, toStored, toTyped as storedToTyped } from "../form/stored.js";
import { longDay } from "../core/dates.js";
import { isPlain } from "../core/typed.js";


const UNREADABLE_WORDS = "cannot be read: clear it under “Change it”";

export const numberOf = siOf;

export const isGiven = (value) => value != null && value !== "";

// What a field says now, to be kept; null for an empty one.
export function toStore(field, typed, units) {
  const { value, error } = toStored(field, typed, units);
  if (!error) return value ?? null;
  const text = isNumber(field) ? typed?.text?.trim() ?? "" : "";
  if (text === "") return null;
  const unit = units.named(field.kind, typed.unit) ?? units.of(field.kind);
  return /^[+-]?[\d.,]+$/.test(text) && unit.name ? `${text} ${unit.name}` : text;
}

// The same the other way round.
export function toTyped(field, value, units) {
  if (isNumber(field) && typeof value === "string") return isGiven(value) ? { text: value, unit: null } : undefined;
  return storedToTyped(field, value, units);
}

// A sentence where what is kept cannot even be shown; null otherwise.
export function unreadable(field, value) {
  return !isGiven(value) || (isNumber(field) && typeof value === "string") ? null : readStored(field, value).error ?? null;
}

// As a person reads it. What was typed in the unit now shown stays as it was typed.
export function inWords(field, value, units) {
  if (!isGiven(value)) return "–";
  if (field && unreadable(field, value)) return UNREADABLE_WORDS;
  const si = isNumber(field) ? numberOf(value) : null;
  if (si !== null) return numberInWords(field.kind, si, value, units);
  if (field?.type === "choice") return field.options.find((option) => option.value === value)?.label ?? plainText(value);
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
