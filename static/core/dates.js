// Dates in words. A browser takes long to make a formatter, so each is made when it is first wanted.

const made = new Map();

function formatter(language, options) {
  const key = JSON.stringify([language, options]);
  if (!made.has(key)) made.set(key, new Intl.DateTimeFormat(language, options));
  return made.get(key);
}

// "25 Nov 2026", as this device writes it.
export function shortDay(date) {
  return formatter(undefined, { dateStyle: "medium" }).format(date);
}

// "25 Nov 2026, 10:30", as this device writes it.
export function shortMoment(date) {
  return formatter(undefined, { dateStyle: "medium", timeStyle: "short" }).format(date);
}

// "Wed 25 Nov 2026"
export function longDay(date) {
  return formatter("en-GB", { weekday: "short", day: "numeric", month: "short", year: "numeric" }).format(date).replace(",", "");
}
