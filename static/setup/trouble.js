// An error that nobody caught: a plain sentence, a way to save what is there, and a way on. Never the script's own words.

import { el, say } from "../core/dom.js";
import { inWords } from "../core/told.js";
import { openBuilds } from "../car/store.js";
import { saveBackup } from "./savebackup.js";

export class Trouble {
  constructor(app) {
    this.app = app;
    this.told = el("p", { role: "status" });
    this.element = el("section", { id: "trouble", class: "notice", role: "alert", hidden: true },
      el("p", {}, "Something on this screen went wrong. What you typed is kept on this device."),
      el("div", { class: "passes-next" }, el("button", { type: "button", onclick: () => this.save() }, "Save a backup"),
        el("a", { class: "other", href: "#/supply", onclick: () => this.goBack() }, "Back to Supply")), this.told);
    window.addEventListener("error", ({ error }) => error && this.show());
    window.addEventListener("unhandledrejection", () => this.show());
  }

  show() {
    this.element.hidden = false;
  }

  hide() {
    this.element.hidden = true;
    say(this.told, "");
  }

  async save() {
    try {
      say(this.told, `Saved ${await saveBackup((await openBuilds(this.app)).log)}.`);
    } catch (error) {
      say(this.told, inWords(error, "The log on this device could not be read, so nothing was saved."));
    }
  }

  // From Supply itself there is no other way back than to open it anew.
  goBack() {
    if (["", "#/supply"].includes(location.hash)) location.reload();
  }
}
