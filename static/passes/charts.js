// Any logged number against any other: the points, a robust line with its band, and the passes that stand apart.

import { run } from "../core/compute.js";
import { el } from "../core/dom.js";
import { KEYS, recall, remember } from "../core/memory.js";
import { airForm, PREFIX } from "./air.js";
import { Scatter } from "./scatter.js";
import { derived, fieldsOf, passesOf, placeOf, title } from "./told.js";
import { dayInWords, millisecondsOf, momentInWords, numberOf } from "./values.js";
import { isNumber } from "../form/stored.js";

const MOST_POINTS = 300; // the slopes of all pairs are worked out while one waits
const TREND = { module: "runs", function: "trend", name: "The trend" };
const DAY = { name: "when", label: "Date", kind: null, of: (values) => { const at = millisecondsOf(values.when); return Number.isNaN(at) ? null : at; } };

// Every number that a chart can show.
function numbers(app) {
  const logged = [...fieldsOf(app, "pass").values()].filter(isNumber);
  const air = airForm(app).fields.filter((field) => field.type === "quantity").map((field) => ({ ...field, name: PREFIX + field.name }));
  const own = [...logged, ...air].map(({ name, label, kind }) => ({ name, label, kind, of: (values) => numberOf(values[name]) }));
  const worked = derived(app);
  return [DAY, ...own.filter(({ name }) => name !== "lambda_value"), ...worked];
}

export class PassCharts {
  constructor(app, { log }) {
    Object.assign(this, { app, log });
    this.numbers = numbers(app);
    this.asked = { x: "density_altitude", y: "elapsed_time", place: "", ...recall(KEYS.charts, {}) };
    this.words = el("div", { class: "chart-words", role: "status" });
    this.apart = el("ul", { class: "index apart" });
    this.scatter = new Scatter((view) => this.pick(view));
    this.picked = el("p", { class: "picked", role: "status" }, "Touch a point to see its pass.");
    this.legend = el("p", { class: "help" }, "The line ignores odd passes. 19 of 20 new passes should fall between the dashed lines. A ringed cross stands apart.");
    this.table = el("div", { class: "unfolded" });
    this.unfolding = el("details", { class: "unfolding", ontoggle: () => this.drawTable() }, el("summary", {}, "The points as a table"), this.table);
    const places = [...new Set(passesOf(log).map((view) => placeOf(view.values)).filter(Boolean))].sort();
    this.element = el("article", { class: "pass-charts" }, el("h1", { tabindex: "-1" }, "Charts"),
      el("div", { class: "choices" }, this.chooser("y", "Vertical", this.numbers), this.chooser("x", "Horizontal", this.numbers),
        places.length > 1 ? this.chooser("place", "Place", [{ name: "", label: "all places" }, ...places.map((place) => ({ name: place, label: place }))]) : null),
      this.words, this.scatter.element, this.legend, this.picked, this.apart, this.unfolding,
      el("a", { class: "plain-link", href: "#/passes/gauge" }, "What your gauge readings say about the car"));
    this.stops = [app.units.onChange(() => this.draw()), log.onChange(({ records }) => records.size && this.draw())];
    this.draw();
  }

  chooser(key, label, options) {
    const select = el("select", { onchange: () => this.choose(key, select.value) }, ...options.map((option) => el("option", { value: option.name }, option.label)));
    if (!options.some((option) => option.name === this.asked[key])) this.asked[key] = options[0].name;
    select.value = this.asked[key];
    return el("label", { class: "pick-one" }, el("span", {}, label), select);
  }

  choose(key, value) {
    this.asked[key] = value;
    remember(KEYS.charts, this.asked);
    this.draw();
  }

  // The newest passes that have both numbers, and whether there are more.
  points() {
    const [x, y] = ["x", "y"].map((key) => this.numbers.find(({ name }) => name === this.asked[key]));
    const points = [];
    for (const view of passesOf(this.log)) {
      if (this.asked.place && placeOf(view.values) !== this.asked.place) continue;
      const point = { view, x: x.of(view.values), y: y.of(view.values) };
      if (point.x === null || point.y === null) continue;
      if (points.length === MOST_POINTS) return { x, y, points, more: true };
      points.push(point);
    }
    return { x, y, points, more: false };
  }

