// Figures: every quick calculator, grouped, found by word; and one of them on screen, with what the current car knows.

import { openBuilds } from "../car/store.js";
import { onThisDevice } from "../core/lastanswer.js";
import { Calculator } from "../figures/calculator.js";
import { CopyCar } from "../figures/copycar.js";
import { TakeOver } from "../figures/takeover.js";
import { el, openingLog } from "../core/dom.js";
import { BuildNumbers } from "../figures/frombuild.js";
import { Guide, guideLine, guideOptions } from "../figures/guide.js";
import { KeepInCar } from "../figures/incar.js";
import { KeptPanel } from "../figures/kept.js";
import { list, noteUse } from "../figures/list.js";
import { InSupply } from "../figures/insupply.js";
import { passForGuide } from "../passes/bad.js";
import { openPasses } from "../passes/open.js";
import { ticksLine, ticksStore } from "../car/ticks.js";

const GUIDE = "after-bad-pass";

// `rest` is "after", what was seen and the number of the check that opened it, and the pass that it was opened from, if from one;
// or, for the guide, the check to come back to, or "pass" and the pass that it goes by.
export function figures(app, name, ...rest) {
  const form = name && app.forms.find((told) => told.name === name);
  if (!form) return list(app);
  noteUse(form);
  const [from, seen, number, last] = rest;
  const opened = from === "after" && number ? { seen, number: Number(number) } : null;
  const passId = opened ? last : from === "pass" ? seen : null;
  const waiting = openingLog();
  const place = el("div", {}, back(opened, passId), waiting);
  const shown = { stop() {} };
  let stopped = false;
  const begin = (builds, pass = null) => {
    if (stopped) return;
    waiting.remove();
    const made = show({ app, form, builds, opened: opened && { ...opened, pass }, at: Number(from), place, pass });
    shown.stop = () => made.stop();
    // The heading came after the page moved the focus to it.
    if (document.activeElement === document.body && document.documentElement.dataset.started) place.querySelector("h1").focus({ preventScroll: true });
  };
  const ofPass = async (builds) => begin(builds, passId && builds ? await openPasses(app).then(({ log }) => passForGuide(app, log, passId)) : null);
  openBuilds(app).catch(() => null).then(ofPass); // no log in this browser: no car either
  return { title: form.title, element: place, stop() { stopped = true; shown.stop(); } };
}

function back(opened, passId) {
  const toGuide = passId ? `#/figures/${GUIDE}/pass/${passId}` : `#/figures/${GUIDE}/${opened?.number}`;
  const link = opened ? el("a", { href: toGuide }, "Back to the checks") : passId ? el("a", { href: `#/passes/${passId}` }, "The pass") : el("a", { href: "#/figures" }, "All figures");
  return el("p", { class: "back" }, link);
}

function show({ app, form, builds, opened, at, place, pass }) {
  if (form.name === GUIDE) {
    const guide = new Guide({ app, form, builds, at, pass });
    place.append(guide.element);
    return guide;
  }
  if (form.ticks) return showTicks({ app, form, builds, place });
  return showFigure({ app, form, builds, opened, place });
}

function showTicks({ app, form, builds, place }) {
  const build = builds?.current() ?? null;
  const calculator = new Calculator(form, app, { typed: ticksStore(form, builds, build), extra: [ticksLine(build)] });
  place.append(calculator.element);
  return calculator;
}

// A figure opens on the car in use; what is tried in it stays in it.
function showFigure({ app, form, builds, opened, place }) {
  const below = el("div");
  const pass = opened?.pass ?? null;
  const numbers = () => carNumbers(app, builds);
  const inSupply = form.part_of_supply && builds && !pass ? new InSupply({ app, builds, changed: () => calculator.tellAgain() }) : null;
  const options = opened ? guideOptions({ app, form, builds, guide: app.forms.find(({ name }) => name === GUIDE), ...opened }) : { typed: onThisDevice(form) };
  const calculator = new Calculator(form, app, { numbers: pass ? null : numbers(), ...options, beside: inSupply, extra: [below] });
  const line = el("div", {});
  calculator.element.querySelector(".intro").after(line);
  place.append(calculator.element);
  const stops = [() => calculator.stop(), () => inSupply?.stop()];
  const drawLine = () => line.replaceChildren(...[opened ? guideLine(pass ? pass.build : builds?.current() ?? null, pass) : carLine(form, builds)].filter(Boolean));
  drawLine();
  if (builds && !pass) {
    const panel = form.keep ? new KeptPanel({ calculator, builds, units: app.units }) : new KeepInCar({ app, calculator, builds });
    below.append(panel.element);
    for (const part of [form.copies && new CopyCar({ app, calculator, builds }), form.takes_over && new TakeOver({ app, calculator, builds })].filter(Boolean)) {
      const told = calculator.onAnswer;
      calculator.onAnswer = () => { told?.(); part.draw(); };
      below.append(part.element);
      part.draw();
    }
    stops.push(() => panel.stop?.(), builds.onChange(() => {
      calculator.setNumbers(numbers());
      inSupply?.lookSoon();
      drawLine();
    }));
  }
  return { stop() { for (const stop of stops) stop(); } };
}

function carNumbers(app, builds) {
  const build = builds?.current();
  return build ? new BuildNumbers(app, build) : null;
}

// Whose numbers stand in the fields; nothing where the figure asks for nothing that a car has.
function carLine(form, builds) {
  const build = builds?.current();
  if (!form.keep && !form.fields.some((field) => field.build)) return null;
  return build ? el("p", { class: "of-car" }, "With the numbers of ", el("strong", {}, build.name), build.invented ? " (invented)." : ".") : null;
}
