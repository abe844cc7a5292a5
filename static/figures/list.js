// The list of all figures: groups that unfold, those used last, and a search by word.

import { el } from "../core/dom.js";
import { bothSpellings } from "../core/words.js";
import { KEYS, recall, remember } from "../core/memory.js";

const LAST = 3;
let searched = ""; // until the page is closed, for coming back

export function noteUse({ name }) {
  remember(KEYS.figuresLast, [name, ...recall(KEYS.figuresLast, []).filter((one) => one !== name)].slice(0, LAST));
}

export function list(app) {
  const groups = [...new Set(app.forms.map((form) => form.group))];
  const entries = app.forms.map((form) => ({ form, element: entry(form), text: bothSpellings(`${form.title} ${form.intro} ${form.words ?? ""} ${form.group}`.toLowerCase()) }));
  const sections = groups.map((group) => section(group, entries.filter(({ form }) => form.group === group)));
  const nothing = el("p", { hidden: true }, "No figure by that word.");
  const last = lastUsed(app);
  const search = el("input", { type: "search", "aria-label": "Find a figure by word", placeholder: "Find by word", autocomplete: "off", oninput: () => find(search.value) });
  search.value = searched;
  function find(text) {
    searched = text;
    const words = text.toLowerCase().split(/\s+/).filter(Boolean);
    for (const one of entries) one.element.hidden = !words.every((word) => one.text.includes(word));
    for (const { own, element, isOpen } of sections) {
      element.hidden = own.every((one) => one.element.hidden);
      element.open = words.length > 0 || isOpen();
    }
    if (last) last.hidden = words.length > 0;
    nothing.hidden = sections.some(({ element }) => !element.hidden);
  }
  if (searched) find(searched);
  return { title: "Figures", element: el("div", { class: "figures" }, el("h1", { tabindex: "-1" }, "Figures"), search, nothing, last, ...sections.map(({ element }) => element)), stop() {} };
}

// A group says which figures it holds before it is opened.
function section(group, own) {
  // One alone needs no group.
  if (own.length === 1) return { own, element: el("ul", { class: "index figure-group" }, own[0].element), isOpen: () => true };
  const isOpen = () => recall(KEYS.figuresOpen, []).includes(group);
  const names = el("span", { class: "counts" }, own.map(({ form }) => form.title).join(" · "));
  const element = el("details", { class: "figure-group unfolding" }, el("summary", { onclick: () => keepOpen(group, !element.open) }, el("span", { class: "group-head" }, el("h2", {}, group), names)),
    el("ul", { class: "index" }, ...own.map((one) => one.element)));
  element.open = isOpen();
  return { own, element, isOpen };
}

function keepOpen(group, open) {
  const others = recall(KEYS.figuresOpen, []).filter((one) => one !== group);
  remember(KEYS.figuresOpen, open ? [...others, group] : others);
}

function lastUsed(app) {
  const forms = recall(KEYS.figuresLast, []).map((name) => app.forms.find((form) => form.name === name)).filter(Boolean);
  return forms.length ? el("nav", { class: "last-used", "aria-label": "Used last" }, ...forms.map((form) => el("a", { class: "other", href: address(form) }, form.title))) : null;
}

// The whole check has a place of its own.
function address({ name }) {
  return name === "supply-check" ? "#/supply" : `#/figures/${name}`;
}

function entry(form) {
  return el("li", {}, el("a", { href: address(form) }, el("strong", {}, form.title), el("span", {}, form.intro)));
}
