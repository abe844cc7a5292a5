// The picked columns of a file as numbers in SI, read in pieces into a bounded store.

import { breathe } from "../core/breath.js";
import { plain } from "../core/compute.js";
import { ROLES } from "./columns.js";
import { cellsOf, clockIn, numberIn } from "./table.js";
import { PIECE, readLines, Unread } from "./text.js";

const MOST_SAMPLES = 400000; // then every stretch of the store is thinned to its least and largest
const BUCKET = 16; // samples
const STRETCH = 4096; // samples thinned between two breaths
const CHUNK = 500; // samples
const MOST_IN_PIECE = PIECE / 4 + CHUNK; // the shortest line is "1,2" and its end
const MOST_BAD_SHARE = 0.02;
const FEWEST_BAD = 20;

// -> {columns: {role: numbers}, samples, lines, kept: how many, bad: [sentence] or none}. Errors: Unread; AbortError when stopped.
export async function readColumns(blob, { head, shape, picked, ambient, units, onPart, signal }) {
  const store = new Store(ROLES.map(({ name }) => name).filter((name) => picked[name] && (picked[name].column >= 0 || picked[name].rate)));
  const rows = new Rows(shape, picked, units, store, ambient);
  await readLines(blob, { ...head, signal, onPart,
    onLine(line, number, isLast) {
      if (number > shape.start) rows.take(line, number, isLast);
    },
    onPause: () => store.makeRoom(),
  });
  rows.flush();
  if (store.count === 0) throw new Unread(rows.firstBad ?? "The file has no line of numbers in the columns that were picked.");
  return { columns: store.columns(), samples: rows.samples, kept: store.count, wrong: rows.wrong() };
}

// Lines to samples. An empty cell keeps the value before it: loggers write slow channels less often.
class Rows {
  constructor(shape, picked, units, store, ambient) {
    Object.assign(this, { shape, picked, store, ambient, units });
    this.roles = store.names.map((name) => ({ name, ...picked[name], ...this.scaleOf(name, picked[name]) }));
    this.last = this.roles.map(() => undefined);
    this.bad = 0;
    this.back = 0;
    this.samples = 0;
    this.firstBad = null;
    this.firstBack = null;
    this.cut = null;
    this.begin();
  }

  scaleOf(name, one) {
    const role = ROLES.find((told) => told.name === name);
    const kind = role.kinds.find((told) => this.units.named(told, one.unit));
    const { scale, offset } = kind ? this.units.named(kind, one.unit) : { scale: 1, offset: 0 };
    return { scale, offset, label: role.label.toLowerCase() };
  }

  begin() {
    this.chunk = Object.fromEntries(this.store.names.map((name) => [name, []]));
    this.filled = 0;
  }

  take(line, number, isLast) {
    if (line.trim() === "") return;
    const cells = cellsOf(line, this.shape.separator);
    // The battery went off in the middle of it: half a number would be another number.
    if (isLast && cells.length < this.shape.names.length) {
      this.cut = number;
      return;
    }
    let isNew = false;
    const now = [];
    for (let i = 0; i < this.roles.length; i += 1) {
      const role = this.roles[i];
      if (role.rate) {
        now.push(this.samples / role.rate);
        continue;
      }
      const value = this.read(role, cells[role.column] ?? "");
      if (Number.isNaN(value)) return this.turnDown(line, number, cells[role.column], role);
      if (value !== undefined && (role.name === "boost" || role.name === "fuel")) isNew = true;
      now.push(value ?? this.last[i]);
    }
    this.last = now;
    if (!isNew || now.includes(undefined)) return;
    this.keep(now, number);
  }

  read(role, cell) {
    if (role.clock) {
      const told = clockIn(cell, this.shape.comma);
      return told ? this.secondsOf(told) : cell.trim() === "" ? undefined : NaN;
    }
    const value = numberIn(cell, this.shape.comma);
    return value === undefined ? undefined : value * role.scale + role.offset;
  }

  secondsOf({ hours, minutes, seconds }) {
    const scale = (name) => this.units.named("logged_time", name).scale;
    return hours * scale("h") + minutes * scale("min") + seconds;
  }

  keep(now, number) {
    const time = now[0];
    this.first ??= time;
    if (this.latest !== undefined && time <= this.latest) {
      this.back += 1;
      this.firstBack ??= `Line ${number}: the time does not go on from the line before.`;
      return;
    }
    this.latest = time;
    this.store.names.forEach((name, i) => this.chunk[name].push(i ? now[i] : time - this.first));
    this.samples += 1;
    this.filled += 1;
    if (this.filled === CHUNK) this.flush();
  }

  // From what the sensors read to gauge pressure and lambda.
  flush() {
    if (this.filled === 0) return;
    const { chunk, picked } = this;
    for (const name of ["boost", "fuel"]) if (picked[name].reading === "absolute") chunk[name] = plain("recording", "boost_of", chunk[name], this.ambient);
    if (chunk.mixture && picked.mixture.reading === "display") chunk.mixture = plain("recording", "lambda_of", chunk.mixture, picked.mixture.ratio);
    this.store.add(chunk, this.filled);
    this.begin();
  }

  turnDown(line, number, cell, role) {
    this.bad += 1;
    const text = (cell ?? line).trim().slice(0, 24);
    this.firstBad ??= `Line ${number}: “${text}” is no number for ${role.label}.`;
    if (this.bad > FEWEST_BAD && this.bad > MOST_BAD_SHARE * this.samples) throw new Unread(`${this.firstBad} ${this.bad} lines are like it: look at the columns again.`);
  }

  wrong() {
    const told = [];
    if (this.bad) told.push(`${this.bad === 1 ? "One line was" : `${this.bad} lines were`} left out. ${this.firstBad}`);
    if (this.cut) told.push(`Line ${this.cut}, the last, is cut off: it was left out.`);
    if (this.back) told.push(`${this.back === 1 ? "One line was" : `${this.back} lines were`} left out. ${this.firstBack}`);
    return told;
  }
}

// The samples, a column each. A store that is full keeps the least and the largest of each stretch.
class Store {
  constructor(names) {
    this.names = names;
    this.count = 0;
    this.room = 16384;
    this.data = Object.fromEntries(names.map((name) => [name, this.made(name, this.room)]));
  }

  made(name, room) {
    return name === "time" ? new Float64Array(room) : new Float32Array(room);
  }

  // For the samples of one piece more.
  async makeRoom() {
    if (this.count > MOST_SAMPLES) await this.thin();
    if (this.count + MOST_IN_PIECE > this.room) await this.grow();
  }

  add(chunk, count) {
    for (const name of this.names) this.data[name].set(chunk[name], this.count);
    this.count += count;
  }

  async grow() {
    this.room *= 2;
    for (const name of this.names) {
      await breathe();
      const wider = this.made(name, this.room);
      wider.set(this.data[name]);
      this.data[name] = wider;
    }
  }

  async thin() {
    const { boost, fuel } = this.data;
    let to = 0;
    for (let from = 0; from < this.count; from += STRETCH) {
      const end = Math.min(this.count, from + STRETCH);
      const places = plain("recording", "thin", [boost, fuel], from, end, Math.ceil((end - from) / BUCKET));
      for (const name of this.names) places.forEach((place, i) => { this.data[name][to + i] = this.data[name][place]; });
      to += places.length;
      await breathe();
    }
    this.count = to;
  }

  columns() {
    return Object.fromEntries(this.names.map((name) => [name, this.data[name].subarray(0, this.count)]));
  }
}
