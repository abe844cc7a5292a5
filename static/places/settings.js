// Settings: units, pairing and sync, the log and its backup, whether the page works offline, its version.

import { el, say } from "../core/dom.js";
import { drawOfflineLine } from "../core/offline.js";
import { drawPairing } from "../setup/pairing.js";
import { drawKeeping } from "../setup/keeping.js";
import { openPasses } from "../passes/open.js";

export function settings(app) {
  const { line, stop } = drawOfflineLine(app.offline);
  const pairing = drawPairing({ sync: () => openPasses(app).then(({ log }) => log.sync()) });
  const keeping = drawKeeping(app);
  const version = el("p", {}, `Version ${app.release} (${app.version}).`);
  const look = el("button", { type: "button", onclick: async () => {
    say(looked, "Looking…");
    say(looked, await app.offline.look());
  } }, "Look for a new version");
  const looked = el("p", { role: "status" });
  const element = el("div", { class: "settings" }, el("h1", { tabindex: "-1" }, "Settings and sync"),
    el("section", {}, el("h2", {}, "Units and words"), unitSystem(app.units)),
    el("section", {}, el("h2", {}, "Phone and machine"), pairing.element),
    keeping.element,
    el("section", {}, el("h2", {}, "This page"), line, version, look, looked));
  return { title: "Settings", element, stop() {
    stop();
    pairing.stop();
    keeping.stop();
  } };
}

function unitSystem(units) {
  const option = (value, label) => {
    const input = el("input", { type: "radio", name: "system", value, onchange: () => units.setSystem(value) });
    input.checked = units.system === value;
    return el("label", { class: "option" }, input, el("span", {}, label));
  };
  return el("div", {},
    el("div", { class: "options", role: "radiogroup", "aria-label": "Units" }, option("us", "US"), option("metric", "Metric")),
    el("p", { class: "help" }, "US units come with US words. A single quantity can have another unit: choose it behind any field."));
}
