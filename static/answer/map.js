// A map: numbers in cells, one quantity across and one upwards. It is a table, so that it can be read aloud as it stands;
// the ground of a cell deepens with its number, which only helps the eye.

import { sentence } from "../core/compute.js";
import { el } from "../core/dom.js";

const DEPTHS = 5;

export class MapChart {
  constructor(told, form, units) {
    Object.assign(this, { told, form, units });
    const table = form.results.find((result) => result.name === told.rows);
    [this.x, this.y, this.value] = [told.x, told.y, told.value].map((name) => table.columns.find((column) => column.name === name));
    this.box = el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": told.title });
    this.words = el("p", { class: "spoken" });
    this.element = el("figure", { class: "map" }, el("figcaption", {}, told.title), this.words, this.box);
  }

  show({ inputs, results }) {
    const rows = results[this.told.rows] ?? [];
    const [xs, ys] = [this.x, this.y].map(({ name }) => [...new Set(rows.map((row) => row[name]))].sort((a, b) => a - b));
    const all = rows.map((row) => row[this.value.name]);
    const [low, high] = [Math.min(...all), Math.max(...all)];
    const depth = (value) => (high > low ? Math.min(DEPTHS - 1, Math.floor((DEPTHS * (value - low)) / (high - low))) : 0);
    const now = this.told.now?.map((name, i) => nearest([xs, ys][i], inputs[name]));
    const cell = (x, y) => {
      const { [this.value.name]: value } = rows.find((row) => row[this.x.name] === x && row[this.y.name] === y);
      const here = now?.[0] === x && now[1] === y;
      return el("td", { class: `depth-${depth(value)}${here ? " here" : ""}` }, this.text(this.value, value), here ? el("span", { class: "spoken" }, " (nearest to now)") : null);
    };
    const head = (column, value, scope) => el("th", { scope }, this.text(column, value));
    const body = [...ys].reverse().map((y) => el("tr", {}, head(this.y, y, "row"), ...xs.map((x) => cell(x, y))));
    // Across stands under the map, as on any picture.
    const foot = el("tr", {}, el("td", { class: "corner" }, this.unitOf(this.x)), ...xs.map((x) => head(this.x, x, "col")));
    this.words.textContent = sentence(this.told.text, this.form, inputs, results, this.units);
    this.box.replaceChildren(el("p", { class: "map-axis" }, `${this.y.label}, ${this.unitOf(this.y)}`),
      el("table", {}, el("tbody", {}, ...body), el("tfoot", {}, foot)), el("p", { class: "map-axis across" }, `${this.x.label}, ${this.unitOf(this.x)}; cells in ${this.unitOf(this.value)}`));
  }

  unitOf({ kind }) {
    return this.units.of(kind).name;
  }

  // As many decimals as the unit has, none that are nothing.
  text({ kind }, value) {
    return String(Number(this.units.figures(kind, value))).replace("-", "\u2212");
  }
}

function nearest(values, wanted) {
  return values.reduce((best, value) => (Math.abs(value - wanted) < Math.abs(best - wanted) ? value : best), values[0]);
}
