// The log on this device: reads from memory, writes to the phone's own database, and syncs when a server is there.
//
//   const log = await openLog();                           with { early: true } as soon as the builds are there;
//   await log.loaded;                                      then all is there
//   log.list("pass")                       [{id, kind, deleted, values: {field: value}, at, waiting}]
//   log.get(id)                            one of these, or null
//   await log.edit(id, "pass", "place", "north strip")
//   await log.save(id, "pass", {field: value, ...})        several at once; only what changed is written
//   await log.create("pass", {field: value, ...})          -> id
//   await log.remove(id); await log.restore(id)
//   await log.history(id)                  {field: [{value, at, device, mine, waiting, refused}]}, the winner first
//   log.onChange((what) => ...)            what: {records: Set of ids, status: bool}; returns a function that ends it
//   await log.sync(); log.status()         {state, waiting, refused, lastSync, problem, device}
//   await log.refused(); await log.retryRefused()
//   await log.exportText(); await log.importText(text)     a backup; -> {records, added, left}
//
// A value that lost is brought back by writing it again: log.edit(id, kind, field, entry.value).
// A sentence for the user comes as an `Unfit` error.

import { backupText, editsInBackup } from "./backup.js";
import { LAST_BELIEVED, LAST_COUNT, later, milliseconds, next, skewOf, stamp, stampAgain, START } from "./clock.js";
import { ask, openDb } from "./db.js";
import { newId, readEdit } from "./edit.js";
import { canonical, carried, DELETED, editsOf, entriesOf, heal, holds, isDeleted, merge } from "./merge.js";
import { Sync } from "./sync.js";

// `fetch` and `now` can be others for tests; `triggers: false` leaves syncing to sync().
export async function openLog({ name = "overbowl-log", early = false, fetch, now = Date.now, triggers = true, renamed = {} } = {}) {
  const log = new Log(await openDb(name), name, now, renamed);
  await log.loadBuilds();
  log.loaded = log.loadRest();
  log.syncing = new Sync(log, fetch ?? ((...sent) => window.fetch(...sent)));
  if (triggers) log.syncing.start();
  if (!early) await log.loaded;
  return log;
}

const PAGE = 200; // records read at a time, so that the page answers in between

class Log {
  // `renamed`: {kind: {old name of a field: its name}}.
  constructor(db, name, now, renamed) {
    this.renamed = renamed;
    this.db = db;
    this.now = now;
    this.views = new Map();
    this.listeners = new Set();
    this.counts = { waiting: 0, refused: 0 };
    // Other pages of this device share the database; a browser without channels has them look again when they are opened.
    this.others = "BroadcastChannel" in window ? new BroadcastChannel(name) : { postMessage() {}, close() {} };
    this.others.onmessage = ({ data }) => this.reload(data);
  }

  // Reading

  list(kind, { deleted = false } = {}) {
    return [...this.views.values()].filter((view) => view.kind === kind && view.deleted === deleted);
  }

  get(id) {
    return this.views.get(id) ?? null;
  }

  async history(id) {
    const { record, waiting, refused } = await this.db.read((stores) => laidOver(stores, id));
    const found = (edits, field, [value, at, device]) => edits.some((edit) => edit.field === field && edit.at === at
      && edit.device === device && canonical(edit.value) === canonical(value));
    return Object.fromEntries(Object.entries(record ? carried(record, this.renamed[record.kind]).fields : {}).map(([field, entries]) => [field, entries.map((entry) => ({
      value: entry[0], at: entry[1], device: entry[2], mine: entry[2] === this.state.device,
      waiting: found(waiting, field, entry), refused: found(refused, field, entry),
    }))]));
  }

  async refused() {
    const rows = await this.db.read(({ refused }) => ask(refused.getAll()));
    return rows.map(({ edits: [edit], code, why }) => ({ edit, code, why }));
  }

  status() {
    const { device, lastSync } = this.state;
    const { state, problem } = this.syncing;
    return { state, problem, lastSync, device, ...this.counts };
  }

