// Start the page, and show the place that the address names. Only this module knows all places.

import { el } from "./core/dom.js";
import { Offline } from "./core/offline.js";
import { watchPairing } from "./setup/pairing.js";
import { openPasses } from "./passes/open.js";
import { build } from "./places/build.js";
import { figures } from "./places/figures.js";
import { link } from "./places/link.js";
import { passes } from "./places/passes.js";
import { supply } from "./places/supply.js";
import { Units } from "./core/units.js";

const PLACES = { supply, figures, passes, build, link };
const placeBox = document.getElementById("place");
const notices = document.getElementById("notices");

async function open() {
  const response = await fetch("/api/forms");
  if (!response.ok) throw new Error(`The forms did not come: ${response.status}.`);
  const told = await response.json();
  const app = { forms: told.forms, records: told.records, renamed: told.renamed, version: told.version, release: told.release, units: new Units(told.kinds), offline: new Offline(notices, told.version) };
  let shown = null;

  function go() {
    const [name, ...rest] = location.hash.replace(/^#\//, "").split("/");
    const place = Object.hasOwn(PLACES, name) ? name : "supply";
    shown?.stop();
    shown = PLACES[place](app, ...rest);
    placeBox.replaceChildren(shown.element);
    document.title = `${shown.title} – Overbowl`;
    for (const anchor of document.querySelectorAll("#bar a")) {
      if (anchor.hash === `#/${place}`) anchor.setAttribute("aria-current", "page");
      else anchor.removeAttribute("aria-current");
    }
    window.scrollTo(0, 0);
  }

  window.addEventListener("hashchange", () => {
    go();
    placeBox.querySelector("h1")?.focus({ preventScroll: true });
  });
  go();
  document.documentElement.dataset.started = "yes";
  // Opened whatever place is shown: what waits is synced. Where it cannot be opened, the places that need it say so.
  openPasses(app).catch(() => {});
  await app.offline.start();
  watchPairing(notices, app.offline.state === "untrusted");
}

export function start() {
  open().catch((error) => {
    placeBox.replaceChildren(el("h1", {}, "Overbowl did not start"), el("p", { class: "error" }, String(error.message ?? error)),
      el("button", { type: "button", onclick: () => location.reload() }, "Try again"));
  });
}
