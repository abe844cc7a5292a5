// What kind of table the first lines hold: what parts the cells, what parts whole from tenths, where the names and units
// of the columns stand and where the numbers begin.

import { breathe, breather } from "../core/breath.js";
import { Unread } from "./text.js";

const WAYS = [
  { separator: "\t", comma: false }, { separator: "\t", comma: true }, { separator: ";", comma: false }, { separator: ";", comma: true },
  { separator: ",", comma: false }, { separator: " ", comma: false }, { separator: " ", comma: true },
];
const LOOKED_AT = 400; // lines
const FEWEST_ROWS = 3;
const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;
const CLOCK = /^(?:\d{4}-\d\d-\d\d[T ])?(?:(\d+):)?(\d{1,2}):(\d{1,2}(?:\.\d*)?)$/;
const MISSING = /^(-*|-?nan|n\/?a|#n\/a|null|none)$/i;
const NAMELESS = /^[-–—/.]?$/;

// The cells of a line. A quote keeps a separator inside a cell.
export function cellsOf(line, separator) {
  if (separator === " ") return line.trim().split(/ +/);
  if (!line.includes('"')) return line.split(separator);
  const cells = [""];
  let quoted = false;
  for (const letter of line) {
    if (letter === '"') quoted = !quoted;
    else if (letter === separator && !quoted) cells.push("");
    else cells[cells.length - 1] += letter;
  }
  return cells;
}

// A cell as a number, or NaN; one that is empty, or says that nothing was read, is undefined.
export function numberIn(cell, comma) {
  let text = cell.trim();
  if (comma) text = text.replace(",", ".");
  if (NUMBER.test(text)) return Number(text);
  return MISSING.test(text) ? undefined : NaN;
}

// Hours, minutes and seconds of a clock, or null.
export function clockIn(cell, comma) {
  const found = CLOCK.exec(comma ? cell.trim().replace(",", ".") : cell.trim());
  return found && { hours: Number(found[1] ?? 0), minutes: Number(found[2]), seconds: Number(found[3]) };
}

const isNumber = (cell, comma) => !Number.isNaN(numberIn(cell, comma) ?? NaN) || clockIn(cell, comma) !== null;

// -> {separator, comma, names, units: [text], start: place of the first line of numbers, rows: [cells]}. Errors: Unread.
export async function shapeOf(lines, isUnit) {
  const looked = lines.slice(0, LOOKED_AT);
  let found = null;
  let few = null;
  for (const way of WAYS) {
    const { best: block, first } = await blockOf(looked, way);
    if (block && (!found || block.score > found.score)) found = { ...way, ...block };
    few ??= first;
  }
  const some = looked.filter((line) => line.trim() !== "").length;
  if (!found && few !== null) throw new Unread(`Line ${few + 1}: a recording takes ${FEWEST_ROWS} lines of numbers or more, and no more follow.`);
  if (!found) throw new Unread(`Line 1: no table of numbers begins in the first ${some} lines. It takes two columns of numbers or more, parted by comma, semicolon or tab.`);
  await breathe();
  const { separator, comma, start, width } = found;
  const rows = looked.slice(start).filter((line) => line.trim() !== "").map((line) => cellsOf(line, separator));
  return { separator, comma, start, rows, ...headOf(looked.slice(0, start), found, width, isUnit) };
}

// `best`: the longest run of lines that are mostly numbers and have as many cells; `first`: where the first such line stands.
async function blockOf(lines, { separator, comma }) {
  let first = null;
  let best = null;
  let now = null;
  const rest = breather();
  for (const [place, line] of lines.entries()) {
    if (line.trim() === "") continue;
    await rest();
    const cells = cellsOf(line, separator);
    const filled = cells.filter((cell) => numberIn(cell, comma) !== undefined);
    const numbers = filled.filter((cell) => isNumber(cell, comma)).length;
    const fits = numbers >= 2 && 2 * numbers > filled.length;
    if (fits) first ??= place;
    // A note of the logger's between the lines of numbers does not end the table.
    if (!fits) now = now?.rows >= FEWEST_ROWS ? now : null;
    else if (now?.width === cells.length) Object.assign(now, { rows: now.rows + 1, score: now.score + scoreOf(numbers, filled.length) });
    else now = { start: place, width: cells.length, rows: 1, score: scoreOf(numbers, filled.length) };
    if (now && now.rows >= Math.min(FEWEST_ROWS, lines.length) && (!best || now.score > best.score)) best = now;
  }
  return { best, first };
}

const scoreOf = (numbers, filled) => numbers - 3 * (filled - numbers);

// The names are the nearest line above that is as wide; a line of units may stand between.
function headOf(above, { separator }, width, isUnit) {
  const wide = above.map((line) => cellsOf(line, separator).map((cell) => cell.trim())).filter((cells) => cells.length === width && cells.some((cell) => cell !== ""));
  const areUnits = (cells) => cells.some(isUnit) && cells.every((cell) => NAMELESS.test(bare(cell)) || isUnit(cell) || bare(cell).length <= 5);
  const last = wide.at(-1);
  const hasUnits = wide.length > 1 && areUnits(last) && !areUnits(wide.at(-2));
  const names = (hasUnits ? wide.at(-2) : last) ?? [];
  return {
    names: Array.from({ length: width }, (_, i) => names[i] || `Column ${i + 1}`),
    units: Array.from({ length: width }, (_, i) => (hasUnits ? bare(last[i]) : unitInName(names[i] ?? ""))),
    key: JSON.stringify([separator, names, hasUnits ? last : null]),
  };
}

const bare = (cell) => cell.replace(/^[[(]|[\])]$/g, "").trim();
const unitInName = (name) => /[[(]([^\])]*)[\])]\s*$/.exec(name)?.[1].trim() ?? "";
