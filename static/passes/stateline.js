// How the log stands with the server, in words: what waits, when it last met, why it did not.

import { el, say } from "../core/dom.js";
import { isInstalled, storageState } from "../log/storage.js";
import { dayInWords, momentOf, timeOf } from "./values.js";

function whenInWords(milliseconds, now = new Date()) {
  if (!milliseconds) return "never";
  const moment = momentOf(new Date(milliseconds));
  return moment.slice(0, 10) === momentOf(now).slice(0, 10) ? timeOf(moment) : `${dayInWords(moment.slice(0, 10))}, ${timeOf(moment)}`;
}

export function countInWords(count, noun) {
  return `${count} ${noun}${count === 1 ? "" : "s"}`;
}

export function syncInWords(status) {
  const { state, waiting, refused, lastSync, problem } = status;
  const parts = [waiting ? `${countInWords(waiting, "change")} not sent yet.` : lastSync ? "All sent." : "Nothing to send."];
  if (state === "working") parts.push("Syncing…");
  else if (state === "failed") parts.push(problem);
  if (refused) parts.push(`${countInWords(refused, "change")} refused: see Settings.`);
  parts.push(lastSync ? `Last sync ${whenInWords(lastSync)}.` : "Not synced yet.");
  return parts.join(" ");
}

// Why this browser may delete the log, or null.
export async function lossInWords() {
  const { persisted } = await storageState();
  if (persisted || isInstalled()) return null;
  return "This browser may delete the log when space runs short, or when this page is not opened for a week or so. "
    + "Add the page to the home screen, sync, and save a backup.";
}

export class StateLine {
  constructor(app, log) {
    this.log = log;
    this.line = el("a", { class: "state-line", href: "#/settings" });
    this.loss = el("p", { class: "loss", hidden: true });
    this.element = el("div", {}, el("div", { role: "status" }, this.line), this.loss);
    this.off = log.onChange(({ status }) => status && this.draw());
    this.draw();
    if (log.list("pass").length + log.list("note").length) this.warn();
  }

  draw() {
    const status = this.log.status();
    say(this.line, syncInWords(status));
    this.line.dataset.state = status.state;
  }

  async warn() {
    const words = await lossInWords();
    this.loss.hidden = words === null;
    if (words) this.loss.replaceChildren(el("a", { href: "#/settings" }, "This browser may delete the log. Make it safe"));
  }

  stop() {
    this.off();
  }
}
