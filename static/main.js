// Start the page, and show the place that the address names. Only this module knows all places.

import { el } from "./core/dom.js";
import { Offline } from "./core/offline.js";
import { inWords, Told } from "./core/told.js";
import { watchPairing } from "./setup/pairing.js";
import { Trouble } from "./setup/trouble.js";
import { openPasses } from "./passes/open.js";
import { build } from "./places/build.js";
import { figures } from "./places/figures.js";
import { passes } from "./places/passes.js";
import { settings } from "./places/settings.js";
import { supply } from "./places/supply.js";
import { Units } from "./core/units.js";
import { spelledAll } from "./core/words.js";

const PLACES = { supply, figures, passes, build, settings };
const MOVED = { link: "settings" }; // addresses that others may still hold
const placeBox = document.getElementById("place");
const notices = document.getElementById("notices");

async function open() {
  const response = await fetch("/api/forms");
  if (!response.ok) throw new Told(`The forms did not come (${response.status}). Try again with the machine in reach.`);
  const told = await response.json();
  const units = new Units(told.kinds);
  const inWordsOf = {};
  const spoken = () => inWordsOf[units.system] ??= spelledAll({ forms: told.forms, records: told.records, quick: told.quick });
  const app = { get forms() { return spoken().forms; }, get records() { return spoken().records; }, get quick() { return spoken().quick; },
    renamed: told.renamed, version: told.version, release: told.release, units, offline: new Offline(notices, told.version) };
  const trouble = new Trouble(app);
  placeBox.before(trouble.element);
  let shown = null;

  function go() {
    const [name, ...rest] = location.hash.replace(/^#\//, "").split("/");
    const now = MOVED[name] ?? name;
    const place = Object.hasOwn(PLACES, now) ? now : "supply";
    trouble.hide();
    shown = change(shown, () => PLACES[place](app, ...rest));
    document.documentElement.dataset.place = place;
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

// From one place to the next. One that fails is told of, and does not keep the others from opening.
function change(shown, next) {
  try {
    shown?.stop();
  } catch (error) {
    reportError(error);
  }
  try {
    return next();
  } catch (error) {
    reportError(error);
    return { title: "Overbowl", element: el("h1", { tabindex: "-1" }, "This screen could not be shown"), stop() {} };
  }
}

export function start() {
  open().catch((error) => {
    placeBox.replaceChildren(el("h1", {}, "Overbowl did not start"), el("p", { class: "error" }, inWords(error, "It could not be opened whole. Try again with the machine in reach.")),
      el("button", { type: "button", onclick: () => location.reload() }, "Try again"));
  });
}
