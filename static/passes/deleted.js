// Passes and notes that were deleted, each to be restored.

import { el } from "../core/dom.js";
import { fieldsOf, placeOf, sorted, title } from "./told.js";
import { inWords, isGiven, momentInWords, plainText } from "./values.js";

export class DeletedList {
  constructor(app, { log }) {
    Object.assign(this, { app, log });
    this.fields = fieldsOf(app, "pass");
    this.box = el("div", {});
    this.element = el("div", {}, el("h1", { tabindex: "-1" }, "Deleted"), el("p", { class: "help" }, "Deleted entries can be restored."), this.box);
    this.off = log.onChange(({ records }) => records.size && this.draw());
    this.draw();
  }

  draw() {
    const views = sorted([...this.log.list("pass", { deleted: true }), ...this.log.list("note", { deleted: true })]);
    this.box.replaceChildren(views.length ? el("ul", { class: "deleted" }, ...views.map((view) => this.drawOne(view))) : el("p", {}, "Nothing is deleted."));
  }

  drawOne(view) {
    const { values } = view;
    const numbers = ["elapsed_time", "speed"].filter((name) => isGiven(values[name])).map((name) => inWords(this.fields.get(name), values[name], this.app.units));
    const words = [momentInWords(values.when), placeOf(values), ...numbers, view.kind === "note" ? plainText(values.words ?? "").slice(0, 80) : ""];
    return el("li", {}, el("a", { class: "line-link", href: `#/passes/${view.id}` }, `${title(view)} · ${words.filter(Boolean).join(" · ")}`),
      el("button", { type: "button", onclick: () => this.log.restore(view.id) }, `Restore ${title(view).toLowerCase()}`));
  }

  stop() {
    this.off();
  }
}
