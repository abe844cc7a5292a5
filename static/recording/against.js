// Fuel pressure against boost: every moment a dot, with the card's two lines and the line that the regulator really does.

import { axis } from "../answer/chart.js";
import { oneByOne } from "../core/breath.js";
import { plain } from "../core/compute.js";
import { el, svg } from "../core/dom.js";

const NARROWEST = 280;
const EDGE = { left: 54, right: 12, top: 30, bottom: 48 };
const HEIGHT = 320;
const MOST_DOTS = 160; // buckets
const DOT = 3; // px
const ROUND = `a${DOT} ${DOT} 0 1 0 ${2 * DOT} 0a${DOT} ${DOT} 0 1 0 ${-2 * DOT} 0`;
const POINTS = 12; // along a straight line of the card

export class AgainstPicture {
  constructor(units) {
    this.units = units;
    this.box = el("div", { class: "chart-box" });
    this.legend = el("p", { class: "legend" });
    this.element = el("figure", { class: "chart recording" }, el("figcaption", {}, "Fuel pressure against boost"), this.legend, this.box);
    this.watch = new ResizeObserver(() => this.draw());
    this.watch.observe(this.box);
  }

  // told: {columns, card, line: what regulator_line told, or null}; other: {columns, name} or null
  show(told, other = null) {
    Object.assign(this, { told, other, width: null });
    this.draw();
  }

  draw() {
    const width = Math.max(Math.floor(this.box.clientWidth), NARROWEST);
    if (!this.told || !this.box.clientWidth || width === this.width) return;
    this.width = width;
    const drawing = this.drawing = {};
    let clouds, lines;
    oneByOne([
      () => { clouds = this.clouds(); },
      () => { lines = this.lines(Math.max(...clouds.flatMap(({ points }) => points.map(([x]) => x)))); },
      () => this.drawPicture(clouds, lines, width),
      () => this.drawLegend(clouds, lines),
    ], () => drawing === this.drawing);
  }

  // Points as they are shown.
  clouds() {
    const shown = (si) => this.units.value("gauge_pressure", si);
    const dots = (columns) => plain("recording", "thin", [columns.fuel, columns.boost], 0, columns.time.length, MOST_DOTS).map((place) => [shown(columns.boost[place]), shown(columns.fuel[place])]);
    const clouds = [{ style: "dot small-dot", points: dots(this.told.columns), label: "this recording" }];
    if (this.other) clouds.push({ style: "other-dot", points: dots(this.other.columns), label: this.other.name });
    return clouds;
  }

  drawPicture(clouds, lines, width) {
    const all = [...clouds, ...lines].flatMap(({ points }) => points);
    const x = axis(Math.min(0, ...all.map(([at]) => at)), Math.max(...all.map(([at]) => at)), EDGE.left, width - EDGE.right, width < 500 ? 5 : 9);
    const y = axis(Math.min(0, ...all.map(([, at]) => at)), Math.max(...all.map(([, at]) => at)), HEIGHT - EDGE.bottom, EDGE.top, 6);
    const picture = svg("svg", { viewBox: `0 0 ${width} ${HEIGHT}`, width, height: HEIGHT, role: "img", "aria-label": "Fuel pressure against boost, sample by sample" });
    this.drawAxes(picture, x, y, width);
    // All dots are one shape: hundreds of them would each be laid out.
    for (const { style, points } of clouds) picture.append(svg("path", { d: points.map(([a, b]) => `M${fixed(x.at(a) - DOT)} ${fixed(y.at(b))}${ROUND}`).join(""), class: style }));
    for (const { style, points } of lines) picture.append(svg("path", { d: points.map(([a, b], i) => `${i ? "L" : "M"}${fixed(x.at(a))} ${fixed(y.at(b))}`).join(""), class: style }));
    this.box.replaceChildren(picture);
  }

  // The card and the car's own line, to the highest boost that is shown.
  lines(highest) {
    const { card, line } = this.told;
    const unit = this.units.of("gauge_pressure");
    const along = Array.from({ length: POINTS + 1 }, (_, i) => (highest * i) / POINTS);
    const points = (read) => along.map((x) => [x, this.units.value("gauge_pressure", read(x * unit.scale + unit.offset))]);
    const of = (name) => points((boost) => plain("recording", "interpolate", card, boost, name));
    const found = card.length ? [{ label: "Card: would read", style: "line line-0", points: of("expected") }, { label: "Card: at least", style: "line line-2", points: of("least") }] : [];
    if (line?.told) found.push({ label: "As the car does it", style: "mark", points: points((boost) => plain("recording", "on_line", line, boost)) });
    return found;
  }

  drawLegend(clouds, lines) {
    const part = (label, drawing) => el("span", { class: "legend-part" }, svg("svg", { viewBox: "0 0 36 12", class: "legend-line", "aria-hidden": "true" }, drawing), label);
    this.legend.replaceChildren(...clouds.map(({ label, style }) => part(label, svg("circle", { cx: 18, cy: 6, r: 4, class: style }))),
      ...lines.map(({ label, style }) => part(label, svg("path", { d: "M1 6h34", class: style }))));
  }

  drawAxes(picture, x, y, width) {
    for (const tick of y.ticks) {
      picture.append(svg("path", { d: `M${EDGE.left} ${fixed(y.at(tick))}H${width - EDGE.right}`, class: tick === 0 ? "axis" : "grid" }),
        svg("text", { x: EDGE.left - 6, y: fixed(y.at(tick) + 5), "text-anchor": "end" }, y.label(tick)));
    }
    for (const tick of x.ticks) {
      picture.append(svg("path", { d: `M${fixed(x.at(tick))} ${HEIGHT - EDGE.bottom}v5`, class: "axis" }),
        svg("text", { x: fixed(x.at(tick)), y: HEIGHT - EDGE.bottom + 22, "text-anchor": "middle" }, x.label(tick)));
    }
    const unit = this.units.of("gauge_pressure").name;
    picture.append(svg("text", { x: (EDGE.left + width - EDGE.right) / 2, y: HEIGHT - 5, "text-anchor": "middle", class: "axis-name" }, `Boost, ${unit}`),
      svg("text", { x: 0, y: 15, class: "axis-name" }, `Fuel pressure, ${unit}`));
  }

  stop() {
    this.drawing = null;
    this.watch.disconnect();
  }
}

const fixed = (value) => Number(value.toFixed(1));
