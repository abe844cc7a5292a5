// Start the page, and show the place that the address names. Only this module knows all places.

import { el } from "./dom.js";
import { Offline } from "./offline.js";
import { Units } from "./units.js";

// A place is loaded when it is first shown, so that the first answer waits for no other; the rest follow when it is there.
const PLACES = {
  supply: () => import("./places/supply.js"),
  figures: () => import("./places/figures.js"),
  passes: () => import("./places/passes.js"),
  build: () => import("./places/build.js"),
  link: () => import("./places/link.js"),
};
const placeBox = document.getElementById("place");
const notices = document.getElementById("notices");

async function start() {
  const response = await fetch("/api/forms");
  if (!response.ok) throw new Error(`The forms did not come: ${response.status}.`);
  const told = await response.json();
  const app = { forms: told.forms, records: told.records, version: told.version, release: told.release, units: new Units(told.kinds), offline: new Offline(notices) };
  let shown = null;
  let turn = 0;

  async function go() {
    turn += 1;
    const mine = turn;
    const [name, ...rest] = location.hash.replace(/^#\//, "").split("/");
    const place = Object.hasOwn(PLACES, name) ? name : "supply";
    const { [place]: open } = await PLACES[place]();
    if (mine !== turn) return;
    shown?.stop();
    shown = open(app, ...rest);
    placeBox.replaceChildren(shown.element);
    document.title = `${shown.title} – Overbowl`;
    for (const anchor of document.querySelectorAll("#bar a")) {
      if (anchor.hash === `#/${place}`) anchor.setAttribute("aria-current", "page");
      else anchor.removeAttribute("aria-current");
    }
    window.scrollTo(0, 0);
  }

  window.addEventListener("hashchange", async () => {
    await go();
    placeBox.querySelector("h1")?.focus({ preventScroll: true });
  });
  await go();
  document.documentElement.dataset.started = "yes";
  // All scripts of this version are loaded now, so that none of another version can come in later.
  const [{ watchPairing }, { openPasses }] = await Promise.all([import("./pairing.js"), import("./passes/open.js"), ...Object.values(PLACES).map((load) => load())]);
  // Opened whatever place is shown: what waits is synced. Where it cannot be opened, the places that need it say so.
  openPasses(app).catch(() => {});
  await app.offline.start();
  watchPairing(notices, app.offline.state === "untrusted");
}

start().catch((error) => {
  placeBox.replaceChildren(el("h1", {}, "Overbowl did not start"), el("p", { class: "error" }, String(error.message ?? error)),
    el("button", { type: "button", onclick: () => location.reload() }, "Try again"));
});
