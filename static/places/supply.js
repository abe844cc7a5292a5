// Supply: will the bowls of the current car stay full at this boost, to what boost, and what gives out first.

import { startButtons } from "../car/overview.js";
import { checkForm } from "../car/sections.js";
import { openBuilds } from "../car/store.js";
import { el, keepFocus, openingLog } from "../core/dom.js";
import { inWords } from "../core/told.js";
import { firstTry } from "../supply/first.js";
import { SupplyView } from "../supply/view.js";

// `from` and `number`: the guide's check that opened it.
export function supply(app, from, number) {
  const body = el("div", {}, openingLog());
  const back = from ? el("p", { class: "back" }, el("a", { href: `#/figures/${from}/${Number(number) || ""}` }, "Back to the checks")) : null;
  const place = el("div", { class: "supply" }, back, el("h1", { tabindex: "-1" }, "Supply"), body);
  const form = checkForm(app);
  let stop = () => {};
  let stopped = false;
  openBuilds(app).then((builds) => !stopped && begin(builds), (error) => {
    body.replaceChildren(el("p", { class: "error" }, `This browser keeps no log for this page, so there is no car to check. ${inWords(error, "Open it in another browser, or not in a private window.")}`));
  });

  function begin(builds) {
    let shown = null;
    let drawn = false;
    const draw = () => {
      const build = builds.current();
      if (build && shown?.id === build.id) return shown.setBuild(build);
      shown?.stop();
      shown = build ? new SupplyView({ app, form, build, builds }) : null;
      keepFocus(body, () => body.replaceChildren(shown ? shown.element : empty(app, form, builds)));
      if (drawn) window.scrollTo(0, 0); // another car: its answer is at the top
      drawn = true;
    };
    const stopListening = builds.onChange(draw);
    stop = () => { stopListening(); shown?.stop(); };
    draw();
  }

  return { title: "Supply", element: place, stop() { stopped = true; stop(); } };
}

function empty(app, form, builds) {
  return el("div", {},
    firstTry(app),
    el("p", {}, "Will your own pump, lines and seats give that while the engine drinks? Six questions give a first verdict."),
    startButtons({ builds, form, units: app.units, example() {}, own: () => { location.hash = "#/build"; } }),
    el("p", {}, el("a", { class: "plain-link", href: "#/figures/fuel-pressure" }, "Just the fuel pressure at boost? Five numbers.")),
    el("p", { class: "caution" }, form.caution));
}
