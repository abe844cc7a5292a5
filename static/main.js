// Start the page, and show the place that the address names. Only this module knows all places.

import { arrive, leave } from "./core/backto.js";
import { breathe } from "./core/breath.js";
import { allOfCalc } from "./core/compute.js";
import { el } from "./core/dom.js";
import { fetchForms } from "./core/forms.js";
import { Offline } from "./core/offline.js";
import { unfoldOnPaper } from "./core/paper.js";
import { inWords, Told } from "./core/told.js";
import { watchPairing } from "./setup/pairing.js";
import { Trouble } from "./setup/trouble.js";
import { openPasses } from "./passes/open.js";
import { supply } from "./places/supply.js";
import { Units } from "./core/units.js";
import { keepUncovered } from "./core/uncovered.js";
import { endUndo, placeUndo } from "./core/undo.js";

// Supply comes at once; each other place when it is wanted, out of what this phone keeps.
const PLACES = {
  supply: async () => supply,
  figures: async () => (await import("./places/figures.js")).figures,
  passes: async () => (await import("./places/passes.js")).passes,
  build: async () => (await import("./places/build.js")).build,
  settings: async () => (await import("./places/settings.js")).settings,
};
const MOVED = { link: "settings" }; // addresses that others may still hold
const placeBox = document.getElementById("place");
const notices = document.getElementById("notices");

async function open(edition) {
  PLACES[asked()[0]]().catch(() => {}); // on its way while the forms come; go() tells of what went wrong
  const forms = await fetchForms();
  const { told } = forms;
  if (edition !== told.edition) return loadWhole();
  await breathe(); // each part of the start is a task of its own
  const units = new Units(told.kinds);
  forms.spelling.apply();
  units.onChange(() => forms.spelling.apply());
  const app = { get forms() { return told.forms; }, records: told.records, quick: told.quick, renamed: told.renamed, version: told.version, release: told.release, units,
    offline: new Offline(notices, told.version),
    complete: () => Promise.all([forms.complete(), allOfCalc()]) };
  const trouble = new Trouble(app);
  placeBox.before(trouble.element);
  unfoldOnPaper();
  keepUncovered(placeUndo(document.getElementById("bar")));
  const come = { supply }; // the places that have come
  let complete = false;
  let shown = null;

  // What a place needs and has not come yet, as a promise; null where nothing is lacking.
  function lacking(place, rest) {
    const enough = complete || place === "supply" || (place === "figures" && rest.length === 1 && forms.isFirst(rest[0]));
    if (come[place] && enough) return null;
    return Promise.all([come[place] ?? PLACES[place]().then((made) => { come[place] = made; }), enough || app.complete().then(() => { complete = true; })]);
  }

  // At once where all that it needs is here; else when that has come, if it still is the place asked for.
  function go(moved) {
    const [place, rest] = asked();
    for (const anchor of document.querySelectorAll("#bar a")) {
      if (anchor.hash === `#/${place}`) anchor.setAttribute("aria-current", "page");
      else anchor.removeAttribute("aria-current");
    }
    const waiting = lacking(place, rest);
    const { hash } = location;
    if (waiting) waiting.then(() => location.hash === hash && go(moved), (error) => location.hash === hash && lacks(place, error, moved));
    else show(place, () => come[place](app, ...rest), moved);
  }

  // Where a newer page has taken the place of this one, its parts are the newer one's, too: the page is loaded again, once.
  async function lacks(place, error, moved) {
    if (!isLoadedAgain() && await app.offline.isInReach()) return location.reload();
    return show(place, () => notCome(error), moved);
  }

  function show(place, make, moved) {
    trouble.hide();
    endUndo();
    shown = change(shown, make);
    document.documentElement.dataset.place = place;
    document.documentElement.dataset.started = "yes";
    placeBox.replaceChildren(shown.element);
    document.title = `${shown.title} – Overbowl`;
    arrive(location.hash);
    if (moved) placeBox.querySelector("h1")?.focus({ preventScroll: true });
  }

  window.addEventListener("hashchange", ({ oldURL }) => {
    leave(new URL(oldURL).hash);
    go(true);
  });
  await breathe();
  go(false);
  // Opened whatever place is shown: what waits is synced. Where it cannot be opened, the places that need it say so.
  openPasses(app).catch(() => {});
  await app.offline.start();
  // Where nothing is kept, the rest comes while the machine is in reach.
  if (app.offline.state !== "offline-ready") Promise.all([app.complete(), ...Object.values(PLACES).map((fetch) => fetch())]).catch(() => {});
  watchPairing(notices, app.offline.state === "untrusted");
}

// The place that the address names, and what it says beside.
function asked() {
  const [name, ...rest] = location.hash.replace(/^#\//, "").split("/");
  const now = MOVED[name] ?? name;
  return [Object.hasOwn(PLACES, now) ? now : "supply", rest];
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

// Half of an old page and half of a new one: a newer worker took over while this one was being loaded.
function loadWhole() {
  if (isLoadedAgain()) throw new Told("The page came half old and half new. Try again with the machine in reach.");
  location.reload();
}

const isLoadedAgain = () => performance.getEntriesByType("navigation")[0]?.type === "reload";

// A part that did not come: the machine is out of reach and nothing is kept, or a newer page has taken the place of this one.
function notCome(error) {
  return { title: "Overbowl", stop() {}, element: el("div", {}, el("h1", { tabindex: "-1" }, "This screen did not come"),
    el("p", {}, inWords(error, "Load the page again, with the machine in reach. What you typed is kept.")),
    el("button", { type: "button", onclick: () => location.reload() }, "Load again")) };
}

// `edition`: that of the scripts that came.
export function start(edition) {
  open(edition).catch((error) => {
    placeBox.replaceChildren(el("h1", {}, "Overbowl did not start"), el("p", { class: "error" }, inWords(error, "It could not be opened whole. Try again with the machine in reach.")),
      el("button", { type: "button", onclick: () => location.reload() }, "Try again"));
  });
}
