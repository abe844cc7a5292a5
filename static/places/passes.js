// Passes: the log. The list, one pass read back, jotting, the day's board, charts, what was deleted.

import { el, openingLog } from "../core/dom.js";
import { inWords } from "../core/told.js";
import { Board } from "../passes/board.js";
import { PassCharts } from "../passes/charts.js";
import { DeletedList } from "../passes/deleted.js";
import { Jot } from "../passes/jot.js";
import { GaugeLesson } from "../passes/lesson.js";
import { PassList } from "../passes/list.js";
import { OnePass } from "../passes/one.js";
import { openPasses } from "../passes/open.js";
import { RecordingScreen } from "../passes/recording.js";

// Where the list was scrolled to, for coming back to it; and what the screen before is still writing.
let scrolled = 0;
let leaving = Promise.resolve();

export function passes(app, what, how) {
  const box = el("div", {}, el("h1", { tabindex: "-1" }, "Passes"), openingLog());
  let screen = null;
  let gone = false;
  Promise.all([openPasses(app), leaving]).then(([opened]) => {
    if (gone) return;
    screen = choose(app, opened, what, how);
    box.replaceChildren(...[what ? back(what, how) : null, screen.element].filter(Boolean));
    // After the page has moved the focus to the new heading.
    setTimeout(() => !gone && screen.begin?.());
    if (!what) window.scrollTo({ top: scrolled, behavior: "instant" });
    box.dataset.shown = "yes";
  }, (error) => box.replaceChildren(el("h1", {}, "Passes"), el("p", { class: "error" }, `The log on this device could not be opened. ${inWords(error, "")}`)));
  return { title: "Passes", element: box, stop() {
    gone = true;
    if (!what && screen) scrolled = window.scrollY;
    leaving = Promise.resolve(screen?.stop()).catch(() => {});
  } };
}

function choose(app, opened, what, how) {
  if (!what) return new PassList(app, opened);
  if (what === "new") return new Jot(app, opened, "pass", null);
  if (what === "note") return new Jot(app, opened, "note", null);
  if (what === "charts") return new PassCharts(app, opened);
  if (what === "board") return new Board(app, opened, how);
  if (what === "gauge") return new GaugeLesson(app, opened);
  if (what === "deleted") return new DeletedList(app, opened);
  const view = opened.log.get(what);
  if (!view || !app.records[view.kind]) return { element: el("div", {}, el("h1", { tabindex: "-1" }, "Not here"), el("p", {}, "This device has no such pass. It may come with the next sync.")), stop() {} };
  if (how === "recording" && view.kind === "pass") return new RecordingScreen(app, opened, view);
  return how === "jot" ? new Jot(app, opened, view.kind, view.id) : new OnePass(app, opened, view);
}

function back(what, how) {
  return how === "jot" || how === "recording" || what === "new" || what === "note" ? null : el("p", { class: "back" }, el("a", { href: "#/passes" }, "All passes"));
}
