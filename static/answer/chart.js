// Line charts as SVG: labelled axes with units, lines told apart by their dashes, marks, one point, a text for screen readers.

import { sentence } from "../core/compute.js";
import { el, newId, svg } from "../core/dom.js";

const HEIGHT = 272;
const EDGE = { right: 20, top: 32, bottom: 50 }; // the name of the upright axis stands over it, clear of its numbers
const DIGIT = 9.6; // px, the width of a figure
const LEAST_LEFT = 34; // px
const NARROWEST = 280;
const NOW = "now"; // the mark of where things stand is dashed; a limit is solid

export class Chart {
  constructor(told, form, units) {
    this.told = told;
    this.form = form;
    this.units = units;
    const table = form.results.find((result) => result.name === told.rows);
    this.column = (name) => table.columns.find((column) => column.name === name);
    this.hatch = newId("hatch");
    this.box = el("div", { class: "chart-box" });
    this.legend = el("p", { class: "legend" });
    this.element = el("figure", { class: "chart" }, el("figcaption", {}, told.title), this.legend, this.box);
    new ResizeObserver(() => this.resize()).observe(this.box);
  }

  resize() {
    const width = Math.floor(this.box.clientWidth);
    if (width && width !== this.width) {
      this.width = width;
      if (this.answer) this.draw();
    }
  }

  show(answer) {
    this.answer = answer;
    this.width ||= Math.floor(this.box.clientWidth);
    this.drawLegend();
    if (this.width) this.draw();
  }

  // A line that has no points this time is not in the legend.
  drawLegend() {
    const drawn = this.told.lines.filter((name) => this.answer?.results[this.told.rows]?.some((row) => row[name] != null) ?? true);
    const key = [...drawn, this.reach() !== null, this.answer?.results[this.told.recorded]?.length > 0].join();
    if (key === this.legendKey) return;
    this.legendKey = key;
    const parts = drawn.map((name) => [name, this.told.lines.indexOf(name)]).map(([name, i]) => el("span", { class: "legend-part" },
      svg("svg", { viewBox: "0 0 36 12", class: "legend-line", "aria-hidden": "true" }, svg("path", { d: "M1 6h34", class: `line line-${i}` })),
      this.column(name).label));
    if (this.answer?.results[this.told.recorded]?.length) {
      parts.push(el("span", { class: "legend-part" }, svg("svg", { viewBox: "0 0 36 12", class: "legend-line", "aria-hidden": "true" },
        ...[6, 18, 30].map((cx) => svg("circle", { cx, cy: 6, r: 3.5, class: "recorded" }))), "Recorded"));
    }
    if (this.reach()) {
      parts.push(el("span", { class: "legend-part" }, svg("svg", { viewBox: "0 0 36 12", class: "legend-line", "aria-hidden": "true" }, svg("path", { d: "M1 0h34v12H1z", class: "reach" })), this.told.reach.label));
    }
    if (this.told.band) {
      parts.push(el("span", { class: "legend-part" }, svg("svg", { viewBox: "0 0 36 12", class: "legend-line", "aria-hidden": "true" }, this.hatching(`${this.hatch}-legend`),
        svg("path", { d: "M1 1h34v10H1z", class: "band", fill: `url(#${this.hatch}-legend)` })), this.told.band.label));
    }
    this.legend.replaceChildren(...parts);
  }

  // A band between two columns is hatched across the way lines usually rise, so that it is seen without colour.
  hatching(id) {
    return svg("defs", {}, svg("pattern", { id, width: 6, height: 6, patternUnits: "userSpaceOnUse", patternTransform: "rotate(-45)" }, svg("path", { d: "M1 0v6", class: "hatch" })));
  }

  drawBand(picture, rows, at) {
    const { low, high } = this.told.band;
    const edge = (name) => rows.map((row) => at(row, name));
    picture.append(this.hatching(this.hatch), svg("path", { d: `M${[...edge(low), ...edge(high).reverse()].join("L")}Z`, class: "band", fill: `url(#${this.hatch})` }));
  }

  draw() {
    const width = Math.max(this.width, NARROWEST);
    const rows = this.answer.results[this.told.rows] ?? [];
    const point = this.told.point && this.answer.results[this.told.point];
    const columns = [this.column(this.told.x), this.column(this.told.lines[0])];
    // Under a slider only the marks move, most of the time.
    const key = JSON.stringify([width, columns.map(({ kind }) => this.units.kinds[kind] && this.units.of(kind).name), rows, point, this.answer.results[this.told.recorded]]);
    if (key !== this.drawnKey) {
      this.drawnKey = key;
      this.overlay = rows.length < 2 ? null : this.drawPicture(width, rows, point, columns);
    }
    this.element.hidden = !this.overlay;
    if (this.overlay) this.drawMarks(columns[0]);
    else this.box.replaceChildren();
  }

