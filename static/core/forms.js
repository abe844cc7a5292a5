// What the page is drawn from, as the server told it: the first screen's forms at once, the others when they are wanted.

import { Told } from "./told.js";
import { spelledAll } from "./words.js";

export async function fetchForms() {
  return new Forms(await fetchOne("/forms.json"));
}

async function fetchOne(address) {
  const response = await fetch(address);
  if (!response.ok) throw new Told(`The forms did not come (${response.status}). Try again with the machine in reach.`);
  return response.json();
}

class Forms {
  constructor(told) {
    this.car = told.forms.find(({ name }) => name === told.car);
    this.told = { ...told, forms: restored(told.forms, this.car) };
    this.first = told.forms.map(({ name }) => name);
    this.spoken = {};
  }

  // {forms, records, quick} in the words of a system of units.
  inWordsOf(system) {
    const { forms, records, quick } = this.told;
    return this.spoken[system] ??= spelledAll({ forms, records, quick });
  }

  // Whether a form is there from the first.
  isFirst(name) {
    return this.first.includes(name);
  }

  // All forms, in the page's order.
  async complete() {
    if (this.told.forms.length > this.first.length) return;
    const rest = await fetchOne(this.told.more);
    const known = this.told.forms;
    this.told.forms = restored(rest.map((form) => known.find(({ name }) => name === form.name) ?? form), this.car);
    this.spoken = {};
  }
}

// A field that the car has too is told only by where it stands there (webapp/page/described.py).
function restored(forms, car) {
  const at = (place) => place.split(".").reduce((fields, name) => (fields.fields ?? fields).find((field) => field.name === name), car.fields);
  const whole = (field) => (field.as ? at(field.as) : field.fields ? { ...field, fields: field.fields.map(whole) } : field);
  return forms.map((form) => (form.fields ? { ...form, fields: form.fields.map(whole) } : form));
}
