// A backup is one JSON file in the form of the server's log file, so that either reads what the other saved.

import { readStampedEdit, Unfit } from "./edit.js";
import { editsOf, heal, merge } from "./merge.js";

const FORMAT = 1;

export function backupText(records) {
  const lines = records.map((record) => JSON.stringify(record)).join(",\n");
  return `{"format":${FORMAT},"records":[\n${lines}\n]}\n`;
}

// Every edit in a backup, without ids, with stamps that a clock can have shown. Errors: Unfit, and then nothing of it is taken.
export function editsInBackup(text) {
  const backup = parse(text);
  if (!Number.isInteger(backup?.format) || backup.format < 1 || !Array.isArray(backup.records)) throw new Unfit("This file is not a backup of the log.");
  if (backup.format > FORMAT) throw new Unfit(`A newer version of this page saved this backup (format ${backup.format}). Update the page first.`);
  return backup.records.flatMap(editsInRecord);
}

function parse(text) {
  try {
    return JSON.parse(text);
  } catch {
    throw new Unfit("This file is not whole: it may have been cut short.");
  }
}

function editsInRecord(record, place) {
  try {
    const edits = editsOf(record).map(readStampedEdit);
    return edits.length ? editsOf(heal(edits.reduce(merge, null))) : [];
  } catch (error) {
    const reason = error instanceof Unfit ? error.message : "It is not in the form of a record.";
    throw new Unfit(`Record ${place + 1} of the backup is wrong. ${reason} Nothing was taken in.`);
  }
}