  shown(column, value) {
    return this.units.kinds[column.kind] ? this.units.value(column.kind, value) : value;
  }

  drawPicture(width, rows, point, [xColumn, yColumn]) {
    const xs = rows.map((row) => this.shown(xColumn, row[this.told.x]));
    const drawn = this.told.band ? [...this.told.lines, this.told.band.high] : this.told.lines;
    const ys = drawn.flatMap((name) => rows.map((row) => row[name]).filter((value) => value != null).map((value) => this.shown(yColumn, value)));
    const recorded = this.recorded();
    ys.push(...recorded.map(({ height }) => this.shown(yColumn, height)));
    if (point) ys.push(this.shown(yColumn, point[this.told.lines[0]]));
    const y = axis(this.told.zero ? Math.min(0, ...ys) : foot(ys), head(ys), HEIGHT - EDGE.bottom, EDGE.top, 6);
    const left = leftOf(y);
    const x = fitting(Math.min(...xs), Math.max(...xs), left, width - EDGE.right);
    const picture = svg("svg", { viewBox: `0 0 ${width} ${HEIGHT}`, width, height: HEIGHT, role: "img" });
    this.drawAxes(picture, x, y, width, xColumn, yColumn);
    const at = (row, name) => `${fixed(x.at(this.shown(xColumn, row[this.told.x])))} ${fixed(y.at(this.shown(yColumn, row[name])))}`;
    if (this.told.band) this.drawBand(picture, rows, at);
    // One language in all charts: what is needed comes first, thin and on top; what is available second, broad and grey.
    [...this.told.lines.keys()].reverse().forEach((i) => {
      const name = this.told.lines[i];
      const d = rows.filter((row) => row[name] != null).map((row, n) => `${n ? "L" : "M"}${at(row, name)}`).join("");
      picture.append(svg("path", { d, class: `line line-${i}` }));
    });
    const marks = svg("g");
    picture.append(...recorded.map(({ along, height }) => svg("circle", { cx: fixed(x.at(this.shown(xColumn, along))), cy: fixed(y.at(this.shown(yColumn, height))), r: 3.5, class: "recorded" })), marks);
    if (point) picture.append(svg("circle", { cx: fixed(x.at(this.shown(xColumn, point[this.told.x]))), cy: fixed(y.at(this.shown(yColumn, point[this.told.lines[0]]))), r: 7, class: "point" }));
    this.box.replaceChildren(picture);
    return { picture, marks, x };
  }

  // What was measured, laid over what is worked out; only where it is drawn.
  recorded() {
    const rows = this.answer.results[this.told.rows];
    const [from, to] = [rows[0], rows.at(-1)].map((row) => row[this.told.x]);
    const measured = (this.answer.results[this.told.recorded] ?? []).filter((row) => row[this.told.x] >= from && row[this.told.x] <= to);
    return measured.map((row) => ({ along: row[this.told.x], height: row[this.told.lines.find((name) => row[name] != null)] }));
  }

  // {from, to} in SI where two results bound a value of x; `to` null: past the picture.
  reach() {
    const { low, high } = this.told.reach ?? {};
    const from = this.answer?.results[low] ?? null;
    return from === null ? null : { from, to: this.answer.results[high] ?? null };
  }

  drawReach(xColumn, x) {
    const reach = this.reach();
    if (!reach) return [];
    const [from, to] = [reach.from, reach.to].map((si) => Math.min(Math.max(si === null ? x.high : this.shown(xColumn, si), x.low), x.high));
    return [svg("path", { d: `M${fixed(x.at(from))} ${EDGE.top}H${fixed(x.at(to))}V${HEIGHT - EDGE.bottom}H${fixed(x.at(from))}Z`, class: "reach" })];
  }

  drawMarks(xColumn) {
    const { picture, marks, x } = this.overlay;
    picture.setAttribute("aria-label", this.text());
    const named = this.told.marks.map((mark) => ({ ...mark, value: this.named(mark.name) })).filter((mark) => typeof mark.value === "number");
    const drawn = named.map((mark, i) => this.drawMark(mark, x, this.shown(xColumn, mark.value), i)).filter(Boolean);
    // The names over all lines, so that none is struck through.
    marks.replaceChildren(...this.drawReach(xColumn, x), ...drawn.map(({ line }) => line), ...drawn.map(({ name }) => name));
  }

