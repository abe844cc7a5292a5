// Rows of numbers on the screen.

import { el } from "../core/dom.js";
import { offerUndo } from "../core/undo.js";
import { Control, unitChooser } from "./control.js";
import { isBlank, readCell, readTyped } from "./read.js";

const MOST_BESIDE = 3; // columns that stand beside each other on a phone
const EMPTY = { text: "", unit: null };

// Rows of numbers. The cells are quantity fields without steps; units stand in the head. Rows that are assumed stand as
// placeholders until something is typed.
export class TableControl extends Control {
  constructor(field, context) {
    super(field, context);
    this.body = el("tbody");
    this.units = field.columns.map((column) => unitChooser(context.units, column, (name) => context.units.set(column.kind, name)));
    const heads = field.columns.map((column, i) => el("th", { scope: "col" }, column.label, " ", this.units[i].element));
    this.more = el("button", { type: "button", onclick: () => this.add() }, "Add a row");
    const title = el("span", { class: "label", id: this.id }, field.label);
    this.wrap(title, el("table", { class: field.columns.length > MOST_BESIDE ? "entry wide" : "entry", "aria-labelledby": this.id },
      el("thead", {}, el("tr", {}, ...heads, el("td", {}))), this.body), this.more);
    if (field.in_order) this.element.addEventListener("focusout", ({ relatedTarget }) => this.body.contains(relatedTarget) || this.sort());
    this.setTyped(context.typed);
  }

  // Rows by their first number once nobody types in them; empty ones last.
  sort() {
    const first = (row) => (row.cells.every(isBlank) ? Infinity : readCell(this.field.columns[0], row.cells[0], this.context.units).value);
    if (this.rows.some((row) => first(row) === undefined)) return;
    const sorted = [...this.rows].sort((a, b) => (first(a) < first(b) ? -1 : Number(first(a) > first(b))));
    if (sorted.every((row, i) => row === this.rows[i])) return;
    this.rows = sorted;
    this.body.replaceChildren(...sorted.map(({ element }) => element));
    this.draw();
    this.context.changed(this);
  }

  setTyped(typed) {
    this.rows = [];
    this.body.replaceChildren();
    const start = typed ?? this.field.default ?? [];
    for (const row of start) this.append(row.map((cell) => (typeof cell === "number" ? { si: cell } : cell)));
    const least = typed ? 0 : this.field.assumed?.length ?? 0;
    while (this.rows.length < Math.max(this.field.rows_low, least)) this.append(this.field.columns.map(() => EMPTY));
    this.draw();
  }

  append(cells) {
    const row = { cells };
    row.inputs = this.field.columns.map((column, i) => {
      const input = el("input", {
        type: "text", inputmode: "decimal", autocomplete: "off", "aria-label": column.label,
        oninput: () => { cells[i] = { text: input.value, unit: this.unitOf(column).name }; this.markAssumed(); this.context.changed(this); },
        onchange: () => this.settle(column, cells, i),
        onfocus: () => input.select(),
      });
      return input;
    });
    const remove = el("button", { type: "button", class: "step", "aria-label": "Remove this row", onclick: () => this.remove(row) }, "×");
    row.element = el("tr", {}, ...row.inputs.map((input, i) => el("td", { "data-label": this.field.columns[i].label }, input)), el("td", {}, remove));
    row.removeButton = remove;
    this.rows.push(row);
    this.body.append(row.element);
    this.describe();
  }

  add() {
    if (this.rows.length >= this.field.rows_high) return;
    this.append(this.field.columns.map(() => EMPTY));
    this.draw();
    this.rows.at(-1).inputs[0].focus();
    this.context.changed(this);
  }

  remove(row) {
    if (this.rows.length <= this.field.rows_low) return;
    const before = this.typed();
    this.rows.splice(this.rows.indexOf(row), 1);
    row.element.remove();
    this.draw();
    this.more.focus({ preventScroll: true });
    this.context.changed(this);
    offerUndo("The row is removed.", () => {
      this.setTyped(before);
      this.context.changed(this);
    });
  }

  unitOf(column) {
    return this.context.units.of(column.kind);
  }

  // Done typing: a unit typed behind the number is converted to the column's.
  settle(column, cells, i) {
    const { as } = cells[i].si == null ? readCell(column, cells[i], this.context.units) : {};
    if (!as || (as.text === cells[i].text && as.unit === cells[i].unit)) return;
    cells[i] = as;
    this.draw();
    this.context.changed(this);
  }

  get empty() {
    return this.rows.every((row) => row.cells.every(isBlank));
  }

  markAssumed() {
    if (this.field.assumed == null) return;
    const { empty } = this;
    this.markSource(empty);
    this.rows.forEach((row, number) => this.field.columns.forEach((column, i) => {
      const assumed = empty ? this.field.assumed[number] : null;
      row.inputs[i].placeholder = assumed ? this.context.units.plain(column.kind, assumed[i]) : "";
    }));
  }

  typed() {
    return this.empty && this.field.default == null ? null : this.rows.map((row) => row.cells.map((cell) => (cell.si != null ? cell.si : cell)));
  }

  draw() {
    for (const unit of this.units) unit.draw();
    this.more.hidden = this.rows.length >= this.field.rows_high;
    this.rows.forEach((row, number) => {
      row.removeButton.disabled = this.rows.length <= this.field.rows_low;
      this.field.columns.forEach((column, i) => {
        row.inputs[i].setAttribute("aria-label", `${column.label}, row ${number + 1}`);
        row.inputs[i].value = this.cellText(column, row.cells[i]);
      });
    });
    this.markAssumed();
  }

  cellText(column, cell) {
    const { units } = this.context;
    if (cell.si != null) return units.plain(column.kind, cell.si);
    if (cell.unit === null || cell.unit === this.unitOf(column).name) return cell.text;
    const read = readTyped(column, cell, units);
    return read.error ? cell.text : units.plain(column.kind, read.si);
  }
}
