// Small things this device remembers: typed inputs, chosen units. Where storage is closed to us, until the page is closed.

const PREFIX = "overbowl.";
const unsaved = new Map();

export function recall(key, otherwise = null) {
  try {
    const text = localStorage.getItem(PREFIX + key);
    if (text !== null) return JSON.parse(text);
  } catch {
    // Closed storage, or a damaged entry: go on with what this page knows.
  }
  return unsaved.has(key) ? unsaved.get(key) : otherwise;
}

export function remember(key, value) {
  unsaved.set(key, value);
  try {
    localStorage.setItem(PREFIX + key, JSON.stringify(value));
  } catch {
    // Kept in `unsaved`.
  }
}
