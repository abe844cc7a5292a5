// The gauge card: at this boost the fuel gauge must read at least. For the dash, on the screen and on one printed page.

import { stateShape } from "../answer.js";
import { el } from "../dom.js";

export class GaugeCard {
  constructor({ form, units }) {
    this.units = units;
    this.columns = form.results.find((told) => told.name === "gauge_card").columns;
    this.title = el("h2", {}, "Gauge card");
    this.table = el("div");
    this.foot = el("p", { class: "card-foot" });
    this.caution = el("p", { class: "card-foot" }, "First-order numbers: confirm them at low boost with a gauge and a wideband.");
    this.print = el("button", { type: "button", class: "print", onclick: () => window.print() }, "Print the card");
    this.element = el("section", { class: "gauge-card" }, this.title, el("p", { class: "card-lead" }, "At this boost the fuel gauge must read at least:"),
      this.table, this.foot, this.caution, this.print);
  }

  // `told`: {build, rows, words: what the card holds for}
  show({ build, rows, words }) {
    const { units } = this;
    const kind = (name) => this.columns.find((column) => column.name === name).kind;
    const unit = units.of(kind("least")).name;
    const head = el("tr", {}, ...[["Boost", units.of(kind("boost")).name], ["At least", unit], ["Expected", unit]].map(([label, name]) => (
      el("th", { scope: "col" }, label, el("span", { class: "unit" }, ` ${name}`)))), el("th", { scope: "col" }, el("span", { class: "spoken" }, "State")));
    const cell = (row, name, style) => el("td", { class: style }, units.number(kind(name), row[name]));
    const body = rows.map((row) => el("tr", { class: row.state }, cell(row, "boost", "boost"), cell(row, "least", "least"), cell(row, "expected", "expected"),
      el("td", { class: "row-state" }, row.state === "holds" ? null : el("span", { class: row.state }, stateShape(row.state), row.state))));
    this.element.style.setProperty("--rows", rows.length);
    this.table.replaceChildren(el("table", { class: "card" }, el("thead", {}, head), el("tbody", {}, ...body)));
    this.foot.replaceChildren(...[build.name, build.invented ? "invented car" : null, words].filter(Boolean).join(" · "));
  }
}
