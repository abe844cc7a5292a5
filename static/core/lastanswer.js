// What was typed in a figure, and its last good numbers, as this device remembers them.

import { recall, remember } from "./memory.js";

// Typed inputs as this device remembers them, with the last good numbers, for another form's "take over" button.
export function onThisDevice({ name }) {
  return {
    start: recall(`form.${name}`, {}),
    keep: (typed) => {
      remember(`form.${name}`, typed);
      remember(`typed-at.${name}`, Date.now());
    },
    fresh: () => ({}),
    forget: () => remember(`typed-at.${name}`, null),
    answered: (numbers) => remember(`answer.${name}`, Object.fromEntries(Object.entries(numbers).filter(([, value]) => typeof value === "number"))),
  };
}

// A number of another form, once something was typed there: what a form only starts with is nobody's air.
export function lastResult(formName, resultName) {
  return typedAt(formName) === null ? null : recall(`answer.${formName}`, {})[resultName] ?? null;
}

// When something was last typed in a form [ms since 1970], or null where it only shows what it starts with.
export function typedAt(formName) {
  return recall(`typed-at.${formName}`);
}
