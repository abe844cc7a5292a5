// Points on two axes with a line and its band, as SVG. Points that stand apart are crosses with a ring, not only another colour.

import { axis, fitting, leftOf } from "../answer/chart.js";
import { el, svg } from "../core/dom.js";

const HEIGHT = 340;
const EDGE = { right: 26, top: 34, bottom: 54 };
const NARROWEST = 280;
const REACH = 30; // px around a point in which a touch means it

export class Scatter {
  // `pick(point)` is told which point was touched.
  constructor(pick) {
    this.pick = pick;
    this.box = el("div", { class: "chart-box", onclick: (event) => this.onTouch(event) });
    this.element = el("figure", { class: "chart scatter" }, this.box);
    this.watch = new ResizeObserver(() => this.draw());
    this.watch.observe(this.box);
  }

  // told: {x, y: {label, shown(si), tick(shown) or null}, points: [{x, y}], outliers: Set, band: rows, words}
  show(told) {
    this.told = told;
    this.width = null;
    this.draw();
  }

  draw() {
    const width = Math.max(Math.floor(this.box.clientWidth), NARROWEST);
    if (!this.told || !this.box.clientWidth || width === this.width) return;
    this.width = width;
    const { points } = this.told;
    if (points.length === 0) return this.box.replaceChildren();
    const picture = svg("svg", { viewBox: `0 0 ${width} ${HEIGHT}`, width, height: HEIGHT, role: "img", "aria-label": this.told.words });
    this.lay(width);
    this.drawAxes(picture, width);
    this.drawBand(picture);
    this.places = points.map((point) => ({ point, x: this.atX(point.x), y: this.atY(point.y) }));
    for (const place of this.places) picture.append(mark(place, this.told.outliers.has(place.point)));
    this.box.replaceChildren(picture);
  }

  lay(width) {
    const { x, y, points, band } = this.told;
    const along = span(points.map((point) => x.shown(point.x)));
    this.yAxis = axis(...withBand(points.map((point) => y.shown(point.y)), band.flatMap(({ lower, upper }) => [y.shown(lower), y.shown(upper)])), HEIGHT - EDGE.bottom, EDGE.top, 6);
    const start = leftOf(y.tick ? { ticks: this.yAxis.ticks, label: y.tick } : this.yAxis);
    this.xAxis = x.tick ? axis(...along, start, width - EDGE.right, width < 500 ? 4 : 8) : fitting(...along, start, width - EDGE.right);
    this.atX = (si) => this.xAxis.at(x.shown(si));
    this.atY = (si) => this.yAxis.at(y.shown(si));
  }

  drawAxes(picture, width) {
    const { x, y } = this.told;
    const left = this.xAxis.start;
    for (const tick of this.yAxis.ticks) {
      picture.append(svg("path", { d: `M${left} ${fixed(this.yAxis.at(tick))}H${width - EDGE.right}`, class: "grid" }),
        svg("text", { x: left - 6, y: fixed(this.yAxis.at(tick) + 5), "text-anchor": "end" }, (y.tick ?? this.yAxis.label)(tick)));
    }
    for (const tick of this.xAxis.ticks) {
      picture.append(svg("path", { d: `M${fixed(this.xAxis.at(tick))} ${HEIGHT - EDGE.bottom}v5`, class: "axis" }),
        svg("text", { x: fixed(this.xAxis.at(tick)), y: HEIGHT - EDGE.bottom + 22, "text-anchor": "middle" }, (x.tick ?? this.xAxis.label)(tick)));
    }
    picture.append(svg("path", { d: `M${left} ${EDGE.top}V${HEIGHT - EDGE.bottom}H${width - EDGE.right}`, class: "axis" }),
      svg("text", { x: (left + width - EDGE.right) / 2, y: HEIGHT - 6, "text-anchor": "middle", class: "axis-name" }, x.label),
      svg("text", { x: 0, y: 16, class: "axis-name" }, y.label));
  }

  // The robust line, and the band in which a further pass is to be expected.
  drawBand(picture) {
    const { band } = this.told;
    if (band.length === 0) return;
    const id = "scatter-area";
    picture.append(svg("clipPath", { id }, svg("rect", { x: this.xAxis.start, y: EDGE.top, width: this.xAxis.end - this.xAxis.start, height: HEIGHT - EDGE.bottom - EDGE.top })));
    const path = (name) => band.map((row, n) => `${n ? "L" : "M"}${fixed(this.atX(row.x))} ${fixed(this.atY(row[name]))}`).join("");
    for (const name of ["lower", "upper"]) picture.append(svg("path", { d: path(name), class: "band-edge", "clip-path": `url(#${id})` }));
    if (band[0].robust !== null) picture.append(svg("path", { d: path("robust"), class: "line", "clip-path": `url(#${id})` }));
  }

  onTouch(event) {
    const box = this.box.getBoundingClientRect();
    const [x, y] = [event.clientX - box.left + this.box.scrollLeft, event.clientY - box.top];
    let nearest = null;
    for (const place of this.places ?? []) {
      const away = Math.max(Math.abs(place.x - x), Math.abs(place.y - y));
      if (away <= REACH && (!nearest || away < nearest.away)) nearest = { away, place };
    }
    if (nearest) this.pick(nearest.place.point);
  }

  stop() {
    this.watch.disconnect();
  }
}

function mark({ x, y }, apart) {
  if (!apart) return svg("circle", { cx: fixed(x), cy: fixed(y), r: 5, class: "dot" });
  const arm = 7;
  return svg("g", { class: "apart-mark" }, svg("circle", { cx: fixed(x), cy: fixed(y), r: 11 }),
    svg("path", { d: `M${fixed(x - arm)} ${fixed(y - arm)}l${2 * arm} ${2 * arm}M${fixed(x + arm)} ${fixed(y - arm)}l${-2 * arm} ${2 * arm}` }));
}

// The band belongs in the picture, as far as it leaves the points their room.
function withBand(points, band) {
  const [low, high] = span(points);
  const room = high - low;
  const inside = band.filter((value) => value > low - room && value < high + room);
  return [Math.min(low, ...inside), Math.max(high, ...inside)];
}

// A little room around the points, and some where all are the same.
function span(values) {
  const low = Math.min(...values);
  const high = Math.max(...values);
  const room = high > low ? (high - low) * 0.06 : Math.max(Math.abs(high) * 0.05, 0.5);
  return [low - room, high + room];
}

const fixed = (value) => Number(value.toFixed(1));
