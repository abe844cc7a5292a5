// A text as a code for another phone's camera (ISO/IEC 18004): letters and then digits, with the least of its checks, so that
// the dots are large. The phone draws it alone: where cars are handed over there is often no signal.

const LARGEST = 27; // version: beyond, a phone's screen shows the dots too small for another phone's camera
// By version, from 1: into how many blocks the words are parted, and how many words check each.
const BLOCKS = [1, 1, 1, 1, 1, 2, 2, 2, 2, 4, 4, 4, 4, 4, 6, 6, 6, 6, 7, 8, 8, 9, 9, 10, 12, 12, 12];
const CHECKS = [7, 10, 15, 20, 26, 18, 20, 24, 30, 18, 20, 24, 26, 30, 22, 24, 28, 30, 28, 28, 28, 28, 30, 30, 26, 28, 30];
const FILLERS = [0xec, 0x11];
const FIELD = 0x11d;
const FORMAT = 8; // least checks, and the mask of a chessboard: the digits of a packed car have no pattern of their own
const FORMAT_CHECK = 0x537;
const FORMAT_MASK = 0x5412;
const VERSION_CHECK = 0x1f25;

// The rows of a code, true where it is dark; null where the text is too much for one. `letters` are ASCII.
export function codeOf(letters, digits) {
  for (let version = 1; version <= LARGEST; version += 1) {
    const words = wordsOf(letters, digits, version);
    if (words) return drawn(interleaved(words, version), version);
  }
  return null;
}

// The dark dots as an SVG path, a piece for each run of them in a row.
export function outline(rows) {
  const runs = rows.flatMap((row, y) => row.flatMap((dark, x) => (dark && !row[x - 1] ? [[x, y, [...row, false].indexOf(false, x) - x]] : [])));
  return runs.map(([x, y, length]) => `M${x} ${y}h${length}v1h-${length}z`).join("");
}

const dataWords = (version) => Math.floor(roomOf(version) / 8) - BLOCKS[version - 1] * CHECKS[version - 1];

// Dots left for data and checks.
function roomOf(version) {
  const marks = placesOf(version).length;
  const around = version > 1 ? (25 * marks - 10) * marks - 55 : 0;
  return (16 * version + 128) * version + 64 - around - (version > 6 ? 36 : 0);
}

// Where the small squares stand, along either side.
function placesOf(version) {
  if (version === 1) return [];
  const count = Math.floor(version / 7) + 2;
  const step = Math.ceil((version * 4 + 4) / (count * 2 - 2)) * 2;
  return [6, ...Array.from({ length: count - 1 }, (_, i) => version * 4 + 10 - step * (count - 2 - i))];
}

function wordsOf(letters, digits, version) {
  const bits = [];
  const push = (value, length) => { for (let i = length - 1; i >= 0; i -= 1) bits.push((value >> i) & 1); };
  push(4, 4);
  push(letters.length, version < 10 ? 8 : 16);
  for (const letter of letters) push(letter.charCodeAt(0), 8);
  push(1, 4);
  push(digits.length, version < 10 ? 10 : version < 27 ? 12 : 14);
  for (let i = 0; i < digits.length; i += 3) {
    const part = digits.slice(i, i + 3);
    push(Number(part), [0, 4, 7, 10][part.length]);
  }
  const room = dataWords(version) * 8;
  if (bits.length > room) return null;
  push(0, Math.min(4, room - bits.length));
  while (bits.length & 7) bits.push(0);
  const words = Array.from({ length: bits.length / 8 }, (_, i) => bits.slice(8 * i, 8 * i + 8).reduce((word, bit) => word * 2 + bit, 0));
  for (let i = 0; words.length < room / 8; i += 1) words.push(FILLERS[i & 1]);
  return words;
}

// The blocks' words by turns, then their checks by turns; the later blocks have the one word more.
function interleaved(words, version) {
  const count = BLOCKS[version - 1];
  const short = Math.floor(words.length / count);
  const longer = words.length - short * count;
  const starts = Array.from({ length: count + 1 }, (_, i) => i * short + Math.max(0, i - (count - longer)));
  const blocks = starts.slice(0, -1).map((start, i) => words.slice(start, starts[i + 1]));
  const checks = blocks.map((block) => checksOf(block, CHECKS[version - 1]));
  const byTurns = (all) => Array.from({ length: Math.max(...all.map(({ length }) => length)) }, (_, i) => all.filter((one) => i < one.length).map((one) => one[i])).flat();
  return [...byTurns(blocks), ...byTurns(checks)];
}

