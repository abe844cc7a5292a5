// What is being typed into a record, before it is in the log. So that no half-typed number fills the history, the log gets it at
// a pause, on leaving the field and when the page is put away. Until then it is put down twice: at every key in the page's
// memory, where a killed page finds it again, and while one types on in the phone's database, since a killed browser has not
// yet written the other to the disk. Each page puts its own drafts under names of its own: two pages never write over another.
//
// A draft is {kind, at, typed, value, error}: `at` the log's stamp of the moment it was typed, so that it loses to anything
// newer; `typed` what the field shows; `value` what is to be kept, and while that is wrong `error`, why.

import { forget, KEYS, recall, recallAll, remember } from "../core/memory.js";
import { START } from "./clock.js";
import { newId } from "./edit.js";

const PAUSE = 1000; // ms without a key
const LONGEST = 1500; // ms of typing on that are not in the database
const PAGE = newId().slice(0, 8);

const keyOf = (id, name, page = PAGE) => `${KEYS.draft}${id}.${page}.${name}`;

function partsOf(key) {
  const [id, , ...name] = key.slice(KEYS.draft.length).split(".");
  return { id, name: name.join(".") };
}

const isRight = (draft) => draft.value !== undefined;

// The drafts of one record on one screen.
export class Drafts {
  // `first`: values that go in with the first thing typed, so that a pass nobody typed into leaves no trace.
  constructor(log, id, kind, { first = {}, onSaved, onFailed }) {
    Object.assign(this, { log, id, kind, first, onSaved, onFailed });
    this.own = new Map();
    this.stored = new Set(); // keys that the database has
    this.away = () => document.visibilityState === "hidden" && this.flush();
    document.addEventListener("visibilitychange", this.away);
    window.addEventListener("pagehide", this.away);
  }

  // {name: {typed, value}} or {typed, error}.
  set(changes) {
    const at = this.log.stampNow();
    const firsts = Object.fromEntries(Object.entries(this.first).map(([name, value]) => [name, { value }]));
    this.first = {};
    for (const [name, change] of Object.entries({ ...firsts, ...changes })) {
      const draft = { kind: this.kind, at, ...change };
      this.own.set(name, draft);
      remember(keyOf(this.id, name), draft);
    }
    clearTimeout(this.pause);
    this.pause = setTimeout(() => this.flush(), PAUSE);
    this.longest ??= setTimeout(() => this.store(), LONGEST);
  }

  // What is being typed here and is not in the log yet.
  has(name) {
    return this.own.has(name);
  }

  // {name: value} of what is right.
  get values() {
    return Object.fromEntries([...this.own].filter(([, draft]) => isRight(draft)).map(([name, { value }]) => [name, value]));
  }

  async store() {
    this.longest = null;
    const drafts = Object.fromEntries([...this.own].map(([name, draft]) => [keyOf(this.id, name), draft]));
    for (const key of Object.keys(drafts)) this.stored.add(key);
    await this.log.putDrafts(drafts).catch(() => {}); // it is still put down in the page's memory
  }

  async flush() {
    clearTimeout(this.pause);
    clearTimeout(this.longest);
    this.longest = null;
    const right = [...this.own].filter(([, draft]) => isRight(draft));
    if (right.length === 0) return;
    const { values } = this;
    try {
      await this.log.save(this.id, this.kind, values, Object.fromEntries(right.map(([name, { at }]) => [name, at])));
    } catch (error) {
      // It stays put down, and is tried again at the next key press and when the page opens.
      return this.onFailed(error);
    }
    await this.drop(right.filter(([name, draft]) => this.own.get(name) === draft)); // not what was typed on meanwhile
    this.onSaved(values);
  }

  async drop(saved) {
    const gone = [];
    for (const [name, draft] of saved) {
      this.own.delete(name);
      gone.push(keyOf(this.id, name), ...staleKeys(this.id, name, draft.at));
    }
    for (const key of gone) forget(key);
    const stored = gone.filter((key) => this.stored.delete(key));
    if (stored.length) await this.log.putDrafts(Object.fromEntries(stored.map((key) => [key, null]))).catch(() => {});
  }

  stop() {
    document.removeEventListener("visibilitychange", this.away);
    window.removeEventListener("pagehide", this.away);
    return this.flush();
  }
}

// What was typed wrong into the same field before, here or on another page, has had its day.
function staleKeys(id, name, at) {
  return Object.entries(draftsIn(id)).filter(([key, draft]) => partsOf(key).name === name && !isRight(draft) && draft.at <= at).map(([key]) => key);
}

const draftsIn = (id) => recallAll(`${KEYS.draft}${id}.`);

// The latest draft of each field of a record, by any page: {name: draft}.
export function draftsOf(id) {
  const found = {};
  for (const [key, draft] of Object.entries(draftsIn(id))) {
    const { name } = partsOf(key);
    if (!found[name] || draft.at > found[name].at) found[name] = draft;
  }
  return found;
}

// What is typed into a record and cannot be used as it is: {name: sentence}.
export function wrongDrafts(id) {
  return Object.fromEntries(Object.entries(draftsOf(id)).filter(([, draft]) => !isRight(draft)).map(([name, { error }]) => [name, error]));
}

// What a killed page or browser left behind goes into the log, as of the time it was typed. What the log does not take stays.
export async function bringIn(log) {
  const byRecord = new Map();
  for (const [key, draft] of Object.entries(await everyDraft(log))) {
    const { id } = partsOf(key);
    byRecord.set(id, [...(byRecord.get(id) ?? []), [key, draft]]);
  }
  for (const [id, drafts] of byRecord) await bringInOne(log, id, drafts).catch(() => {});
}

async function bringInOne(log, id, drafts) {
  if (drafts[0][1].kind === "build" && !log.get(id)) return;
  const history = await log.history(id);
  const gone = {};
  for (const [key, draft] of drafts) {
    const { name } = partsOf(key);
    if (isRight(draft)) await log.save(id, draft.kind, { [name]: draft.value }, { [name]: draft.at }).then(() => { gone[key] = draft; }, () => {});
    else if (history[name]?.[0].at > draft.at) gone[key] = draft;
    else remember(key, draft);
  }
  for (const [key, draft] of Object.entries(gone)) if (JSON.stringify(recall(key)) === JSON.stringify(draft)) forget(key);
  if (Object.keys(gone).length) await log.putDrafts(Object.fromEntries(Object.keys(gone).map((key) => [key, null])));
}

// The later of the two places, where both have one.
async function everyDraft(log) {
  takeOverOldForm();
  const found = await log.drafts().catch(() => ({}));
  for (const [key, draft] of Object.entries(recallAll(KEYS.draft))) if (!(found[key]?.at > draft.at)) found[key] = draft;
  return Object.fromEntries(Object.entries(found).filter(([, draft]) => draft && typeof draft.at === "string"));
}

// Drafts of earlier versions said nothing of their time, so they lose to anything that is there.
function takeOverOldForm() {
  for (const [id, { kind, values }] of Object.entries(recall(KEYS.oldDrafts, {}))) {
    for (const [name, value] of Object.entries(values)) remember(keyOf(id, name), { kind, at: START, value });
  }
  for (const [id, drafts] of Object.entries(recall(KEYS.oldBuildDrafts, {}))) {
    for (const [name, { typed, value }] of Object.entries(drafts)) remember(keyOf(id, name), { kind: "build", at: START, typed, value, error: value === undefined ? "This does not fit." : undefined });
  }
  forget(KEYS.oldDrafts);
  forget(KEYS.oldBuildDrafts);
}
