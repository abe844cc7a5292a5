// Numbers as people write them: 12,5 and .5, 1,234,567 and 1 234 567, 3/8 and 1 1/4, with a unit behind.
// The server reads by the same rules (webapp/forms/typed.py); a test reads random text on both sides.

export const NOT_A_NUMBER = "Enter a number.";
export const TOO_LARGE = "That number is too large.";
const LONGEST = 40; // characters

// What a keyboard or another program puts for the plain characters: the true minus and the dash, spaces that do not break, primes.
const SPACE = /[ \t\r\n\u00a0\u2007\u2009\u202f]+/g;
const PLAIN = { "−": "-", "–": "-", "⁄": "/", "’": "'", "′": "'", "”": '"', "″": '"' };
const FRACTIONS = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };

const FRACTION = /(?:([0-9]+)[ -])?([0-9]+)\/([0-9]+)/y;
const GROUPED = /([1-9][0-9]{0,2}(?:,[0-9]{3})+|[1-9][0-9]{0,2}(?:\.[0-9]{3})+|[1-9][0-9]{0,2}(?: [0-9]{3})+)(?![0-9])([.,][0-9]+)?/y;
const DECIMAL = /[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+/y;
const PLAINEST = /^[0-9]+(?:\.[0-9]+)?$/; // nearly all: a form is read whole with each key
const POWER = /(?:[eE][+-]?[0-9]+)?/y;

// A number and what stands behind it: {readings: [{number, written}], behind} or {error}. There are two readings where a
// comma may part thousands or be a decimal one (1,050), thousands first; else there is one.
export function readNumber(raw) {
  if (PLAINEST.test(raw) && raw.length <= LONGEST) return { readings: [{ number: Number(raw), written: raw }], behind: "" };
  if ([...raw].length > LONGEST) return { error: NOT_A_NUMBER };
  const text = tidy(raw);
  const sign = /^[+-]?/.exec(text)[0];
  const found = fraction(text, sign.length) ?? grouped(text, sign.length) ?? decimal(text, sign.length);
  // Digits that are left over belong to the number, and make it none.
  if (!found || /^[0-9.,/]/.test(text.slice(found.end))) return { error: NOT_A_NUMBER };
  const readings = found.readings.map(({ number, written }) => ({ number: sign === "-" ? -number : number, written: sign + written }));
  return { readings, behind: trim(text.slice(found.end)) };
}

// Plain characters and single spaces.
function tidy(raw) {
  let text = raw;
  for (const [sign, written] of Object.entries(FRACTIONS)) text = text.replaceAll(sign, ` ${written} `);
  return trim(text.replace(SPACE, " ").replace(/[−–⁄’′”″]/g, (sign) => PLAIN[sign]));
}

const trim = (text) => text.replace(/^ +| +$/g, "");

function at(pattern, text, start) {
  pattern.lastIndex = start;
  return pattern.exec(text);
}

function fraction(text, start) {
  const match = at(FRACTION, text, start);
  if (!match || Number(match[3]) === 0) return null;
  const [written, whole = "0", above, below] = match;
  return { readings: [{ number: Number(whole) + Number(above) / Number(below), written }], end: start + written.length };
}

// A number with its thousands parted. A single point is a decimal point; a single comma may be one too.
function grouped(text, start) {
  const match = at(GROUPED, text, start);
  if (!match) return null;
  const [all, groups, decimals = ""] = match;
  const mark = /[^0-9]/.exec(groups)[0];
  const lone = groups.split(mark).length === 2 && decimals === "";
  if (decimals[0] === mark || (lone && mark === ".")) return null;
  const power = at(POWER, text, start + all.length)[0];
  const end = start + all.length + power.length;
  const whole = groups.replaceAll(mark, "") + decimals.replace(",", ".") + power;
  if (!lone || mark !== ",") return { readings: [{ number: Number(whole), written: text.slice(start, end) }], end };
  const part = groups.replace(",", ".").replace(/\.?0+$/, "") + power;
  return { readings: [whole, part].map((written) => ({ number: Number(written), written })), end };
}

function decimal(text, start) {
  const match = at(DECIMAL, text, start);
  if (!match) return null;
  const written = match[0] + at(POWER, text, start + match[0].length)[0];
  return { readings: [{ number: Number(written.replace(",", ".")), written }], end: start + written.length };
}

// A typed text that may be shown as it is: digits, and no comma that can be read in two ways.
export function isPlain(text) {
  return /^[+-]?[0-9.,]+$/.test(text) && readNumber(text).readings?.length === 1;
}

// The one reading that fits the field, `fits(number)`, or {error} that shows both where both fit or neither does.
export function pick(readings, fits) {
  const fitting = readings.length > 1 ? readings.filter(({ number }) => fits(number)) : readings;
  if (fitting.length !== 1) return { error: ambiguous(readings) };
  return Number.isFinite(fitting[0].number) ? fitting[0] : { error: TOO_LARGE };
}

function ambiguous([{ written: whole }, { written: part }]) {
  const typed = /^[+-]?[0-9]+$/.test(whole) ? whole.replace(/(?=[0-9]{3}$)/, ",") : whole;
  return `${typed} could be ${whole} or ${part}: write it without the comma, or with a point.`;
}
