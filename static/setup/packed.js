// A car as digits for a code, and back: its values, smaller. What was typed is enough where the page reads the same number from
// it again, and a value's mark of being measured where it is of the value that stands.

import { fieldNamed } from "../car/sections.js";

const WAY = "deflate-raw";
const MARK = "measured.";

// `form` is the supply check's.
export async function packed(values, form, units) {
  const small = Object.fromEntries(Object.entries(values).map(([name, value]) => [name, smaller(name, value, values, form, units)]));
  const bytes = new Uint8Array(await through(JSON.stringify(small), new CompressionStream(WAY)));
  // A byte in front, so that none that is 0 is lost.
  return BigInt(`0x01${[...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("")}`).toString();
}

export async function unpacked(digits, form, units) {
  const hex = BigInt(digits).toString(16);
  const bytes = Uint8Array.from(hex.slice(1).match(/../g), (pair) => Number(`0x${pair}`));
  const small = JSON.parse(new TextDecoder().decode(await through(bytes, new DecompressionStream(WAY))));
  const values = Object.fromEntries(Object.entries(small).map(([name, value]) => [name, name.startsWith(MARK) ? value : larger(fieldNamed(form, name)?.field, value, units)]));
  for (const [name, value] of Object.entries(small)) if (name.startsWith(MARK) && Array.isArray(value)) values[name] = marked(values[name.slice(MARK.length)], value[0]);
  return values;
}

const through = (bytes, stream) => new Response(new Blob([bytes]).stream().pipeThrough(stream)).arrayBuffer();
const isSame = (a, b) => JSON.stringify(a) === JSON.stringify(b);
const marked = (value, half) => (half === null ? { value } : { value, half });

function smaller(name, value, values, form, units) {
  if (name.startsWith(MARK)) {
    const small = [value?.half ?? null];
    return isSame(marked(values[name.slice(MARK.length)], small[0]), value) ? small : value;
  }
  const field = fieldNamed(form, name)?.field;
  const small = field?.columns && Array.isArray(value) ? value.map((row) => row.map(asTyped)) : asTyped(value);
  return isSame(larger(field, small, units), value) ? small : value;
}

const asTyped = (value) => (typeof value?.text === "string" ? [value.text, value.unit] : value);

function larger(field, small, units) {
  if (field?.columns && Array.isArray(small)) return small.map((row) => row.map((cell, i) => numberOf(field.columns[i]?.kind, cell, units)));
  return numberOf(field?.kind, small, units);
}

function numberOf(kind, small, units) {
  const unit = Array.isArray(small) && kind ? units.named(kind, small[1]) : null;
  return unit ? { si: units.read(kind, small[0], null, null, unit).si, text: small[0], unit: unit.name } : small;
}
