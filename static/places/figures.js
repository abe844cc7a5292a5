// Figures: every quick calculator, grouped, found by word.

import { Calculator } from "../calculator.js";
import { el } from "../dom.js";

export function figures(app, name) {
  const form = name && app.forms.find((told) => told.name === name);
  return form ? one(app, form) : list(app);
}

function one(app, form) {
  const made = new Calculator(form, app);
  return { title: form.title, element: el("div", {}, el("p", { class: "back" }, el("a", { href: "#/figures" }, "All figures")), made.element), stop: made.stop };
}

function list(app) {
  const groups = [...new Set(app.forms.map((form) => form.group))];
  const entries = app.forms.map((form) => ({ form, element: entry(form), text: `${form.title} ${form.intro} ${form.words ?? ""} ${form.group}`.toLowerCase() }));
  const sections = groups.map((group) => {
    const own = entries.filter(({ form }) => form.group === group);
    return { own, element: el("section", {}, el("h2", {}, group), el("ul", { class: "index" }, ...own.map(({ element }) => element))) };
  });
  const nothing = el("p", { hidden: true }, "No figure by that word.");
  const search = el("input", { type: "search", "aria-label": "Find a figure by word", placeholder: "Find by word", autocomplete: "off",
    oninput: () => {
      const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
      for (const { element, text } of entries) element.hidden = !words.every((word) => text.includes(word));
      for (const { own, element } of sections) element.hidden = own.every((one) => one.element.hidden);
      nothing.hidden = sections.some(({ element }) => !element.hidden);
    } });
  return { title: "Figures", element: el("div", {}, el("h1", { tabindex: "-1" }, "Figures"), search, nothing, ...sections.map(({ element }) => element)), stop() {} };
}

function entry(form) {
  // The whole check has a place of its own.
  const href = form.name === "supply-check" ? "#/supply" : `#/figures/${form.name}`;
  return el("li", {}, el("a", { href }, el("strong", {}, form.title), el("span", {}, form.intro)));
}
