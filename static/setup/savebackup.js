// The backup of the log as a file of this device.

import { el } from "../core/dom.js";
import { momentOf } from "../passes/values.js";
import { countInWords } from "../passes/stateline.js";

// Returns how much it holds, in words.
export async function saveBackup(log) {
  await log.loaded;
  const address = URL.createObjectURL(new Blob([await log.exportText()], { type: "application/json" }));
  el("a", { href: address, download: `overbowl-backup-${momentOf(new Date()).replace(":", "")}.json` }).click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
  return countInWords(["pass", "note", "build"].reduce((sum, kind) => sum + log.list(kind).length + log.list(kind, { deleted: true }).length, 0), "record");
}
