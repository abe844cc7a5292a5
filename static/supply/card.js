// The gauge card: what the fuel gauge would read at each boost, and the least under which to lift. For the dash, on the screen and on one printed page.

import { stateShape } from "../answer/answer.js";
import { el, rebuild } from "../core/dom.js";

export class GaugeCard {
  constructor({ form, units }) {
    this.units = units;
    this.columns = form.results.find((told) => told.name === "gauge_card").columns;
    this.title = el("h2", {}, "Gauge card");
    this.table = el("div");
    this.foot = el("p", { class: "card-foot" });
    this.caution = el("p", { class: "card-foot" }, "First-order numbers: confirm them at low boost with a gauge and a wideband.");
    this.print = el("button", { type: "button", class: "print", onclick: () => window.print() }, "Print the card");
    this.element = el("section", { class: "gauge-card" }, this.title, el("p", { class: "card-lead" }, "What the fuel gauge would read at each boost. Under the last number: lift."),
      this.foot, this.table, this.caution, this.print);
  }

  // `told`: {build, rows, words: what the card holds for}
  show({ build, rows, words }) {
    const unit = (name) => this.units.of(this.kind(name)).name;
    const heads = [["Boost", unit("boost")], ["Would read", unit("expected")], ["▼ Lift below", unit("least")]];
    this.element.style.setProperty("--rows", rows.length);
    rebuild(this.table, [rows, heads], () => [el("table", { class: "card" }, el("thead", {}, this.head(heads)), el("tbody", {}, ...rows.map((row) => this.row(row))))]);
    rebuild(this.foot, [build.name, build.invented, words], () => [el("strong", {}, build.name), [build.invented ? " · invented car" : "", words].filter(Boolean).join(" · ")]);
  }

  kind(name) {
    return this.columns.find((column) => column.name === name).kind;
  }

  head(heads) {
    return el("tr", {}, ...heads.map(([label, unit]) => el("th", { scope: "col" }, label, el("span", { class: "unit" }, ` ${unit}`))),
      el("th", { scope: "col" }, el("span", { class: "spoken" }, "State")));
  }

  row(row) {
    const cell = (name) => el("td", { class: name }, this.units.number(this.kind(name), row[name]));
    return el("tr", { class: row.state }, cell("boost"), cell("expected"), cell("least"),
      el("td", { class: "row-state" }, row.state === "holds" ? null : el("span", { class: row.state }, stateShape(row.state), row.state)));
  }
}
