// Small things this device remembers: typed inputs, chosen units. Where storage is closed to us, until the page is closed.
//
// Every name is listed here. A name is small letters and hyphens, with dots between: first the part of the page, then what,
// then whose. What an earlier version kept under another name is taken over when the page opens.

const PREFIX = "overbowl.";

export const KEYS = {
  system: "units.system",
  units: "units.chosen",
  form: (name) => `form.${name}`, // what was typed into a figure
  answer: (name) => `answer.${name}`, // its last good numbers
  typedAt: (name) => `typed-at.${name}`, // when that was [ms since 1970]
  figuresLast: "figures.last",
  figuresOpen: "figures.open",
  currentBuild: "build.current",
  compared: (which) => `compare.${which}`,
  boost: (build) => `supply.boost.${build}`,
  lookedCase: "supply.case",
  howSure: "supply.how-sure", // {car: its last give-or-take and what it was worked out from}
  searched: "passes.words",
  charts: "passes.chart",
  settled: "passes.settled",
  boardAir: "passes.board-air", // the air that the board brings passes to
  recordingColumns: "recording.columns", // the columns picked in files of one shape
  putAway: "notices.put-away", // which the reader has put away
  phoneName: "link.phone-name",
  draft: "draft.", // then the record, the page and the field: log/drafts.js
  oldDrafts: "drafts",
  oldBuildDrafts: "build.drafts",
};

const RENAMED = { system: KEYS.system, units: KEYS.units, "phone name": KEYS.phoneName, "how-sure": KEYS.howSure };

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

export function forget(key) {
  unsaved.delete(key);
  try {
    localStorage.removeItem(PREFIX + key);
  } catch {
    // Closed storage has nothing to forget.
  }
}

// {key: value} of everything whose name begins so.
export function recallAll(beginning) {
  const names = new Set([...unsaved.keys(), ...namesInStorage()]);
  const found = [...names].filter((name) => name.startsWith(beginning)).map((name) => [name, recall(name)]);
  return Object.fromEntries(found.filter(([, value]) => value !== null));
}

function namesInStorage() {
  try {
    return Object.keys(localStorage).filter((name) => name.startsWith(PREFIX)).map((name) => name.slice(PREFIX.length));
  } catch {
    return [];
  }
}

function takeOverOldNames() {
  for (const [old, name] of Object.entries(RENAMED)) {
    const value = recall(old);
    if (value === null) continue;
    remember(name, value);
    forget(old);
  }
}

takeOverOldNames();
