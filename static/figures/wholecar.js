// What Supply says of the whole car, beside a figure that judges a part of it and finds less wrong.

import { todaysAir } from "../car/air.js";
import { gather, settingOf, WORST } from "../car/check.js";
import { checkForm } from "../car/sections.js";
import { HowSure, judged } from "../car/sure.js";

const RANKS = ["holds", "thin", "short"];

export class WholeCar {
  // `found()` when more is known of the car than was told.
  constructor({ app, builds, found }) {
    Object.assign(this, { app, builds, how: new HowSure({ form: checkForm(app), found }) });
  }

  // What is to be said beside an answer with a state, or null.
  words({ results, example, unknown = [] }) {
    const build = this.builds.current();
    if (!build || example || unknown.length || results.state == null) return null;
    const { state } = this.check(build).results ?? {};
    return RANKS.indexOf(state) > RANKS.indexOf(results.state) ? `In Supply this car is ${state}.` : null;
  }

  check(build) {
    const { app } = this;
    const form = checkForm(app);
    return judged(this.how, form, build, gather(form, build, { ...settingOf(form, build), case: WORST }, todaysAir(), app.units));
  }

  stop() {
    this.how.stop();
  }
}
