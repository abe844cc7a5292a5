// Build: the car as it stands, a section at a time, and the cars that are kept.

import { ChangesView } from "../car/changes.js";
import { CompareView } from "../car/compare.js";
import { QuickView } from "../car/quick.js";
import { Overview } from "../car/overview.js";
import { SectionView } from "../car/section.js";
import { checkForm, sectionsOf } from "../car/sections.js";
import { openBuilds } from "../car/store.js";
import { el, openingLog } from "../core/dom.js";
import { HandOver } from "../setup/handover.js";
import { inWords } from "../core/told.js";
import { wrongIn } from "../car/check.js";

const PAGES = { hand: ["Hand over a car", HandOver], compare: ["Two cars compared", CompareView], changes: ["Changes", ChangesView], quick: ["Three-minute car", QuickView] };

// `rest`: of a car that is handed over by a code, its values.
export function build(app, part = "", ...rest) {
  const form = checkForm(app);
  const section = sectionsOf(form).find(({ name }) => name === part);
  const title = section?.label ?? PAGES[part]?.[0] ?? "Build";
  const box = el("div", {}, openingLog());
  const element = el("div", { class: "build" }, title === "Build" ? null : el("p", { class: "back" }, el("a", { href: "#/build" }, "Build")),
    el("h1", { tabindex: "-1" }, title), box);
  let stop = () => {};
  let stopped = false;
  openBuilds(app).then((builds) => {
    if (stopped) return;
    const check = (id) => wrongIn(form, builds.get(id), app.units);
    const parts = { form, forms: app.forms, quick: app.quick, builds, units: app.units, check, app, rest };
    const made = section ? oneSection(parts, section) : new (PAGES[part]?.[1] ?? Overview)(parts);
    box.replaceChildren(made.element);
    stop = () => made.stop();
  }, (error) => box.replaceChildren(el("p", { class: "error" }, `This browser keeps no log for this page, so no car can be kept. ${inWords(error, "Open it in another browser, or not in a private window.")}`)));
  return { title, element, stop() { stopped = true; stop(); } };
}

function oneSection(parts, section) {
  const current = parts.builds.current();
  if (!current) return { element: el("p", {}, "There is no car yet. ", el("a", { href: "#/build" }, "Begin one"), "."), stop() {} };
  const made = new SectionView({ ...parts, section, build: current });
  const all = sectionsOf(parts.form);
  const next = all[all.findIndex(({ name }) => name === section.name) + 1];
  const element = el("div", {}, el("p", { class: "intro" }, `${current.name}${current.invented ? " (invented)" : ""}. Leave blank what you don't know; the assumed value is used.`),
    made.element, el("p", { class: "start" },
      next ? el("a", { class: "next", href: `#/build/${next.name}` }, `Next: ${next.label}`) : el("a", { class: "next", href: "#/supply" }, "Run the supply check"),
      el("a", { class: "plain-link", href: "#/build" }, "All sections")));
  return { element, stop: () => made.stop() };
}
