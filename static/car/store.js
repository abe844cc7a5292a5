// The builds on this device: records of the log, each one car as it stands, and which of them is the current one.
// A record has `name`, `invented`, a field "section.field" for each entry of the car, and `reason`, why fields were changed.

import { openLog } from "../log/log.js";
import { KEYS, recall, remember } from "../core/memory.js";
import { bringIn } from "../log/drafts.js";

const KIND = "build";
const TOGETHER = 2000; // ms: what is written so soon after a build was made belongs to its making

// One log and one list of builds for the whole page, with what a killed page left behind brought in.
export function openBuilds(app) {
  app.log ??= openLog({ early: true, renamed: app.renamed });
  app.builds ??= Promise.resolve(app.log).then(async (log) => {
    await bringIn(log);
    return new Builds(log);
  });
  return app.builds;
}

class Builds {
  constructor(log) {
    this.log = log;
  }

  list() {
    return this.log.list(KIND).map(shown).sort((a, b) => (a.name < b.name ? -1 : a.name > b.name ? 1 : a.id < b.id ? -1 : 1));
  }

  removed() {
    return this.log.list(KIND, { deleted: true }).map(shown);
  }

  get(id) {
    const found = this.log.get(id);
    return found && !found.deleted && found.kind === KIND ? shown(found) : null;
  }

  // Which one is current is this device's own business: two cars may be out at once. A device that was never told takes the
  // one that was last put in use anywhere.
  current() {
    return this.get(recall(KEYS.currentBuild)) ?? this.lastUsed() ?? null;
  }

  lastUsed() {
    const used = ({ values }) => (typeof values.in_use === "string" ? values.in_use : "");
    const newest = (a, b) => (a === b ? 0 : a < b ? 1 : -1);
    return this.list().sort((a, b) => newest(used(a), used(b)) || newest(this.log.get(a.id).at, this.log.get(b.id).at))[0];
  }

  setCurrent(id) {
    if (this.get(id) && recall(KEYS.currentBuild) !== id) this.save(id, { in_use: new Date().toISOString() }).catch(reportError);
    remember(KEYS.currentBuild, id);
    for (const listener of this.switched) listener();
  }

  switched = new Set();

  async create(values) {
    const id = await this.log.create(KIND, { ...values, in_use: new Date().toISOString() });
    remember(KEYS.currentBuild, id);
    this.setCurrent(id);
    return id;
  }

  save(id, values) {
    return this.log.save(id, KIND, values);
  }

  remove(id) {
    return this.log.remove(id);
  }

  restore(id) {
    return this.log.restore(id);
  }

  // A car that was only just made goes, and the one before it is in use again.
  async discard(id, before) {
    await this.remove(id);
    if (before) this.setCurrent(before);
  }

  // Tell `listener` when a build or the choice of the current one changes; returns the way to stop.
  onChange(listener) {
    const isBuild = (id) => this.log.get(id)?.kind === KIND;
    const stop = this.log.onChange(({ records }) => [...records].some(isBuild) && listener());
    this.switched.add(listener);
    return () => {
      stop();
      this.switched.delete(listener);
    };
  }

  // Every change since the build was made, newest first: {field, at, from, to, reason}.
  async changes(id) {
    const { reason: reasons = [], invented, ...fields } = await this.log.history(id);
    const begun = Math.min(...Object.values(fields).flat().map(({ at }) => timeOf(at)));
    const found = Object.entries(fields).flatMap(([field, entries]) => steps(entries).map(({ from, entry }) => (
      { field, at: entry.at, from, to: entry.value, reason: reasonFor(field, entry, reasons) })));
    return found.filter(({ from, at }) => from !== null || timeOf(at) > begun + TOGETHER).sort((a, b) => (a.at < b.at ? 1 : -1));
  }
}

// A name that no car has yet.
export function freeName(wanted, all) {
  let name = wanted;
  for (let n = 2; all.some((one) => one.name === name); n += 1) name = `${wanted} ${n}`;
  return name;
}

// A stamp of the log begins with the date and time in UTC.
export function timeOf(at) {
  return Date.parse(at.slice(0, 24));
}

function shown({ id, values }) {
  return { id, name: (typeof values.name === "string" && values.name) || "No name", invented: values.invented === true, values };
}

function steps(entries) {
  const inTime = [...entries].sort((a, b) => (a.at < b.at ? -1 : 1));
  return inTime.map((entry, i) => ({ entry, from: inTime[i - 1]?.value ?? null }));
}

// The reason is written after the change that it is for.
function reasonFor(field, entry, reasons) {
  const fits = reasons.filter(({ value, at, device }) => device === entry.device && at >= entry.at && Array.isArray(value?.fields) && value.fields.includes(field));
  fits.sort((a, b) => (a.at < b.at ? -1 : 1));
  return typeof fits[0]?.value.text === "string" ? fits[0].value.text : null;
}
