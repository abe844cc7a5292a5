// What figures keep with a car, in words.

import { el } from "../core/dom.js";
import { tickedWords } from "./ticks.js";

// The figures that belong to a car, for the Build screen: what each says as it was kept.
export function belongings(forms, build, units) {
  return el("ul", { class: "index" }, ...forms.filter((form) => form.keep || form.ticks).map((form) => {
    const words = form.ticks ? tickedWords(form, build) : keptWords(form, build.values[`${nameOf(form)}_result`], units) ?? "none kept yet";
    return el("li", {}, el("a", { href: `#/figures/${form.name}` }, el("strong", {}, form.title), el("span", {}, words)));
  }));
}

export const nameOf = (form) => `kept.${form.name.replaceAll("-", "_")}`;

// "total advance under boost 12.0°", or null.
export function keptWords(form, result, units) {
  const told = form.results.find(({ name }) => name === form.lead);
  const lead = result?.[told.name];
  return !Number.isFinite(lead) ? null : `${(result[told.label_from] ?? told.label).toLowerCase()} ${units.text(told.kind, lead)}`;
}
