// A recording over time: fuel pressure, boost and what the card asks for; another column below. Zoomed by buttons or by
// pinch, moved by a finger once zoomed. A second recording lies over the first, both from where their boost comes.

import { axis } from "../answer/chart.js";
import { oneByOne } from "../core/breath.js";
import { plain } from "../core/compute.js";
import { el, newId, svg } from "../core/dom.js";

const NARROWEST = 280;
const EDGE = { left: 54, right: 10, top: 10, bottom: 46 };
const HEIGHT = 270;
const LOWER = 170;
const ZOOM = 0.5;
const SHIFT = 0.4; // of what is shown
const SHORTEST = 0.2; // s

const OTHERS = { speed: ["Engine speed", "rotational_speed"], mixture: ["Lambda", "ratio"], throttle: ["Throttle", "fraction"], battery: ["Battery", "voltage"], road: ["Car speed", "speed"] };

export class TimePicture {
  constructor(units, { onStretch = null } = {}) {
    Object.assign(this, { units, onStretch, touches: new Map() });
    this.hatch = newId("hatch");
    this.box = el("div", { class: "chart-box recording-box", onpointerdown: (event) => this.onDown(event), onpointermove: (event) => this.onMove(event),
      onpointerup: (event) => this.onUp(event), onpointercancel: (event) => this.onUp(event) });
    this.lower = el("div", { class: "chart-box lower" });
    this.legend = el("p", { class: "legend" });
    this.choice = el("select", { "aria-label": "Also show", onchange: () => this.draw() });
    const button = (words, label, work) => el("button", { type: "button", "aria-label": label, onclick: () => work() }, words);
    this.tools = el("div", { class: "zoom-tools" }, button("−", "Zoom out", () => this.zoom(1 / ZOOM)), button("+", "Zoom in", () => this.zoom(ZOOM)),
      button("‹", "Earlier", () => this.shift(-SHIFT)), button("›", "Later", () => this.shift(SHIFT)), button("All", "Show all", () => this.look(this.whole)));
    this.only = onStretch && el("button", { type: "button", hidden: true, onclick: () => onStretch(this.window) }, "Work out this stretch only");
    this.also = el("label", { class: "pick-one" }, el("span", {}, "Below"), this.choice);
    this.element = el("figure", { class: "chart recording" }, el("figcaption", {}, "Over time"), this.legend, this.box, this.tools, this.only, this.also, this.lower);
    this.watch = new ResizeObserver(() => this.told && Math.floor(this.box.clientWidth) !== this.width && this.drawInTurn());
    this.watch.observe(this.box);
  }

  // told: {columns, net, card, under, name}, other: {columns, name} or null. `from` and `to`: what is looked at first.
  show(told, other = null, [from, to] = []) {
    Object.assign(this, { told, other });
    this.element.classList.toggle("laid-over", other !== null);
    const { time } = told.columns;
    this.whole = { from: time[0], to: Math.max(time[time.length - 1], time[0] + SHORTEST) };
    this.shown = from === undefined ? { ...this.whole } : { from, to };
    // The other's time runs from where its boost comes, as this one's.
    this.late = other ? plain("recording", "begins", time, told.columns.boost) - plain("recording", "begins", other.columns.time, other.columns.boost) : 0;
    const names = Object.keys(OTHERS).filter((name) => told.columns[name]);
    const chosen = this.choice.value;
    this.choice.replaceChildren(el("option", { value: "net" }, "Over the bowls"), ...names.map((name) => el("option", { value: name }, OTHERS[name][0])), el("option", { value: "" }, "nothing"));
    this.choice.value = names.includes(chosen) || chosen === "" ? chosen || "net" : "net";
    this.drawInTurn();
  }

  get window() {
    return this.shown;
  }

  look({ from, to }) {
    const length = Math.min(Math.max(to - from, SHORTEST), this.whole.to - this.whole.from);
    const start = Math.min(Math.max(from, this.whole.from), this.whole.to - length);
    this.shown = { from: start, to: start + length };
    if (this.only) this.only.hidden = false;
    this.drawSoon();
  }

  zoom(times, at = 0.5) {
    const { from, to } = this.shown;
    const middle = from + at * (to - from);
    this.look({ from: middle - (middle - from) * times, to: middle + (to - middle) * times });
  }

  shift(share) {
    const { from, to } = this.shown;
    this.look({ from: from + share * (to - from), to: to + share * (to - from) });
  }

  onDown(event) {
    this.touches.set(event.pointerId, event.clientX);
    this.grip = this.gripOf();
  }