  named(name) {
    return this.answer.results[name] ?? name.split(".").reduce((part, key) => part?.[key], this.answer.inputs);
  }

  text() {
    return this.told.text ? sentence(this.told.text, this.form, this.answer.inputs, this.answer.results, this.units) : this.told.title;
  }

  drawAxes(picture, x, y, width, xColumn, yColumn) {
    const left = x.start;
    for (const tick of y.ticks) {
      picture.append(svg("path", { d: `M${left} ${fixed(y.at(tick))}H${width - EDGE.right}`, class: tick === 0 ? "axis" : "grid" }),
        svg("text", { x: left - 6, y: fixed(y.at(tick) + 5), "text-anchor": "end" }, y.label(tick)));
    }
    for (const tick of x.ticks) {
      picture.append(svg("path", { d: `M${fixed(x.at(tick))} ${HEIGHT - EDGE.bottom}v5`, class: "axis" }),
        svg("text", { x: fixed(x.at(tick)), y: HEIGHT - EDGE.bottom + 22, "text-anchor": "middle" }, x.label(tick)));
    }
    const named = (label, column) => {
      const unit = this.units.kinds[column.kind] ? this.units.of(column.kind).name : "";
      return unit ? `${label}, ${unit}` : label;
    };
    picture.append(
      svg("text", { x: (left + width - EDGE.right) / 2, y: HEIGHT - 6, "text-anchor": "middle", class: "axis-name" }, named(xColumn.label, xColumn)),
      svg("text", { x: 0, y: 15, class: "axis-name" }, named(this.told.y_label || yColumn.label, yColumn)));
  }

  drawMark(mark, x, value, i) {
    if (value < x.low || value > x.high) return null;
    const at = x.at(value);
    const left = at > (x.start + x.end) / 2;
    return { line: svg("path", { d: `M${fixed(at)} ${EDGE.top}V${HEIGHT - EDGE.bottom}`, class: `mark ${mark.label === NOW ? "mark-now" : "mark-limit"}` }),
      name: svg("text", { x: fixed(at + (left ? -5 : 5)), y: HEIGHT - EDGE.bottom - 8 - 20 * i, "text-anchor": left ? "end" : "start", class: "mark-name" }, mark.label) };
  }
}

const fixed = (value) => Number(value.toFixed(1));

// Zero belongs in the picture, unless the values lie in a narrow reach far above it: then that reach fills the picture.
function foot(values) {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  return low > 0 && high > low && high - low < high / 3 ? low - (high - low) / 8 : Math.min(0, low);
}

// A level line keeps off the edge of its picture.
function head(values) {
  const [low, high] = [Math.min(...values), Math.max(...values)];
  return high > low ? high : high + Math.abs(high) / 4;
}

// Room for the longest number of an upright axis.
export const leftOf = (y) => Math.max(LEAST_LEFT, Math.ceil(Math.max(...y.ticks.map((tick) => y.label(tick).length)) * DIGIT) + 10);

// A level scale with as many ticks as have room beside each other.
export function fitting(low, high, start, end) {
  const all = [9, 8, 7, 6, 5, 4, 3].map((count) => axis(low, high, start, end, count));
  const room = ({ ticks, label }) => ticks.reduce((sum, tick) => sum + label(tick).length * DIGIT + 14, 0);
  return all.find((one) => room(one) <= end - start) ?? all.at(-1);
}

// A scale from shown values to pixels with round ticks.
export function axis(low, high, start, end, count) {
  if (!(high > low)) high = low + 1;
  const raw = (high - low) / count;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = power * [1, 2, 2.5, 5, 10].find((digit) => digit * power >= raw * 0.99);
  // As many places as the step has: 0.25 has one more than its power of ten says.
  const places = Math.max(0, -Math.floor(Math.log10(step) + 1e-9) + (Math.abs(step / power - 2.5) < 1e-9 ? 1 : 0));
  const ticks = [];
  for (let n = Math.ceil(low / step - 1e-9); n * step <= high + step * 1e-9; n += 1) ticks.push(n * step);
  return {
    low, high, start, end, ticks,
    at: (value) => start + ((value - low) / (high - low)) * (end - start),
    label: (tick) => (Math.abs(tick) < step * 1e-9 ? "0" : tick.toFixed(places).replace("-", "\u2212")),
  };
}
