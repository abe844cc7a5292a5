// The part of Settings that is about the log: what waits, syncing by hand, the backup, how safe this phone's storage is.

import { el, openingLog, say } from "../core/dom.js";
import { inWords as errorInWords } from "../core/told.js";
import { isInstalled, storageState } from "../log/storage.js";
import { labelOf } from "../passes/earlier.js";
import { openPasses } from "../passes/open.js";
import { countInWords, lossInWords, syncInWords } from "../passes/stateline.js";
import { inWords } from "../passes/values.js";
import { fieldsOf, title } from "../passes/told.js";
import { shapes } from "./shapes.js";
import { saveBackup } from "./savebackup.js";
import { offerUndo } from "../core/undo.js";
import { asItIs, putBack } from "./putback.js";

export function drawKeeping(app) {
  const element = el("div", { class: "keeping" }, el("section", {}, el("h2", {}, "The log"), openingLog()));
  let shown = null;
  let gone = false;
  openPasses(app).then(({ log }) => {
    if (gone) return;
    shown = new Keeping(app, log);
    element.replaceChildren(...shown.sections);
  }).catch((error) => element.replaceChildren(el("p", { class: "error" }, `The log on this device could not be opened. ${errorInWords(error, "")}`)));
  return { element, stop() {
    gone = true;
    shown?.stop();
  } };
}

class Keeping {
  constructor(app, log) {
    Object.assign(this, { app, log });
    this.sections = [this.syncSection(), this.backupSection(), this.storageSection()];
    this.off = log.onChange(({ status }) => status && this.draw());
    this.draw();
    this.drawStorage().catch((error) => say(this.storage, errorInWords(error, "This browser does not say how it keeps the log.")));
  }

  syncSection() {
    this.state = el("p", { class: "sync-state", role: "status" });
    this.refused = el("div", { class: "refused" });
    return el("section", {}, el("h2", {}, "The log"), this.state,
      el("button", { type: "button", class: "sync-now", onclick: () => this.log.sync() }, "Sync now"), this.refused);
  }

  backupSection() {
    this.file = el("input", { type: "file", accept: ".json,application/json", hidden: true, "aria-label": "A backup file", onchange: () => this.restore() });
    this.told = el("p", { role: "status" });
    return el("section", {}, el("h2", {}, "Backup"),
      el("p", { class: "help" }, "One file with all passes, notes and builds, every earlier value too. Restoring adds what this device lacks and takes nothing away."),
      el("div", { class: "passes-next" }, el("button", { type: "button", onclick: () => this.save() }, "Save a backup"),
        el("button", { type: "button", onclick: () => this.file.click() }, "Restore from a file")), this.file, this.told,
      el("p", {}, el("a", { class: "line-link", href: "/api/export.csv", download: "" }, "All passes as a table (CSV), from the server")));
  }

  storageSection() {
    this.storage = el("p", {});
    this.loss = el("p", { class: "loss", hidden: true });
    this.ask = el("button", { type: "button", hidden: true, onclick: () => this.askToKeep() }, "Ask the browser to keep it");
    return el("section", {}, el("h2", {}, "Storage on this device"), this.storage, this.loss, this.ask);
  }

  draw() {
    const status = this.log.status();
    say(this.state, syncInWords(status));
    if (status.refused !== this.drawnRefused) this.drawRefused(status.refused);
    this.drawnRefused = status.refused;
  }

  async drawRefused(count) {
    if (count === 0) return this.refused.replaceChildren();
    const all = await this.log.refused();
    this.refused.replaceChildren(el("p", {}, `The server refused ${countInWords(all.length, "change")}. ${all.length === 1 ? "It is" : "They are"} kept on this device:`),
      el("ul", {}, ...all.map(({ edit, why }) => this.drawRefusal(edit, why))),
      el("button", { type: "button", onclick: () => this.log.retryRefused() }, "Send again"));
  }

  drawRefusal(edit, why) {
    const view = this.log.get(edit.record);
    const field = fieldsOf(this.app, edit.kind).get(edit.field);
    return el("li", {}, el("a", { class: "line-link", href: edit.kind === "build" ? "#/build" : `#/passes/${edit.record}` }, view ? title(view) : edit.kind),
      ` ${labelOf(this.app, edit.kind, edit.field)}: ${inWords(field, edit.value, this.app.units)}. `, why);
  }

  async save() {
    say(this.told, `Saved ${await saveBackup(this.log)}. Keep the file somewhere other than this device.`);
  }

  async restore() {
    const [file] = this.file.files;
    if (!file) return;
    say(this.told, "Reading…");
    try {
      const before = asItIs(this.log);
      const { records, added, left } = await this.log.importText(await file.text(), shapes(this.app));
      if (added) offerUndo("The backup is restored.", () => { say(this.told, ""); return putBack(this.log, before); });
      const told = added ? `Restored: ${countInWords(added, "value")} of ${countInWords(records, "record")} were new here.` : `All ${countInWords(records, "record")} of that backup were here already.`;
      say(this.told, left.length ? `${told} Left out: ${countInWords(left.length, "value")} that cannot be read. ${[...new Set(left)].slice(0, 3).join(" ")}` : told);
    } catch (error) {
      say(this.told, errorInWords(error, "This file could not be read."));
    }
    this.file.value = "";
  }

  async drawStorage() {
    const { persisted, used, quota } = await storageState();
    const parts = [];
    if (used !== null && quota) parts.push(`This page uses ${bytes(used)} of the ${bytes(quota)} that the browser allows.`);
    if (isInstalled()) parts.push("The page is on the home screen.");
    const loss = await lossInWords();
    if (persisted) parts.push("The browser will keep the log.");
    else if (loss === null) parts.push("This browser does not say whether it may delete the log.");
    say(this.storage, parts.join(" "));
    this.loss.hidden = loss === null;
    say(this.loss, loss ?? "");
    this.ask.hidden = persisted !== false;
  }

  async askToKeep() {
    const { persisted } = await storageState({ ask: true });
    await this.drawStorage();
    if (!persisted) say(this.ask, "The browser declined. Add the page to the home screen, then ask again");
  }

  stop() {
    this.off();
  }
}

function bytes(count) {
  const million = count / 1_000_000;
  return million >= 1000 ? `${Math.round(million / 1000)} GB` : `${million < 10 ? Math.max(0.1, Math.round(million * 10) / 10) : Math.round(million)} MB`;
}
