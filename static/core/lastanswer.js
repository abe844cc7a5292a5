// What was typed in a figure, and its last good numbers, as this device remembers them.

import { KEYS, recall, remember } from "./memory.js";

// Typed inputs as this device remembers them, with the last good numbers, for another form's "take over" button.
export function onThisDevice({ name }) {
  return {
    start: recall(KEYS.form(name), {}),
    keep: (typed) => {
      remember(KEYS.form(name), typed);
      remember(KEYS.typedAt(name), Date.now());
    },
    fresh: () => ({}),
    forget: () => remember(KEYS.typedAt(name), null),
    answered: (numbers) => remember(KEYS.answer(name), Object.fromEntries(Object.entries(numbers).filter(([, value]) => typeof value === "number"))),
  };
}

// A number of another form, once something was typed there: what a form only starts with is nobody's air.
export function lastResult(formName, resultName) {
  return typedAt(formName) === null ? null : recall(KEYS.answer(formName), {})[resultName] ?? null;
}

// When something was last typed in a form [ms since 1970], or null where it only shows what it starts with.
export function typedAt(formName) {
  return recall(KEYS.typedAt(formName));
}
