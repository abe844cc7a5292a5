// The way back from a step that wrote over or deleted something: one line over the bar, near the thumb, until the next such step,
// the next screen, or until it is put away. It does not run out: gloves are slow.

import { el, tellHeight } from "./dom.js";

const box = el("div", { id: "undo", role: "status" });

export function placeUndo(bar) {
  bar.before(box);
  tellHeight(bar, "--bar");
  tellHeight(box, "--undo"); // what else stands over the bar moves up by it
  return box;
}

// `back()` does the undoing.
export function offerUndo(words, back) {
  show(el("span", {}, words), el("button", { type: "button", onclick: () => take(back) }, "Undo"),
    el("button", { type: "button", class: "away", "aria-label": "Put away", onclick: endUndo }, "×"));
}

export function endUndo() {
  show();
}

async function take(back) {
  await back();
  show(el("span", {}, "As it was before."), el("button", { type: "button", class: "away", "aria-label": "Put away", onclick: endUndo }, "×"));
  document.querySelector("#place h1")?.focus({ preventScroll: true });
}

function show(...parts) {
  box.replaceChildren(...parts);
}

// Saves `values` and offers the way back to what `record` had of them.
export async function saveWithUndo(record, values, save, words) {
  const before = Object.fromEntries(Object.keys(values).map((name) => [name, record[name] ?? null]));
  await save(values);
  offerUndo(words, () => save(before));
}
