// What the fuel gauge of all passes says of the current car: how much the lines lose and the pump gives, against what was
// worked out. Where enough passes tell it, the car can take it over, and the supply check counts with it from then on.

import { checkForm, fieldNamed } from "../car/sections.js";
import { measuredMark } from "../car/sure.js";
import { plain, run, sentence } from "../core/compute.js";
import { el } from "../core/dom.js";
import { inputsOf } from "./check.js";
import { buildOf } from "./compare.js";
import { columnsOf } from "./kept.js";
import { passesOf } from "./told.js";
import { numberOf } from "./values.js";
import { saveWithUndo } from "../core/undo.js";

const MOST_PASSES = 60; // the newest: a car changes over a season
const MOST_MOMENTS = 120; // of recordings: each asks for a supply check
const NEAR_PEAK = 0.85; // of the engine speed for which a car's power was given
const LEARN = {
  name: "Learning from the gauge", module: "supply", function: "learn_from_gauge", fields: [],
  results: ["line_factor", "pump_factor"].map((name) => ({ name, kind: "ratio" })),
};

export class GaugeLesson {
  constructor(app, { log, builds }) {
    Object.assign(this, { app, log, builds });
    this.box = el("div", { role: "status" });
    this.element = el("article", { class: "lesson" }, el("h1", { tabindex: "-1" }, "What the gauge says"), this.box);
    this.stops = [app.units.onChange(() => this.draw()), log.onChange(({ records }) => records.size && this.draw())];
    this.draw();
  }

  stop() {
    this.turn = null;
    for (const stop of this.stops) stop();
  }

  async draw() {
    const turn = this.turn = {};
    const build = this.builds.current();
    const passes = build ? await this.cases(build) : [];
    if (turn !== this.turn) return;
    this.box.replaceChildren(...(build ? this.lesson(build, passes) : [el("p", {}, "There is no car yet."), el("a", { class: "plain-link", href: "#/build" }, "Begin a car")]));
  }

  // The passes of this car with boost and fuel pressure of the same moment, each with the car as it was then. One with a
  // recording tells of several moments.
  async cases(build) {
    const isTold = ({ values }) => values.build === build.id && (columnsOf(values.recording) || (numberOf(values.boost) !== null && numberOf(values.fuel_pressure) !== null));
    const told = passesOf(this.log).filter(isTold).slice(0, MOST_PASSES);
    const cases = await Promise.all(told.map(async ({ id, values }) => this.momentsOf(values).map(this.caseOf(id, values, await buildOf(this.log, values)))));
    return cases.flat().filter(Boolean).slice(0, MOST_MOMENTS);
  }

  momentsOf(values) {
    const columns = columnsOf(values.recording);
    const pairs = columns ? plain("recording", "teaching_pairs", columns) : [];
    if (pairs.length) return pairs.map((pair) => ({ ...pair, at: values.recording.tapped }));
    const [boost, reading] = [numberOf(values.boost), numberOf(values.fuel_pressure)];
    return boost === null || reading === null ? [] : [{ boost, reading, speed: null, at: null }];
  }

  caseOf(id, values, then) {
    return ({ boost, reading, speed, at }) => {
      const { inputs, errors } = inputsOf(this.app, values, then, boost);
      if (Object.keys(errors).length) return null;
      if (at) inputs.regulator.gauge_at = at;
      // By the air it breathes an engine's demand is known at any speed; by its power only near where that was given.
      if (speed !== null && inputs.engine.demand_from === "air") inputs.engine.speed = speed;
      else if (speed !== null && speed < NEAR_PEAK * inputs.engine.speed) return null;
      return { id, inputs, reading };
    };
  }

  lesson(build, passes) {
    const { units } = this.app;
    const { results, notes, errors } = run(LEARN, { passes });
    const count = new Set(passes.map(({ id }) => id)).size;
    const moments = passes.length > count ? ` ${passes.length} moments in all: a recording tells of several, with the error of its one sensor in each.` : "";
    const head = el("p", { class: "intro" }, `From ${count === 1 ? "1 pass" : `${count} passes`} of ${build.name}${build.invented ? " (invented)" : ""} with boost and fuel pressure of the same moment.${moments}`);
    if (errors) return [head, el("p", { class: "error" }, Object.values(errors).flat()[0])];
    const now = inputsOf(this.app, {}, build.values, 0).inputs;
    const atRegulator = now.regulator.gauge_at === "regulator" ? el("p", { class: "help" }, "The gauge of this car sits at the regulator: it shows a pump that runs short, but not the loss between there and the bowls.") : null;
    return [head, ...notes.map((note) => el("p", {}, sentence(note, LEARN, {}, results, units))), atRegulator,
      el("dl", { class: "results" }, this.row("Line loss, measured / predicted", results, "line"), this.row("Pump flow, measured / curve", results, "pump")),
      this.offer(build, "supply_line.loss_factor", trusted(results, "line"), results.line_spread, results.line_points, now.supply_line.loss_factor),
      this.offer(build, "pump.allowance", trusted(results, "pump") === null ? null : results.allowance_to, results.allowance_spread, results.pump_points, now.pump.allowance),
      el("div", {}, el("a", { class: "plain-link", href: "#/supply" }, "Run the supply check")),
    ].filter(Boolean);
  }

  row(label, results, part) {
    const { units } = this.app;
    const [factor, low, high] = ["", "_low", "_high"].map((end) => results[`${part}_factor${end}`]);
    if (factor === null) return null;
    const spread = low === null ? "too few passes for a spread" : `${units.text("ratio", low)} to ${units.text("ratio", high)}, 19 of 20 times`;
    return el("div", {}, el("dt", {}, label), el("dd", {}, units.text("ratio", factor), el("span", { class: "small" }, spread)));
  }

  // One value that the car may take over.
  offer(build, name, si, half, count, now) {
    if (si === null) return null;
    const { units } = this.app;
    const { field } = fieldNamed(checkForm(this.app), name);
    if (si < field.low || si > field.high) return el("p", {}, `“${field.label}” is out of its range by these readings. Check the car first.`);
    const unit = units.of(field.kind);
    const text = units.plain(field.kind, si);
    if (text === units.plain(field.kind, now)) return el("p", {}, `${field.label}: ${build.name} already has ${units.text(field.kind, now)}.`);
    const value = { si: units.read(field.kind, text, field.low, field.high).si, text, unit: unit.name };
    return el("button", { type: "button", class: "next", onclick: () => this.take(build, name, value, half, count) },
      `Use it in ${build.name}: ${field.label.toLowerCase()} ${units.text(field.kind, value.si)} instead of ${units.text(field.kind, now)}`);
  }

  // Many readings are a measurement, with the spread that they have.
  async take(build, name, value, half, count) {
    await saveWithUndo(build.values, { [name]: value, ...measuredMark(name, value, half) }, (all) => this.builds.save(build.id, all), `Taken over into ${build.name}.`);
    await this.builds.save(build.id, { reason: { text: `Learned from the fuel gauge of ${count} passes`, fields: [name] } });
  }
}

// A factor with a spread, else nothing: two passes are no lesson.
function trusted(results, part) {
  return results[`${part}_factor_low`] === null ? null : results[`${part}_factor`];
}
