// What is being typed. Every key press is put down at once where the page finds it again after being killed; the log gets it
// at a pause, on leaving the field, and when the page is put away. So no half-typed number fills the history.

import { recall, remember } from "../core/memory.js";

const KEY = "drafts";
const PAUSE = 1000; // ms

export class Draft {
  // `first`: values that go in with the first thing typed, so that a pass nobody typed into leaves no trace.
  constructor(log, id, kind, { first = {}, onSaved, onFailed }) {
    Object.assign(this, { log, id, kind, first, onSaved, onFailed });
    this.waiting = {};
    this.away = () => document.visibilityState === "hidden" && this.flush();
    document.addEventListener("visibilitychange", this.away);
    window.addEventListener("pagehide", this.away);
  }

  get begun() {
    return this.log.get(this.id) !== null || Object.keys(this.waiting).length > 0;
  }

  set(values) {
    Object.assign(this.waiting, this.first, values);
    this.first = {};
    put(this.id, this.kind, this.waiting);
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.flush(), PAUSE);
  }

  async flush() {
    clearTimeout(this.timer);
    const values = { ...this.waiting };
    if (Object.keys(values).length === 0) return;
    try {
      await this.log.save(this.id, this.kind, values);
    } catch (error) {
      // It stays put down, and is tried again at the next key press and when the page opens.
      return this.onFailed(error);
    }
    for (const [name, value] of Object.entries(values)) if (this.waiting[name] === value) delete this.waiting[name];
    put(this.id, this.kind, this.waiting);
    this.onSaved();
  }

  stop() {
    document.removeEventListener("visibilitychange", this.away);
    window.removeEventListener("pagehide", this.away);
    return this.flush();
  }
}

function put(id, kind, values) {
  const { [id]: _, ...others } = recall(KEY, {});
  remember(KEY, Object.keys(values).length ? { ...others, [id]: { kind, values } } : others);
}

// What a killed page left behind goes into the log. What the log does not take stays.
export async function saveLeftDrafts(log) {
  for (const [id, { kind, values }] of Object.entries(recall(KEY, {}))) {
    try {
      await log.save(id, kind, values);
    } catch {
      continue;
    }
    if (JSON.stringify(recall(KEY, {})[id]?.values) === JSON.stringify(values)) put(id, kind, {});
  }
}
