// Build: the car as it stands.

import { el } from "../dom.js";

export function build() {
  return { title: "Build", element: el("div", {}, el("h1", { tabindex: "-1" }, "Build"),
    el("p", {}, "Here the car as it stands will be kept: engine, pump, lines, regulator, seats, jets."),
    el("p", {}, el("a", { class: "next", href: "#/figures/pump-check" }, "Start with the pump"))), stop() {} };
}
