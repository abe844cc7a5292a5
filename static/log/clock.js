// The hybrid logical clock: stamps that sort like time and never go backwards, whatever this device's clock says.
// A stamp is UTC with milliseconds and a counter of four hexadecimal digits: 2026-11-25T07:09:00.123Z-0004.

export const START = "1970-01-01T00:00:00.000Z-0000";
export const LAST_BELIEVED = "2100-01-01T00:00:00.000Z-0000"; // from here on a clock was wrong
export const LAST_COUNT = 0xffff;
const LAST_WRITTEN = Date.UTC(9998, 0); // ms; beyond it a stamp would have another form
const FORM = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z-[0-9a-f]{4}$/;

export function stamp(milliseconds, count = 0) {
  return `${new Date(milliseconds).toISOString()}-${count.toString(16).padStart(4, "0")}`;
}

export function milliseconds(at) {
  return Date.parse(at.slice(0, 24));
}

// True for a stamp of a date that exists, from 1970 to 9998: the same as the server's `is_stamp`.
export function isStamp(text) {
  if (typeof text !== "string" || !FORM.test(text) || text < "1970" || text >= "9999") return false;
  const time = milliseconds(text);
  return !Number.isNaN(time) && stamp(time).slice(0, 24) === text.slice(0, 24);
}

export function later(a, b) {
  return a > b ? a : b;
}

// The next stamp at `now` [ms] that is later than the stamp `after`.
export function next(now, after) {
  const told = stamp(Math.min(Math.max(0, Math.floor(now)), LAST_WRITTEN));
  if (told > after) return told;
  const count = parseInt(after.slice(25), 16) + 1;
  return count > LAST_COUNT ? stamp(milliseconds(after) + 1) : stamp(milliseconds(after), count);
}

// This device's clock is `skew` [ms] ahead of the server's. Small differences are the network's, not the clock's.
const WORTH_MINDING = 60 * 1000;

export function skewOf(deviceNow, serverNow) {
  const skew = deviceNow - serverNow;
  return Math.abs(skew) > WORTH_MINDING ? skew : 0;
}

// Stamp again the waiting edits that lie beyond `latest` [ms], what the server takes. They were written by a clock that
// was `skew` ahead: set back by that much they lie where they were typed, never later than `now`, in the same order, and
// after what this device knew when each was typed (`after`). `waiting` is a list of {edit, after, ...}; returns
// {again: the changed ones, anew, last: the last stamp given or null}.
export function stampAgain(waiting, { skew, now, latest }) {
  const bound = stamp(latest, LAST_COUNT);
  const ahead = waiting.filter(({ edit }) => edit.at > bound);
  ahead.sort((a, b) => (a.edit.at < b.edit.at ? -1 : a.edit.at > b.edit.at ? 1 : 0));
  const again = [];
  let last = null;
  for (const entry of ahead) {
    // A stamp that was itself ahead has been set back already and is `last`.
    const knew = entry.after > bound ? START : entry.after;
    const typed = Math.min(milliseconds(entry.edit.at) - skew, now);
    last = next(typed, later(knew, last ?? START));
    again.push({ ...entry, edit: { ...entry.edit, at: last } });
  }
  return { again, last };
}
