// What an edit may be: the server's own limits, told at once instead of days later.

import { Told } from "../core/told.js";
import { isStamp } from "./clock.js";
import { canonical, DELETED } from "./merge.js";

const KINDS = ["build", "pass", "note"];
const NAME = /^[0-9a-z][0-9a-z-]{0,39}$/;
const FIELD = /^[a-z][a-z0-9_]*(\.[a-z0-9_]+)*$/;
const LARGEST_VALUE = 8192; // bytes
const DEEPEST_VALUE = 4;

// The message is a sentence for the user.
export class Unfit extends Told {}

export function newId() {
  // crypto.randomUUID is not there on a page that came without TLS; this is.
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

export function bytesOf(text) {
  return new TextEncoder().encode(text).length;
}

// The value as JSON carries it. JSON would turn a number that is not finite into null without a word.
export function readValue(value, depth = 0) {
  if (depth > DEEPEST_VALUE) throw new Unfit(`The value is nested deeper than ${DEEPEST_VALUE} levels.`);
  if (typeof value === "number" && !(Math.abs(value) <= 1e308)) throw new Unfit("The number is not finite.");
  if (typeof value === "string") return whole(value);
  if (Array.isArray(value)) return value.map((inner) => readValue(inner, depth + 1));
  if (value === null || ["number", "boolean"].includes(typeof value)) return value;
  if (typeof value !== "object") throw new Unfit("The value is of no kind that can be kept.");
  return Object.fromEntries(Object.entries(value).map(([key, inner]) => [whole(key), readValue(inner, depth + 1)]));
}

// Half a character (a cut emoji) would be refused by the server; show it as the replacement character.
function whole(text) {
  return new TextDecoder().decode(new TextEncoder().encode(text));
}

// Check {record, kind, field, value} and return it with its value as kept.
export function readEdit(edit) {
  if (!NAME.test(edit.record)) throw new Unfit("The record must be 1 to 40 small letters, digits and hyphens.");
  if (!KINDS.includes(edit.kind)) throw new Unfit(`The kind must be one of ${KINDS.join(", ")}.`);
  if (edit.field === DELETED) {
    if (typeof edit.value !== "boolean") throw new Unfit(`${DELETED} must be true or false.`);
    return edit;
  }
  if (!FIELD.test(edit.field) || edit.field.length > 64) throw new Unfit("The field must be a name of small letters, digits, underscores and dots.");
  const value = readValue(edit.value);
  if (bytesOf(canonical(value)) > LARGEST_VALUE) throw new Unfit(`The value is longer than ${LARGEST_VALUE} bytes.`);
  return { ...edit, value };
}

// The same for an edit from elsewhere, which brings its stamp and device along.
export function readStampedEdit(edit) {
  if (!isStamp(edit.at)) throw new Unfit("A time is not of the right form.");
  if (typeof edit.device !== "string" || !NAME.test(edit.device)) throw new Unfit("A device has no proper name.");
  return readEdit(edit);
}
