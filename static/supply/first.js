// With no car yet: a picture of the rule, and one field pair to try it on. The numbers come from the figure of the same rule.

import { run } from "../core/compute.js";
import { el, newId, say, svg } from "../core/dom.js";
import { spelled } from "../core/words.js";

const FIGURE = "fuel-pressure";
const ASKED = ["boost", "base_pressure"];

export function firstTry(app) {
  const form = app.forms.find(({ name }) => name === FIGURE);
  const answer = el("p", { class: "answer-words", role: "status" });
  const inputs = ASKED.map((name) => tryField(app.units, form.fields.find((field) => field.name === name), () => show()));
  function show() {
    const wrong = inputs.map((input) => input.read().error).find(Boolean);
    const values = Object.fromEntries(form.fields.map((field) => [field.name, field.default ?? field.assumed]));
    for (const input of inputs) values[input.name] = input.read().si;
    const { results, errors } = wrong ? {} : run(form, values);
    say(answer, wrong ?? (errors ? Object.values(errors)[0][0] : spelled(`Fuel pressure needed at the carburettor: ${app.units.text("gauge_pressure", results.required_pressure)}.`)));
    answer.classList.toggle("error", Boolean(wrong || errors));
  }
  show();
  return el("section", { class: "first-try" }, picture(), el("div", { class: "try-fields" }, ...inputs.map(({ element }) => element)), answer);
}

function tryField(units, field, changed) {
  const unit = units.of(field.kind);
  const input = el("input", { type: "text", inputmode: "decimal", autocomplete: "off", id: newId("try"), value: units.plain(field.kind, field.default), oninput: changed });
  const read = () => {
    const told = units.read(field.kind, input.value, field.low, field.high);
    const error = told.error ?? units.outside(field, told.si, told.unit);
    return error ? { error } : told;
  };
  return { name: field.name, read, element: el("div", {}, el("label", { for: input.id, class: "label" }, `${field.label}, ${unit.name}`), input) };
}

// A float bowl, cut open: boost comes down on the fuel in it, and fuel comes in against that through the needle.
function picture() {
  const line = (d, className) => svg("path", { d, class: className });
  const words = (x, y, text, anchor = "start") => svg("text", { x, y, "text-anchor": anchor }, text);
  return svg("svg", { viewBox: "0 0 288 150", class: "rule-picture", role: "img", "aria-label": "Boost presses on the fuel in the float bowl, so fuel pressure must stay over boost." },
    line("M139 86h138v50H139z", "fuel"), line("M138 52v86h140V52", "wall"),
    ...[166, 208, 250].map((x) => line(`M${x} 28v46m-9-12l9 12l9-12`, "boost")),
    line("M4 118h124m-14-11l14 11l-14 11", "feed"),
    words(208, 20, "Boost presses", "middle"), words(4, 74, "Fuel pressure"), words(4, 96, "must top it"));
}