  onMove(event) {
    if (!this.touches.has(event.pointerId)) return;
    this.touches.set(event.pointerId, event.clientX);
    const now = this.gripOf();
    const box = this.box.getBoundingClientRect();
    const wide = Math.max(1, box.width - EDGE.left - EDGE.right);
    const { from, to } = this.grip.shown;
    const share = (x) => (x - box.left - EDGE.left) / wide;
    const times = this.touches.size > 1 ? this.grip.apart / Math.max(now.apart, 1) : 1;
    // What lay under the fingers stays under them.
    const held = from + share(this.grip.middle) * (to - from);
    const length = (to - from) * times;
    this.look({ from: held - share(now.middle) * length, to: held + (1 - share(now.middle)) * length });
  }

  onUp(event) {
    this.touches.delete(event.pointerId);
    this.grip = this.gripOf();
  }

  gripOf() {
    const xs = [...this.touches.values()];
    return { shown: this.shown, middle: xs.length ? (Math.min(...xs) + Math.max(...xs)) / 2 : 0, apart: xs.length ? Math.max(...xs) - Math.min(...xs) : 0 };
  }

  drawSoon() {
    this.frame ??= requestAnimationFrame(() => {
      this.frame = null;
      if (this.touches.size) this.draw();
      else this.drawInTurn();
    });
  }

  // In one go, since it follows the fingers.
  draw() {
    const traced = this.trace();
    if (!traced) return;
    this.drawUpper(traced);
    this.inTurn([() => this.drawLower(traced), () => this.drawLegend(traced)]);
  }

  // Otherwise each part is a task of its own.
  drawInTurn() {
    const traced = this.trace();
    if (traced) this.inTurn([() => this.drawUpper(traced), () => this.drawLower(traced), () => this.drawLegend(traced)]);
  }

  inTurn(parts) {
    const drawing = this.drawing = {};
    oneByOne(parts, () => drawing === this.drawing);
  }

  // What is drawn: {lines, mine: the places of the samples, width}, or null where nothing can be.
  trace() {
    const width = Math.max(Math.floor(this.box.clientWidth), NARROWEST);
    if (!this.told || !this.box.clientWidth) return null;
    this.width = Math.floor(this.box.clientWidth);
    const { columns, card } = this.told;
    const mine = this.places(columns, width, 0);
    const pressure = (values) => values.map((value) => this.units.value("gauge_pressure", value));
    const pick = (values, places) => places.map((place) => values[place]);
    const lines = [
      { label: "Boost", style: "line line-1", x: pick(columns.time, mine), y: pressure(pick(columns.boost, mine)) },
      { label: "Fuel pressure", style: "line line-0", x: pick(columns.time, mine), y: pressure(pick(columns.fuel, mine)) },
    ];
    if (card.length) lines.push({ label: "Card: at least", style: "line line-2", x: lines[0].x, y: pressure(pick(columns.boost, mine).map((boost) => plain("recording", "interpolate", card, boost, "least"))) });
    if (this.other) {
      const theirs = this.places(this.other.columns, width, this.late);
      const x = pick(this.other.columns.time, theirs).map((time) => time + this.late);
      lines.push({ label: `${this.other.name}: boost`, style: "line other-1", x, y: pressure(pick(this.other.columns.boost, theirs)) },
        { label: `${this.other.name}: fuel pressure`, style: "line other-0", x, y: pressure(pick(this.other.columns.fuel, theirs)) });
    }
    return { lines, mine, width };
  }

  drawUpper({ lines, width }) {
    this.box.replaceChildren(this.panel(lines, { width, height: HEIGHT, label: "Pressure", kind: "gauge_pressure", words: this.told.words ?? "Fuel pressure and boost over time" }));
  }

  drawLower({ mine, width }) {
    const { columns, net } = this.told;
    const name = this.choice.value;
    this.lower.hidden = name === "";
    if (name === "") return;
    const [label, kind] = name === "net" ? ["Net", "pressure_difference"] : OTHERS[name];
    const shown = (values, places) => places.map((place) => this.units.value(kind, values[place]));
    const lines = [{ label, style: "line line-0", x: mine.map((place) => columns.time[place]), y: shown(name === "net" ? net : columns[name], mine) }];
    const theirs = name === "net" ? this.other?.net : this.other?.columns[name];
    if (theirs) {
      const places = this.places(this.other.columns, width, this.late);
      lines.push({ label: this.other.name, style: "line other-0", x: places.map((place) => this.other.columns.time[place] + this.late), y: shown(theirs, places) });
    }
    this.lower.replaceChildren(this.panel(lines, { width, height: LOWER, label, kind, words: name === "net" ? "Pressure over the bowls, over time" : `${label} over time` }));
  }

