// The trade's words go with the units: gasoline and carburetor beside psi, petrol and carburettor beside kPa. The sources are
// written with the international words; this is the one place that knows the others. Names of fields and choices stay.

const PAIRS = [["carburettor", "carburetor"], ["petrol", "gasoline"], ["tyre", "tire"], ["vapour", "vapor"], ["litre", "liter"], ["colour", "color"], ["metre", "meter"], ["centre", "center"], ["carburetted", "carbureted"]];
const US = new Map(PAIRS);
// Not inside a placeholder, an address or a stored name.
const ANY = new RegExp(`(?<![{\\w.-])(${PAIRS.map(([word]) => word).join("|")})(s|ted)?(?![\\w}-])`, "gi");
const SOME = new RegExp(PAIRS.map(([word]) => word).join("|"), "i");

let system = "metric";

export function speak(named) {
  system = named;
}

// A text for the reader, in the words of the chosen units.
export function spelled(text) {
  return system === "us" ? text.replace(ANY, (_, word, end = "") => cased(US.get(word.toLowerCase()), word) + end) : text;
}

// A label within a sentence: a small letter first, the rest as it is written.
export const inSentence = (text) => (/^[A-Z](?![A-Z])/.test(text) ? text[0].toLowerCase() + text.slice(1) : text);
export const capital = (text) => text[0].toUpperCase() + text.slice(1);
const cased = (text, like) => (like[0] === like[0].toUpperCase() ? capital(text) : text);

// The texts of a description, put into the words of the chosen units where they stand. A single small word is a value or a name, not
// a text.
export class Spelling {
  constructor() {
    this.places = []; // [object, key, text] of each text that has two spellings
    this.seen = new Set(); // fields that several forms share
  }

  add(told) {
    if (this.seen.has(told)) return;
    this.seen.add(told);
    for (const [key, value] of Object.entries(told)) {
      if (typeof value === "string") {
        if (/[A-Z ]/.test(value) && SOME.test(value)) this.places.push([told, key, value]);
      } else if (typeof value === "object" && value !== null) this.add(value);
    }
  }

  apply() {
    for (const [object, key, text] of this.places) object[key] = spelled(text);
  }
}

// For a search: what has one spelling is found by the other.
export function bothSpellings(text) {
  return [text, ...PAIRS.filter((pair) => pair.some((word) => text.includes(word))).flat()].join(" ");
}
