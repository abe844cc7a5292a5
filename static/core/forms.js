// What the page is drawn from, as the server told it: the first screen's forms at once, the others when they are wanted.

import { breather } from "./breath.js";
import { Told } from "./told.js";
import { Spelling } from "./words.js";

export async function fetchForms() {
  return new Forms(await fetchOne("/forms.json"));
}

async function fetchOne(address) {
  // Once more where it failed on the way: what the page's head asked for ahead is taken as it came, and that may be nothing.
  const response = await fetch(address).catch(() => fetch(address));
  if (!response.ok) throw new Told(`The forms did not come (${response.status}). Try again with the machine in reach.`);
  return response.json();
}

class Forms {
  constructor(told) {
    const car = told.forms.find(({ name }) => name === told.car);
    this.whole = (forms) => forms.map((form) => restored(form, car));
    this.told = { ...told, forms: this.whole(told.forms) };
    this.first = told.forms.map(({ name }) => name);
    this.spelling = new Spelling();
    for (const part of [this.told.forms, told.records, told.quick]) this.spelling.add(part);
  }

  // Whether a form is there from the first.
  isFirst(name) {
    return this.first.includes(name);
  }

  // All forms, in the page's order. A fetch that failed may be tried again.
  complete() {
    this.coming ??= this.fetchRest().catch((error) => { this.coming = null; throw error; });
    return this.coming;
  }

  async fetchRest() {
    const known = this.told.forms;
    const rest = await fetchOne(this.told.more);
    const forms = [];
    const rested = breather();
    for (const form of rest) {
      await rested();
      forms.push(known.find(({ name }) => name === form.name) ?? this.whole([form])[0]);
      this.spelling.add(forms.at(-1));
    }
    this.told.forms = forms;
    this.spelling.apply();
  }
}

// A field that the car has too is told only by where it stands there (webapp/page/described.py).
function restored(form, car) {
  const at = (place) => place.split(".").reduce((fields, name) => (fields.fields ?? fields).find((field) => field.name === name), car.fields);
  const whole = (field) => (field.as ? at(field.as) : field.fields ? { ...field, fields: field.fields.map(whole) } : field);
  return form.fields ? { ...form, fields: form.fields.map(whole) } : form;
}
