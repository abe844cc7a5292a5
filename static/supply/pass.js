// What a pass does where the supply does not hold in the long run: the figure's own calculator with this car, at the boost looked
// at, worked out once the page is at rest. It is told beside the verdict and never changes it.

import { runInPieces, unknownIn, withhold } from "../core/compute.js";
import { el, say } from "../core/dom.js";
import { atRest } from "../core/sight.js";
import { onThisDevice } from "../core/lastanswer.js";
import { capital } from "../core/words.js";
import { read } from "../form/read.js";

const AT_THE_BOWLS = ["full", "part", "line", "throttle"]; // cases in which a bowl goes short, not the pump's inlet or idle

export class PassCited {
  constructor(app) {
    Object.assign(this, { app, units: app.units });
    this.element = el("p", { class: "pass-cited", hidden: true });
    this.atRest = atRest((told) => this.askFor(told));
  }

  // The figure's form comes when it is wanted first; without the rest of the page nothing is cited.
  get form() {
    return this.app.forms.find(({ name }) => name === "through-a-pass");
  }

  // `isAssumed("section.field")` of the car's values.
  show(told) {
    const { state, worst_case: worst, boost_ceiling: ceiling } = told.results;
    // Thin only because the numbers may be off: a pass by the same numbers says nothing.
    const isPast = ceiling !== null && told.inputs.boost > ceiling;
    const wanted = (state === "short" || (state === "thin" && isPast)) && AT_THE_BOWLS.includes(worst);
    this.told = wanted ? told : null;
    if (!wanted || told.inputs.boost !== this.boost) this.cite(null, told);
    if (wanted) this.atRest.later(told);
  }

  // The form comes when it is wanted first.
  async askFor(told) {
    if (!this.form) await this.app.complete().catch(() => {});
    if (this.form && this.told === told) this.cite(this.ask(told.inputs), told);
  }

  cite(asked, { results: { state }, isAssumed }) {
    const key = JSON.stringify([asked, state]);
    if (key === this.key) return;
    this.giveUp?.();
    this.key = key;
    this.element.hidden = true;
    this.boost = asked?.end_boost;
    if (asked === null) return;
    const unknown = unknownIn(this.form.fields, asked, isAssumed);
    this.giveUp = runInPieces(this.form, asked, (answer) => {
      if (!answer.errors) this.tell(state, asked, withhold(this.form, answer, unknown).results);
    });
  }

  // The pass as it was told on this device, shortly, with the boost looked at; null where that cannot be read.
  ask(inputs) {
    const { fields } = this.form;
    const { end_boost: typedBoost, recorded, rows, ...typed } = onThisDevice(this.form).start;
    const own = read(fields.filter(({ type }) => type !== "section"), { ...typed, told: "short" }, this.units);
    if (own.errors) return null;
    const car = Object.fromEntries(fields.filter(({ type }) => type === "section").map(({ name }) => [name, inputs[name]]));
    const asked = { ...own.inputs, ...car, end_boost: inputs.boost, line_boost: Math.min(own.inputs.line_boost, inputs.boost) };
    return { ...asked, top_speed: (typed.top_speed ? null : car.engine.speed) ?? asked.top_speed,
      tank_distance: (typed.tank_distance ? null : inputs.launch.distance) ?? asked.tank_distance };
  }

  tell(state, asked, { dry_side: side, dry_time: time, dry_when: when, least_level: least, end_level: end }) {
    if (least == null) return;
    const { units } = this;
    const pass = `a pass of ${units.text("duration", asked.length)} at ${units.text("gauge_pressure", asked.end_boost)}`;
    const [ends, lowest] = [Math.min(end.primary, end.secondary ?? end.primary), least].map((share) => units.text("fraction", share));
    const bowls = end.secondary == null ? "the bowls" : `the ${side}`;
    const words = side ? `, and within ${pass}: ${bowls} run dry ${units.text("duration", time)} ${when}.`
      : `; ${pass} ends with ${ends} left in a bowl${lowest === ends ? "" : `, ${lowest} at the least`}. The word stays: only what can be kept up counts.`;
    say(this.element, `${capital(state)} in the long run${words}`);
    this.element.hidden = false;
  }

  stop() {
    this.giveUp?.();
    this.told = null;
    this.key = null;
  }
}
