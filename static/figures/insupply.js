// What Supply says of the whole car, beside a figure that judges a part of it and finds less wrong.

import { STATES } from "../answer/answer.js";
import { todaysAir } from "../car/air.js";
import { gather, settingOf, WORST } from "../car/check.js";
import { checkForm } from "../car/sections.js";
import { HowSure, judged } from "../car/sure.js";

export class InSupply {
  // `changed()` when what is said may be another.
  constructor({ app, builds, changed }) {
    Object.assign(this, { app, builds, changed, state: null, how: new HowSure({ form: checkForm(app), found: () => this.look() }) });
    this.lookSoon();
  }

  // The car is looked at once, and after the figure has its own answer: no key waits for it.
  lookSoon() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.look());
  }

  look() {
    const build = this.builds.current();
    const state = build ? this.check(build).results?.state ?? null : null;
    if (state === this.state) return;
    this.state = state;
    this.changed();
  }

  check(build) {
    const { app } = this;
    const form = checkForm(app);
    return judged(this.how, form, build, gather(form, build, { ...settingOf(form, build), case: WORST }, todaysAir(), app.units));
  }

  // Said with an answer, or null.
  words({ results, example, unknown = [] }) {
    const isSaid = !example && !unknown.length && results.state != null && STATES.indexOf(this.state) > STATES.indexOf(results.state);
    return isSaid ? `In Supply this car is ${this.state}.` : null;
  }

  stop() {
    clearTimeout(this.timer);
    this.how.stop();
  }
}
