// Supply: the fuel-supply check.

import { Calculator } from "../calculator.js";

export function supply(app) {
  const made = new Calculator(app.forms.find((form) => form.name === "fuel-pressure"), app);
  return { title: "Supply", element: made.element, stop: made.stop };
}
