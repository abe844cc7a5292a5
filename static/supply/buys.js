// What each change buys: the ceiling with one part a step better, or with two that help only together. Worked out in pieces after
// the answer, and never shown stale.

import { runInPieces } from "../core/compute.js";
import { el, say } from "../core/dom.js";
import { inSentence, spelled } from "../core/words.js";

const NOTHING = "nothing";
const WORK = { slow: { begin: "begin_changes", advance: "advance_changes", finish: "finish_changes" } };

export class ChangesList {
  constructor({ units, form }) {
    Object.assign(this, { units, form: { ...form, ...WORK } });
    this.state = el("p", { class: "working-out", role: "status", hidden: true }, "Being worked out…");
    this.list = el("ol", { class: "buys" });
    this.none = el("p", { class: "buys-nothing", hidden: true });
    this.together = el("h3", { hidden: true }, "What two buy together");
    this.pairs = el("ol", { class: "buys pairs", "aria-label": "What two changes buy together" });
    this.element = el("section", { class: "what-buys" }, el("h2", {}, "What a change buys"), this.state, this.list, this.together, this.pairs, this.none);
  }

  // The ceiling does not hang on the boost looked at, so a moving slider leaves this list as it is.
  show(inputs) {
    const { boost, ...rest } = inputs;
    const key = JSON.stringify(rest);
    if (key === this.key) return;
    this.key = key;
    this.state.hidden = false;
    this.element.classList.add("old");
    this.stop();
    this.giveUp = runInPieces(this.form, inputs, ({ results, errors }) => {
      this.rows = errors ? [] : results.changes;
      this.both = errors ? [] : results.together;
      this.draw();
    });
  }

  draw() {
    if (!this.rows) return;
    this.state.hidden = true;
    this.element.classList.remove("old");
    const nothing = this.rows.filter((row) => this.gain(row.gain) === NOTHING);
    this.none.hidden = nothing.length === 0;
    say(this.none, `Buys nothing by itself: ${nothing.map(({ change }) => inSentence(spelled(change))).join(", ")}.`);
    this.list.replaceChildren(...this.rows.filter((row) => !nothing.includes(row)).map((row) => this.row(row, row.change)));
    this.together.hidden = this.both.length === 0;
    this.pairs.replaceChildren(...this.both.map((row) => this.row(row, `${row.change}, and with it ${inSentence(row.with_change)}`,
      el("span", { class: "soft" }, ` (one by one ${this.gain(row.alone)})`))));
  }

  row(row, words, more = null) {
    return el("li", {}, el("span", { class: "buy" }, spelled(words), more), el("strong", { class: "gain" }, this.gain(row.gain)),
      el("span", { class: "to" }, row.boost_ceiling === null ? "no ceiling found" : `ceiling ${this.units.text("gauge_pressure", row.boost_ceiling)}`));
  }

  gain(gain) {
    const text = this.units.text("pressure_difference", gain);
    const number = this.units.number("pressure_difference", gain);
    if (Number(number) === 0) return NOTHING;
    return gain > 0 ? `+${text}` : text.replace("-", "−");
  }

  stop() {
    this.giveUp?.();
  }
}
