// Figures: every quick calculator, grouped, found by word; and one of them on screen, with what the current car knows.

import { openBuilds } from "../car/store.js";
import { onThisDevice } from "../core/lastanswer.js";
import { Calculator } from "../figures/calculator.js";
import { el } from "../core/dom.js";
import { BuildNumbers, Offers } from "../figures/frombuild.js";
import { Guide, guideLine, guideStore } from "../figures/guide.js";
import { KeptPanel } from "../figures/kept.js";
import { list, noteUse } from "../figures/list.js";
import { ticksLine, ticksStore } from "../car/ticks.js";

const GUIDE = "after-bad-pass";

// `rest` is "after", what was seen and the number of the check that opened it; or the check to come back to.
export function figures(app, name, ...rest) {
  const form = name && app.forms.find((told) => told.name === name);
  if (!form) return list(app);
  noteUse(form);
  const [from, seen, number] = rest;
  const opened = from === "after" && number ? { seen, number: Number(number) } : null;
  const place = el("div", {}, back(opened));
  const shown = { stop() {} };
  let stopped = false;
  const begin = (builds) => !stopped && Object.assign(shown, show({ app, form, builds, opened, at: Number(from), place }));
  const builds = openBuilds(app).catch(() => null); // no log in this browser: no car either
  if (name === GUIDE || opened || form.ticks) builds.then(begin);
  else begin(builds);
  return { title: form.title, element: place, stop() { stopped = true; shown.stop(); } };
}

function back(opened) {
  return el("p", { class: "back" }, opened ? el("a", { href: `#/figures/${GUIDE}/${opened.number}` }, "Back to the checks") : el("a", { href: "#/figures" }, "All figures"));
}

function show({ app, form, builds, opened, at, place }) {
  if (form.name === GUIDE) {
    const guide = new Guide({ app, form, builds, at });
    place.append(guide.element);
    return guide;
  }
  if (!form.ticks && !opened) return showPlain({ app, form, builds, place });
  const build = builds?.current() ?? null;
  const typed = form.ticks ? ticksStore(form, builds, build) : guideStore({ app, form, builds, guide: app.forms.find(({ name }) => name === GUIDE), ...opened });
  const calculator = new Calculator(form, app, { typed, extra: form.ticks ? [ticksLine(build)] : [] });
  if (!form.ticks) calculator.element.querySelector(".intro").after(guideLine(build));
  place.append(calculator.element);
  return calculator;
}

// The figure is there at once; what the car knows follows when its log is open.
function showPlain({ app, form, builds: opening, place }) {
  const below = el("div");
  const calculator = new Calculator(form, app, { typed: onThisDevice(form), extra: [below] });
  place.append(calculator.element);
  const stops = [() => calculator.stop()];
  let stopped = false;
  opening.then((builds) => {
    if (stopped || !builds) return;
    stops.push(offer({ app, calculator, builds }));
    if (form.keep) {
      const panel = new KeptPanel({ calculator, builds, units: app.units });
      below.append(panel.element);
      stops.push(() => panel.stop());
    }
  });
  return { stop() { stopped = true; for (const stop of stops) stop(); } };
}

function offer({ app, calculator, builds }) {
  let numbers;
  const read = () => { const build = builds.current(); numbers = build && new BuildNumbers(app, build); };
  read();
  const offers = new Offers({ view: calculator.view, units: app.units, numbers: () => numbers });
  calculator.offer(offers);
  return builds.onChange(() => { read(); offers.draw(); });
}
