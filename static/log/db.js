// The phone's own database. Four stores, apart: `base`, what the server last told; `outbox`, edits it has not named as kept;
// `refused`, edits it will not take; `meta`, what this device knows of itself. A row of `base` is a record's JSON text:
// one string is read back several times faster than its hundreds of parts. A row of `outbox` or `refused` is what was
// written to one record at one time, {record, kind, ids, edits, ...}: a store is read by the row, not by the byte.

import { Unfit } from "./edit.js";

const VERSION = 1;
const PATIENCE = 10 * 1000; // ms, for storage that never answers
const STORES = ["base", "outbox", "refused", "meta"];

export function ask(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

export async function openDb(name) {
  if (!window.indexedDB) throw new Unfit("This browser has no storage for a log.");
  const request = indexedDB.open(name, VERSION);
  request.onupgradeneeded = ({ oldVersion }) => {
    if (oldVersion < 1) layOut(request.result);
  };
  const database = await new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(new Unfit("This browser will not open its storage to this page."));
    request.onblocked = () => reject(new Unfit("Another open page of an older version holds the log; close it."));
    setTimeout(() => reject(new Unfit("This browser's storage does not answer. Close its other pages, or start the browser again.")), PATIENCE);
  });
  // A newer version of the page in another tab may change the layout.
  database.onversionchange = () => database.close();
  return new Db(database);
}

function layOut(database) {
  database.createObjectStore("base", { keyPath: "id" }).createIndex("kind", "kind");
  for (const name of ["outbox", "refused"]) {
    const store = database.createObjectStore(name, { autoIncrement: true });
    store.createIndex("record", "record");
    store.createIndex("kind", "kind");
    store.createIndex("ids", "ids", { multiEntry: true });
    store.createIndex("settled", "settled"); // only of rows that have it
  }
  database.createObjectStore("meta");
}

function explain(error) {
  if (error?.name !== "QuotaExceededError") throw error;
  throw new Unfit("This device has no room left for the log. Save a backup, then make room.");
}

class Db {
  constructor(database) {
    this.database = database;
  }

  read(work) {
    return this.run("readonly", work);
  }

  // All of `work` is kept, or nothing. "strict": on the disk before this resolves, so that a killed page loses nothing.
  write(work) {
    return this.run("readwrite", work);
  }

  async run(mode, work) {
    const transaction = this.database.transaction(STORES, mode, { durability: "strict" });
    const ended = new Promise((resolve, reject) => {
      transaction.oncomplete = resolve;
      transaction.onabort = () => reject(transaction.error ?? new Error("The log could not be written on this device."));
    });
    ended.catch(() => {}); // told below
    let result;
    try {
      result = await work(Object.fromEntries(STORES.map((name) => [name, transaction.objectStore(name)])));
    } catch (error) {
      try {
        transaction.abort();
      } catch {
        // It has ended by itself.
      }
      explain(error);
    }
    await ended.catch(explain);
    return result;
  }

  close() {
    this.database.close();
  }
}