  onChange(listener) {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  // Writing

  edit(record, kind, field, value) {
    return this.save(record, kind, { [field]: value });
  }

  async create(kind, values = {}) {
    const record = newId();
    await this.save(record, kind, values);
    return record;
  }

  remove(id) {
    return this.edit(id, this.get(id)?.kind, DELETED, true);
  }

  restore(id) {
    return this.edit(id, this.get(id)?.kind, DELETED, false);
  }

  // Resolves to the edits written, once they are safe on this device. `stamps` says of a field when it was typed (stampNow);
  // such a value loses to what is newer, and is kept in the history.
  async save(record, kind, values, stamps = {}) {
    const wanted = Object.entries(values).map(([field, value]) => readEdit({ record, kind, field, value }));
    const written = await this.change(async (stores, state, touched) => {
      const before = (await laidOver(stores, record)).record;
      const changed = wanted.filter((edit) => !isShown(before, edit) && !holds(before, edit.field, [edit.value, stamps[edit.field], state.device]));
      if (!changed.length) return [];
      touched.add(record);
      const after = later(state.last, state.seen);
      const edits = changed.map((edit) => this.stamped(state, edit, stamps[edit.field]));
      addRow(stores.outbox, edits, { after });
      return edits;
    });
    if (written.length) this.syncing.soon();
    return written;
  }

  stamped(state, { record, kind, field, value }, typedAt = this.stampNow(state)) {
    state.last = later(state.last, typedAt);
    return { id: newId(), record, kind, field, value, at: typedAt, device: state.device };
  }

  // The stamp of this moment: after all that this device knows.
  stampNow({ skew, last, seen } = this.state) {
    return next(this.now() - skew, later(last, seen));
  }

  // Drafts (log/drafts.js) in the database: {key: draft}, and null for one that is done with.
  putDrafts(drafts) {
    return this.db.write(async ({ meta }) => {
      const all = { ...await ask(meta.get("drafts")), ...drafts };
      meta.put(Object.fromEntries(Object.entries(all).filter(([, draft]) => draft !== null)), "drafts");
    });
  }

  async drafts() {
    return (await this.db.read(({ meta }) => ask(meta.get("drafts")))) ?? {};
  }

  async retryRefused() {
    await this.change(async ({ outbox, refused }, state, touched) => {
      for (const { record, edits, after } of await ask(refused.getAll())) {
        addRow(outbox, edits, { after });
        touched.add(record);
      }
      refused.clear();
    });
    return this.sync();
  }

  // Backup

  // Of everything, or of one record alone.
  exportText(only = null) {
    return this.db.read(async (stores) => backupText([...(await allLaidOver(stores)).values()].map(({ record }) => record).filter(({ id }) => only === null || id === only)));
  }

  // `why(edit)` says in a sentence why the page could not show a value; what is so is left out, and named in `left`.
  async importText(text, why = () => null) {
    const all = editsInBackup(text);
    const left = all.map(why).filter(Boolean);
    const edits = all.filter((edit) => !why(edit));
    const added = await this.change(async (stores, state, touched) => {
      const known = await allLaidOver(stores);
      const missing = edits.filter((edit) => isNew(known.get(edit.record)?.record ?? null, edit, this.now() - state.skew));
      for (const edits of byRecord(missing).values()) addRow(stores.outbox, edits.map(named), { after: START });
      for (const { at, record } of missing) {
        state.last = later(state.last, at);
        touched.add(record);
      }
      return missing.length;
    });
    if (added) this.syncing.soon();
    return { records: new Set(edits.map((edit) => edit.record)).size, added, left };
  }

  // Syncing

  sync() {
    return this.syncing.run();
  }

  // The next piece to send: waiting edits in the order in which they were written, but first what the server once had.
  piece(mostEdits, mostLetters) {
    return this.db.read(async ({ outbox }) => {
      const settled = await ask(outbox.index("settled").getAll(null, mostEdits));
      const rows = settled.length ? settled : await ask(outbox.getAll(null, mostEdits));
      const edits = [];
      let letters = 0;
      for (const edit of rows.flatMap((row) => row.edits)) {
        letters += JSON.stringify(edit).length;
        if (edits.length === mostEdits || (edits.length && letters > mostLetters)) break;
        edits.push(settled.length ? { ...edit, settled: true } : edit);
      }
      return edits;
    });
  }

  // Take in one answer to {cursor, edits}, whole or not at all. Returns {moved, stale}: whether it brought us on (an edit
  // stamped again is no step yet), and whether it came too late, after another page's: then nothing of it is taken, and
  // what it kept is sent again.
  takeIn(answer, sent) {
    return this.change(async (stores, state, touched) => {
      if (sent.cursor !== state.cursor) return { moved: true, stale: true };
      const moved = answer.kept.length + answer.records.length > 0 || answer.refused.some(({ code }) => code !== "clock");
      if (answer.era !== state.era) Object.assign(state, { era: answer.era, sweep: true, round: newId() });
      state.skew = skewOf(this.now(), answer.now);
      const edits = new Map(sent.edits.map((edit) => [edit.id, edit]));
      for (const id of answer.kept) if (await take(stores, id, touched)) await keepEdit(stores, edits.get(id), roundOf(state));
      await setAside(stores, answer, touched);
      if (answer.refused.some(({ code }) => code === "clock")) await this.setClockRight(stores, state, answer, touched);
      for (const record of answer.records) {
        await keepRecord(stores, record, roundOf(state));
        touched.add(record.id);
        for (const { at } of editsOf(record)) state.seen = later(state.seen, at);
      }
      if (state.sweep && !answer.more) await sendBackTheRest(stores, state, touched);
      state.cursor = answer.cursor;
      state.lastSync = this.now();
      return { moved, stale: false };
    });
  }

  async setClockRight({ base, outbox }, state, { now, latest }, touched) {
    // What an older version of this page sends back under a stamp that no clock can have shown.
    await healSettled(base, outbox);
    // As long as the server lacks what a server once told, its bound may lie before what this device rightly knew.
    if (state.sweep || (await ask(outbox.index("settled").count()))) return;
    const [keys, rows] = [await ask(outbox.getAllKeys()), await ask(outbox.getAll())];
    const waiting = rows.flatMap((row, place) => row.edits.map((edit) => ({ edit, after: row.after, place })));
    const { again, last } = stampAgain(waiting, { skew: this.now() - now, now, latest });
    const anew = new Map(again.map(({ edit }) => [edit.id, edit]));
    for (const place of new Set(again.map((entry) => entry.place))) {
      const row = rows[place];
      outbox.put({ ...row, edits: row.edits.map((edit) => anew.get(edit.id) ?? edit) }, keys[place]);
      touched.add(row.record);
    }
    // What this clock wrote ahead of time must not hold it there.
    if (last !== null && milliseconds(state.last) > latest) state.last = last;
    // Nor what it once was told by a log that has been set right since.
    if (milliseconds(state.seen) > latest) state.seen = stamp(now, LAST_COUNT);
  }

  // The one way in which anything is written: the work, the counts and the views that it touched, in one transaction.
  async change(work) {
    const touched = new Set();
    const { result, state, views, counts } = await this.db.write(async (stores) => {
      const state = await ask(stores.meta.get("state"));
      const result = await work(stores, state, touched);
      stores.meta.put(state, "state");
      return { result, state, ...await lookAt(stores, touched, this.renamed) };
    });
    this.show(state, views, counts, touched);
    this.others.postMessage([...touched]);
    return result;
  }

  async reload(ids) {
    const touched = new Set(ids);
    const { state, views, counts } = await this.db.read(async (stores) => (
      { state: await ask(stores.meta.get("state")), ...await lookAt(stores, touched, this.renamed) }));
    this.show(state, views, counts, touched);
  }

  show(state, views, counts, touched) {
    this.state = state;
    this.counts = counts;
    for (const view of views) this.views.set(view.id, view);
    this.tell({ records: touched, status: true });
  }

  tell(what) {
    for (const listener of this.listeners) listener(what);
  }

  // The builds, which the first answer needs, are few and come first; a season's passes take a while longer.
  async loadBuilds() {
    this.state = await this.db.write(async ({ meta }) => {
      const state = (await ask(meta.get("state"))) ?? {
        device: newId().slice(0, 12), cursor: null, era: null, sweep: false, last: START, seen: START, skew: 0, lastSync: null };
      meta.put(state, "state");
      return state;
    });
    const { all, counts } = await this.db.read(async (stores) => (
      { all: await allLaidOver(stores, (store) => store.index("kind").getAll("build")), counts: await count(stores) }));
    this.counts = counts;
    this.add(all);
  }

  async loadRest() {
    this.add(await this.db.read(allWaiting));
    for (let last = ""; ;) {
      const rows = await this.db.read(({ base }) => ask(base.getAll(IDBKeyRange.lowerBound(last, true), PAGE)));
      if (!rows.length) break;
      // What is known already came with edits of this device over it, or has been changed since.
      this.add(new Map(rows.filter(({ id }) => !this.views.has(id)).map(({ id, text }) => [id, { record: JSON.parse(text), waiting: 0 }])));
      last = rows.at(-1).id;
    }
    this.tell({ records: new Set(this.views.keys()), status: true });
  }

  add(all) {
    for (const [id, { record, waiting }] of all) if (!this.views.has(id)) this.views.set(id, viewOf(record, waiting, this.renamed));
  }

  async close() {
    this.syncing.stop();
    await this.loaded;
    this.others.close();
    this.db.close();
  }
}

// What the page shows of a record: the winners.
function viewOf(stored, waiting, renamed) {
  const record = carried(stored, renamed[stored.kind]);
  const values = {};
  let at = START;
  for (const [field, entries] of Object.entries(record.fields)) {
    if (field !== DELETED) values[field] = entries[0][0];
    at = later(at, entries[0][1]);
  }
  return { id: record.id, kind: record.kind, deleted: isDeleted(record), values, at, waiting };
}

function isShown(record, { field, value }) {
  const [winner] = entriesOf(record, field);
  if (!winner) return field === DELETED && value === false;
  return canonical(winner[0]) === canonical(value);
}

// A stamp from a clock that is ahead is set right later, and then no longer found by its stamp when the same backup comes again.
function isNew(record, edit, now) {
  if (merge(record, edit) === record) return false;
  const again = ([value, , device]) => device === edit.device && canonical(value) === canonical(edit.value);
  return milliseconds(edit.at) <= now || !entriesOf(record, edit.field).some(again);
}

// The server's record with this device's edits over it.
async function laidOver({ base, outbox, refused }, id) {
  const kept = await ask(base.get(id));
  const [waiting, turnedDown] = [editsIn(await ask(outbox.index("record").getAll(id))), editsIn(await ask(refused.index("record").getAll(id)))];
  return { record: [...waiting, ...turnedDown].reduce(merge, kept ? JSON.parse(kept.text) : null), waiting, refused: turnedDown };
}

// The same for many, as a map of {record, waiting: how many edits}; `pick` asks a store for the rows that are wanted.
async function allLaidOver({ base, outbox, refused }, pick = (store) => store.getAll()) {
  const all = new Map();
  for (const { id, text } of await ask(pick(base))) all.set(id, { record: JSON.parse(text), waiting: 0 });
  layOver(all, editsIn(await ask(pick(outbox))), 1);
  layOver(all, editsIn(await ask(pick(refused))), 0);
  return all;
}

// Every record that this device has edits of.
async function allWaiting({ base, outbox, refused }) {
  const [waiting, turnedDown] = [editsIn(await ask(outbox.getAll())), editsIn(await ask(refused.getAll()))];
  const kept = await Promise.all([...byRecord([...waiting, ...turnedDown]).keys()].map((id) => ask(base.get(id))));
  const all = new Map(kept.filter(Boolean).map(({ id, text }) => [id, { record: JSON.parse(text), waiting: 0 }]));
  layOver(all, waiting, 1);
  layOver(all, turnedDown, 0);
  return all;
}

function layOver(all, edits, counts) {
  for (const edit of edits) {
    const known = all.get(edit.record) ?? { record: null, waiting: 0 };
    all.set(edit.record, { record: merge(known.record, edit), waiting: known.waiting + counts });
  }
}

function editsIn(rows) {
  return rows.flatMap(({ edits }) => edits);
}

function byRecord(edits) {
  const found = new Map();
  for (const edit of edits) {
    if (!found.has(edit.record)) found.set(edit.record, []);
    found.get(edit.record).push(edit);
  }
  return found;
}

function named(edit) {
  return { id: newId(), ...edit };
}

// Add edits of one record to the outbox or the refused ones.
function addRow(store, edits, more) {
  const [{ record, kind }] = edits;
  store.add({ record, kind, ids: edits.map(({ id }) => id), edits, ...more });
}

async function lookAt(stores, ids, renamed) {
  const views = [];
  for (const id of ids) {
    const { record, waiting } = await laidOver(stores, id);
    if (record) views.push(viewOf(record, waiting.length, renamed));
  }
  return { views, counts: await count(stores) };
}

async function count({ outbox, refused }) {
  return { waiting: await ask(outbox.index("ids").count()), refused: await ask(refused.index("ids").count()) };
}

// Take an edit out of the outbox; returns {edit, after}, or null where it is not there.
async function take({ outbox }, id, touched) {
  const key = await ask(outbox.index("ids").getKey(id));
  if (key === undefined) return null;
  const row = await ask(outbox.get(key));
  const edits = row.edits.filter((edit) => edit.id !== id);
  if (edits.length) outbox.put({ ...row, edits, ids: edits.map((edit) => edit.id) }, key);
  else outbox.delete(key);
  touched.add(row.record);
  return { edit: row.edits.find((edit) => edit.id === id), after: row.after };
}

async function setAside(stores, answer, touched) {
  for (const { id, code, why } of answer.refused) {
    const taken = code === "clock" ? null : await take(stores, id, touched);
    if (taken) addRow(stores.refused, [taken.edit], { after: taken.after, code, why });
  }
}

// Rows of `base` bear the round in which they were told: a round begins with each era, and again where an older one returns.
const roundOf = (state) => state.round ?? state.era;

// The server has this edit. It tells the record in this answer or in a later piece; until then nobody else may hold it.
async function keepEdit({ base }, edit, round) {
  const before = await ask(base.get(edit.record));
  const record = merge(before ? JSON.parse(before.text) : null, edit);
  base.put({ id: record.id, kind: record.kind, era: before?.era ?? round, text: JSON.stringify(record) });
}

async function keepRecord({ base, outbox }, record, round) {
  const before = await ask(base.get(record.id));
  // What the server once had and has no more (an older copy of its log) goes back to it.
  if (before) sendBack(outbox, JSON.parse(before.text), record);
  base.put({ id: record.id, kind: record.kind, era: round, text: JSON.stringify(record) });
}

function sendBack(outbox, known, theirs) {
  const lacked = editsOf(heal(known)).filter((edit) => merge(theirs, edit) !== theirs);
  if (lacked.length) addRow(outbox, lacked.map(named), { after: START, settled: 1 });
}

async function healSettled(base, outbox) {
  const [keys, rows] = [await ask(outbox.index("settled").getAllKeys()), await ask(outbox.index("settled").getAll())];
  for (const [place, row] of rows.entries()) {
    if (row.edits.every(({ at }) => at < LAST_BELIEVED)) continue;
    const kept = await ask(base.get(row.record));
    const known = row.edits.reduce(merge, kept ? JSON.parse(kept.text) : null);
    const better = editsOf(heal(known)).filter((edit) => row.edits.some(({ field, value, device }) => field === edit.field
      && device === edit.device && canonical(value) === canonical(edit.value)));
    outbox.delete(keys[place]);
    addRow(outbox, better.map(named), { after: START, settled: 1 });
  }
}

// Records that a server of a new era did not name: it does not have them.
async function sendBackTheRest({ base, outbox }, state, touched) {
  for (const { id, era, text } of await ask(base.getAll())) {
    if (era === state.round) continue;
    sendBack(outbox, JSON.parse(text), null);
    base.delete(id);
    touched.add(id);
  }
  state.sweep = false;
}