  // The samples to draw: two a pixel at most, the least and the largest among them.
  places(columns, width, late) {
    const { from, to } = this.shown;
    const last = columns.time.length;
    const first = Math.max(0, plain("recording", "place_of", columns.time, from - late) - 1);
    return plain("recording", "thin", [columns.fuel, columns.boost], first, Math.min(last, plain("recording", "place_of", columns.time, to - late) + 1), Math.floor(width / 3));
  }

  drawLegend({ lines }) {
    const key = lines.map(({ label }) => label).join();
    if (key === this.legendKey) return;
    this.legendKey = key;
    const parts = lines.map(({ label, style }) => el("span", { class: "legend-part" }, svg("svg", { viewBox: "0 0 36 12", class: "legend-line", "aria-hidden": "true" }, svg("path", { d: "M1 6h34", class: style })), label));
    if (this.told.under.length) {
      parts.push(el("span", { class: "legend-part" }, svg("svg", { viewBox: "0 0 36 12", class: "legend-line", "aria-hidden": "true" }, this.hatching(`${this.hatch}-legend`),
        svg("path", { d: "M1 1h34v10H1z", class: "band", fill: `url(#${this.hatch}-legend)` })), "under the card"));
    }
    this.legend.replaceChildren(...parts);
  }

  hatching(id) {
    return svg("defs", {}, svg("pattern", { id, width: 6, height: 6, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" }, svg("path", { d: "M1 0v6", class: "hatch" })));
  }

  panel(lines, { width, height, label, kind, words }) {
    const { from, to } = this.shown;
    const all = lines.flatMap(({ y }) => y);
    const time = (si) => this.units.value("logged_time", si);
    const x = axis(time(from), time(to), EDGE.left, width - EDGE.right, width < 500 ? 4 : 9);
    const lowest = Math.min(...all);
    const highest = Math.max(...all);
    const y = axis(kind === "ratio" ? lowest : Math.min(0, lowest), highest, height - EDGE.bottom, EDGE.top, height < HEIGHT ? 4 : 6);
    const picture = svg("svg", { viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": words });
    const clip = newId("clip");
    picture.append(svg("clipPath", { id: clip }, svg("rect", { x: EDGE.left, y: 0, width: width - EDGE.left - EDGE.right, height: height - EDGE.bottom + 2 })));
    for (const { start, end } of this.told.under) {
      const [left, right] = [x.at(time(start)), x.at(time(end))];
      if (right < EDGE.left || left > width - EDGE.right) continue;
      picture.append(svg("path", { d: `M${fixed(left)} ${EDGE.top}H${fixed(Math.max(right, left + 3))}V${height - EDGE.bottom}H${fixed(left)}Z`, class: "band", fill: `url(#${this.hatch}-${height})`, "clip-path": `url(#${clip})` }));
    }
    picture.append(this.hatching(`${this.hatch}-${height}`));
    this.drawAxes(picture, x, y, { width, height, label, kind });
    for (const line of lines) {
      const d = line.x.map((at, i) => `${i ? "L" : "M"}${fixed(x.at(time(at)))} ${fixed(y.at(line.y[i]))}`).join("");
      picture.append(svg("path", { d, class: `${line.style} traced`, "clip-path": `url(#${clip})` }));
    }
    return picture;
  }

  drawAxes(picture, x, y, { width, height, label, kind }) {
    for (const tick of y.ticks) {
      picture.append(svg("path", { d: `M${EDGE.left} ${fixed(y.at(tick))}H${width - EDGE.right}`, class: tick === 0 ? "axis" : "grid" }),
        svg("text", { x: EDGE.left - 6, y: fixed(y.at(tick) + 5), "text-anchor": "end" }, y.label(tick)));
    }
    for (const tick of x.ticks) {
      picture.append(svg("path", { d: `M${fixed(x.at(tick))} ${height - EDGE.bottom}v5`, class: "axis" }),
        svg("text", { x: fixed(x.at(tick)), y: height - EDGE.bottom + 22, "text-anchor": "middle" }, x.label(tick)));
    }
    const unit = this.units.of(kind).name;
    picture.append(
      svg("text", { x: (EDGE.left + width - EDGE.right) / 2, y: height - 5, "text-anchor": "middle", class: "axis-name" }, `Time, ${this.units.of("logged_time").name}`),
      svg("text", { transform: `translate(15 ${(EDGE.top + height - EDGE.bottom) / 2}) rotate(-90)`, "text-anchor": "middle", class: "axis-name" }, unit ? `${label}, ${unit}` : label));
  }

  stop() {
    this.drawing = null;
    this.watch.disconnect();
  }
}

const fixed = (value) => Number(value.toFixed(1));
