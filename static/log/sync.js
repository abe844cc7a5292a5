// Sends waiting edits and fetches what changed, in bounded pieces, each taken in whole: it can break off anywhere and be
// repeated. `state` is "resting", "working" or "failed"; `problem` says why in a sentence.

import { inWords, Told } from "../core/told.js";

const MOST_EDITS = 200;
const MOST_LETTERS = 60 * 1024; // at most four bytes each in UTF-8: below the server's limit
const PATIENCE = 20 * 1000; // ms
const AFTER_SAVE = 800; // ms: one sync for a form saved field by field
const FIRST_RETRY = 15 * 1000; // ms
const LAST_RETRY = 5 * 60 * 1000; // ms

export class Sync {
  constructor(log, fetch) {
    this.log = log;
    this.fetch = fetch;
    this.state = "resting";
    this.problem = null;
    this.under = null;
    this.retry = FIRST_RETRY;
  }

  // On opening, on regaining the network, on coming back to the page; after a save it is `soon`, and by hand `run`.
  start() {
    this.started = true;
    this.stopping = new AbortController();
    const { signal } = this.stopping;
    window.addEventListener("online", () => this.run(), { signal });
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.run(), { signal });
    this.run();
  }

  stop() {
    this.started = false;
    this.stopping?.abort();
    clearTimeout(this.timer);
  }

  soon() {
    this.log.tell({ records: new Set(), status: true });
    if (this.started) this.after(AFTER_SAVE);
  }

  after(wait) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.run(), wait);
  }

  // One at a time; who asks meanwhile waits for a further one, which sees their edits.
  run() {
    if (!this.under) {
      this.under = this.once().finally(() => { this.under = null; });
      return this.under;
    }
    this.further ??= this.under.then(() => {
      this.further = null;
      return this.run();
    });
    return this.further;
  }

  async once() {
    clearTimeout(this.timer);
    this.set("working", null);
    try {
      await this.rounds();
      this.retry = FIRST_RETRY;
      this.set("resting", null);
    } catch (error) {
      this.set("failed", inWords(error, "The log could not be synced."));
      if (this.started) this.after(this.retry);
      this.retry = Math.min(2 * this.retry, LAST_RETRY);
    }
    return this.log.status();
  }

  async rounds() {
    for (let still = 0; still < 3;) {
      const edits = await this.log.piece(MOST_EDITS, MOST_LETTERS);
      const { device, cursor } = this.log.state;
      const answer = await this.ask({ device, cursor, edits });
      const { moved, stale } = await this.log.takeIn(answer, { cursor, edits });
      if (!stale && !answer.more && !this.log.counts.waiting) return;
      // Neither side moves: a fault, and no reason to ask for ever.
      still = moved ? 0 : still + 1;
    }
    throw new Told("The server answers, but does not take the waiting edits.");
  }

  async ask(sent) {
    const answer = await this.post(JSON.stringify(sent));
    const told = await answer.json().catch(() => null);
    if (!answer.ok) throw new Told(sentence(told) ?? `The server refused to sync (${answer.status}).`);
    if (typeof told?.cursor !== "string" || !Array.isArray(told.records)) throw new Told("What answered is not this log's server.");
    return told;
  }

  async post(body) {
    try {
      return await this.fetch("/api/sync", {
        method: "POST", headers: { "Content-Type": "application/json" }, body, credentials: "same-origin",
        signal: AbortSignal.timeout(PATIENCE) });
    } catch {
      throw new Told("The server cannot be reached.");
    }
  }

  set(state, problem) {
    this.state = state;
    this.problem = problem;
    this.log.tell({ records: new Set(), status: true });
  }
}

function sentence(told) {
  const [first] = Object.values(told?.errors ?? {}).flat();
  return typeof first === "string" ? first : null;
}
