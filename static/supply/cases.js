// Each case in which the supply must hold, with its word and shape: to be looked at one by one, while the worst stays named above.

import { stateShape } from "../answer/answer.js";
import { WORST } from "../car/check.js";
import { el, rebuild, say } from "../core/dom.js";
import { capital } from "../core/words.js";

export class CaseRow {
  // `choose(word)` when a case is to be looked at; WORST for the worst of all.
  constructor({ form, units, choose }) {
    Object.assign(this, { units, choose });
    this.options = form.fields.find(({ name }) => name === "case").options;
    this.worst = el("p", { class: "worst-case" });
    this.list = el("div", { class: "case-row", role: "group", "aria-label": "Case by case" });
    this.element = el("section", { class: "cases" }, this.list);
  }

  label(word) {
    const label = this.options.find(({ value }) => value === word)?.label ?? word;
    return capital(label);
  }

  // "Primaries alone, from 9.5 psi": what the word beside it is of.
  worstWords({ state, worst_case: worst, worst_ceiling: own, boost_ceiling: ceiling, ceiling_case: limit, caveat }) {
    const at = (si) => this.units.text("gauge_pressure", si);
    const words = state === "holds" ? (ceiling === null ? "In every case, as far as is looked." : `In every case. First to give: ${this.label(limit).toLowerCase()}, at ${at(ceiling)}.`)
      : `${this.label(worst)}${own === null ? "" : own <= 0 ? ", at any boost" : `, from ${at(own)}`}.`;
    // What the word does not cover comes right after a word that sounds whole.
    return !caveat ? words : state === "holds" ? `${caveat} ${words}` : `${words} ${caveat}`;
  }

  show(results, looked) {
    say(this.worst, this.worstWords(results));
    // A rail is looked at in steady flow only, and says so beside each word.
    const steady = results.caveat !== null && results.caveat !== undefined;
    const told = results.cases.map((row) => ({ word: row.case, state: row.state, steady: steady && row.state === "holds" && row.case !== "hot", from: row.boost_ceiling === null ? null : this.units.text("gauge_pressure", row.boost_ceiling) }));
    const worst = results.worst_case;
    const on = told.some(({ word }) => word === looked) ? looked : WORST;
    rebuild(this.list, [told, worst, on], () => told.map((one) => this.tile(one, worst, on)));
  }

  tile({ word, state, steady, from }, worst, on) {
    const pressed = on === WORST ? word === worst : word === on;
    // At idle there are no numbers at the bowls to look at: it has its word, and the worst stays shown.
    const next = word === worst || word === "idle" ? WORST : word;
    const rest = [steady ? " in steady flow" : "", from === null ? "" : `${state === "holds" ? " to" : " from"} ${from}`].join("");
    return el("button", { type: "button", class: `case ${state}`, "aria-pressed": String(pressed), onclick: () => this.choose(next) },
      el("span", { class: "case-name" }, this.label(word), word === worst ? el("span", { class: "case-worst" }, " · worst") : null),
      el("span", { class: `state-word ${state}` }, stateShape(state), state, rest ? el("span", { class: "case-from" }, rest) : null));
  }
}