// Reed and Solomon's: what is left of the block, over the polynomial whose roots are the first powers of 2.
function checksOf(block, count) {
  let divisor = [1];
  for (let i = 0, root = 1; i < count; i += 1, root = times(root, 2)) divisor = [...divisor, 0].map((one, n) => one ^ (n ? times(divisor[n - 1], root) : 0));
  const left = [...block, ...Array(count).fill(0)];
  for (let i = 0; i < block.length; i += 1) {
    const lead = left[i];
    if (lead) divisor.forEach((one, n) => { left[i + n] ^= times(one, lead); });
  }
  return left.slice(block.length);
}

function times(a, b) {
  let product = 0;
  for (let i = 7; i >= 0; i -= 1) product = (product << 1) ^ (product >> 7 ? FIELD : 0) ^ ((b >> i) & 1 ? a : 0);
  return product;
}

function drawn(words, version) {
  const size = version * 4 + 17;
  const rows = Array.from({ length: size }, () => Array(size).fill(null));
  drawMarks(rows, version);
  drawFormat(rows, checked(FORMAT, 10, FORMAT_CHECK) ^ FORMAT_MASK);
  if (version > 6) drawVersion(rows, checked(version, 12, VERSION_CHECK));
  drawWords(rows, words);
  return rows;
}

// A number below 64 with its checks behind it.
function checked(number, length, divisor) {
  let left = number << length;
  for (let i = length + 5; i >= length; i -= 1) if ((left >> i) & 1) left ^= divisor << (i - length);
  return (number << length) | left;
}

function drawMarks(rows, version) {
  const size = rows.length;
  const square = (y, x, reach) => {
    for (let i = -reach; i <= reach; i += 1) for (let j = -reach; j <= reach; j += 1) {
      const ring = Math.max(Math.abs(i), Math.abs(j));
      if (rows[y + i]?.[x + j] !== undefined) rows[y + i][x + j] = ring !== 4 && (ring === 1 ? reach > 2 : ring !== 2 || reach === 2);
    }
  };
  for (const [y, x] of [[3, 3], [3, size - 4], [size - 4, 3]]) square(y, x, 4);
  const places = placesOf(version);
  const last = places.at(-1);
  for (const y of places) for (const x of places) {
    const isCorner = (y === 6 && (x === 6 || x === last)) || (y === last && x === 6);
    if (!isCorner) square(y, x, 2);
  }
  for (let i = 8; i < size - 8; i += 1) {
    rows[6][i] = (i & 1) === 0;
    rows[i][6] = (i & 1) === 0;
  }
}

// Twice, around the three large squares, and one dot that is always dark.
function drawFormat(rows, bits) {
  const size = rows.length;
  for (let i = 0; i < 15; i += 1) {
    const dark = ((bits >> i) & 1) === 1;
    if (i < 8) rows[8][size - 1 - i] = dark;
    else rows[size - 15 + i][8] = dark;
    if (i < 6) rows[i][8] = dark;
    else if (i < 8) rows[i + 1][8] = dark;
    else if (i === 8) rows[8][7] = dark;
    else rows[8][14 - i] = dark;
  }
  rows[size - 8][8] = true;
}

function drawVersion(rows, bits) {
  for (let i = 0; i < 18; i += 1) {
    const dark = ((bits >> i) & 1) === 1;
    const [near, far] = [Math.floor(i / 3), rows.length - 11 + (i - 3 * Math.floor(i / 3))];
    rows[near][far] = dark;
    rows[far][near] = dark;
  }
}

// Up and down in columns of two, from the right; the chessboard turned over what lies on its dark fields.
function drawWords(rows, words) {
  const size = rows.length;
  let bit = 0;
  for (let right = size - 1, up = true; right > 0; right -= 2, up = !up) {
    if (right === 6) right -= 1;
    for (let i = 0; i < size; i += 1) for (const x of [right, right - 1]) {
      const y = up ? size - 1 - i : i;
      if (rows[y][x] !== null) continue;
      const dark = bit < words.length * 8 && ((words[bit >> 3] >> (7 - (bit & 7))) & 1) === 1;
      rows[y][x] = dark !== (((y + x) & 1) === 0);
      bit += 1;
    }
  }
}
