// What went wrong, in words for the user. A script's own words ("Failed to fetch") are for nobody.

// The message is a sentence for the user.
export class Told extends Error {}

export function inWords(error, otherwise) {
  return error instanceof Told ? error.message : otherwise;
}