  draw() {
    const { x, y, points, more } = this.points();
    const trend = x.name === y.name ? null : run(TREND, { x: points.map((point) => point.x), y: points.map((point) => point.y) }).results ?? null;
    const notes = x.name === y.name ? ["Choose two different numbers."] : trendNotes(trend, points, x, y);
    if (more) notes.push(`The newest ${points.length} are drawn.`);
    const outliers = new Set(trend?.outliers.map((place) => points[place]) ?? []);
    this.words.replaceChildren(...notes.map((note) => el("p", {}, note)));
    this.scatter.show({ x: this.axis(x), y: this.axis(y), points, outliers, band: trend?.band ?? [], words: `${y.label} against ${x.label.toLowerCase()}: ${points.length} passes. ${notes.join(" ")}` });
    this.legend.hidden = !trend?.enough;
    for (const part of [this.scatter.element, this.picked, this.unfolding]) part.hidden = points.length === 0;
    this.drawApart([...outliers], x, y);
    this.drawn = { x, y, points, outliers };
    this.drawTable();
  }

  // How a number is shown on its axis and in words.
  axis({ label, kind }) {
    const { units } = this.app;
    if (kind === null) return { label, shown: (ms) => ms / (24 * 60 * 60 * 1000), tick: (day) => dayInWords(new Date(day * 24 * 60 * 60 * 1000).toISOString().slice(0, 10)).slice(4, -5), words: (ms) => dayInWords(new Date(ms).toISOString().slice(0, 10)) };
    const unit = units.of(kind);
    return { label: unit.name ? `${label}, ${unit.name}` : label, shown: (si) => units.value(kind, si), tick: null, words: (si) => units.text(kind, si) };
  }

  drawApart(outliers, x, y) {
    this.apart.hidden = outliers.length === 0;
    this.apart.replaceChildren(...outliers.map((point) => el("li", {}, el("a", { href: `#/passes/${point.view.id}` },
      el("strong", {}, `Outlier: ${title(point.view)}`), el("span", {}, this.describe(point, x, y))))));
  }

  describe({ view, x: a, y: b }, x, y) {
    const parts = [momentInWords(view.values.when), `${y.label.toLowerCase()} ${this.axis(y).words(b)}`];
    if (x.kind !== null) parts.push(`${x.label.toLowerCase()} ${this.axis(x).words(a)}`);
    return parts.join(" · ");
  }

  pick(point) {
    this.picked.replaceChildren(el("a", { class: "line-link", href: `#/passes/${point.view.id}` }, `${title(point.view)}: ${this.describe(point, this.drawn.x, this.drawn.y)}`));
  }

  drawTable() {
    if (!this.unfolding.open || !this.drawn) return;
    const { x, y, points, outliers } = this.drawn;
    const rows = points.map((point) => el("tr", {}, el("td", {}, el("a", { class: "line-link", href: `#/passes/${point.view.id}` }, title(point.view))),
      el("td", { class: "number" }, this.axis(x).words(point.x)), el("td", { class: "number" }, this.axis(y).words(point.y)), el("td", {}, outliers.has(point) ? "yes" : "")));
    this.table.replaceChildren(el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "The points" },
      el("table", { class: "rows" }, el("thead", {}, el("tr", {}, ...["Pass", x.label, y.label, "Outlier?"].map((head) => el("th", { scope: "col" }, head)))), el("tbody", {}, ...rows))));
  }

  stop() {
    for (const stop of this.stops) stop();
    this.scatter.stop();
  }
}

function trendNotes(trend, points, x, y) {
  if (points.length === 0) return ["No pass has both of these numbers yet."];
  if (!trend?.enough) return ["Too few points for a trend: it takes three or more, at different values."];
  const along = x.kind === null ? "with time" : `as ${x.label.toLowerCase()} rises`;
  const notes = [trend.slope_low > 0 ? `${y.label} rises ${along}.` : trend.slope_high < 0 ? `${y.label} falls ${along}.` : "No clear trend."];
  if (trend.count < 8) notes.push("Few points, so the band is wide.");
  return notes;
}
