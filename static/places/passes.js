// Passes: the log.

import { el } from "../dom.js";

export function passes() {
  return { title: "Passes", element: el("div", {}, el("h1", { tabindex: "-1" }, "Passes"),
    el("p", {}, "Here each pass will be jotted down: air, boost, fuel pressure, times, what was changed."),
    el("p", {}, el("a", { class: "next", href: "#/figures/density-altitude" }, "Start with today's air"))), stop() {} };
}
