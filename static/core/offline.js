// Whether this page works with no server, and the new version that waits for a word.

import { el, say } from "./dom.js";

const FOUND = "There is a new version: use it at the top of the page.";
const UNREACHED = "Can't reach the machine, so nothing was checked.";

export class Offline {
  // `shown` is the version of the page that runs.
  constructor(notices, shown) {
    this.notices = notices;
    this.shown = shown;
    this.state = "starting"; // "offline-ready", "insecure", "untrusted", "unsupported", "failed"
    this.version = null;
    this.listeners = new Set();
  }

  onChange(listener) {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  async start() {
    if (!window.isSecureContext) return this.set("insecure");
    if (!("serviceWorker" in navigator)) return this.set("unsupported");
    try {
      const registration = await navigator.serviceWorker.register("/sw.js", { scope: "/", updateViaCache: "none" });
      this.registration = registration;
      if (registration.waiting && navigator.serviceWorker.controller) this.offer();
      registration.addEventListener("updatefound", () => this.follow(registration.installing));
      await this.check(await navigator.serviceWorker.ready);
    } catch (error) {
      // A page that was opened in spite of a warning about its certificate may not register a worker.
      this.set(error.name === "SecurityError" ? "untrusted" : "failed");
    }
  }

  follow(worker) {
    worker.addEventListener("statechange", () => {
      if (worker.state === "installed" && navigator.serviceWorker.controller) this.offer();
    });
  }

  async check(registration) {
    const worker = registration.active;
    const told = await ask(worker, "whole?");
    this.version = told.version;
    this.set(told.missing.length ? "failed" : "offline-ready");
  }

  // Look for a new version now; the browser does so by itself only now and then. Returns a sentence.
  async look() {
    if (!this.registration) return this.lookWithoutWorker();
    try {
      await this.registration.update();
    } catch {
      return UNREACHED;
    }
    const { installing } = this.registration;
    if (installing && !(await comesWhole(installing))) return "There is a new version, but it did not come whole. This one goes on working; try again.";
    return this.registration.waiting ? FOUND : "Nothing newer was found.";
  }

  async lookWithoutWorker() {
    try {
      const told = await (await fetch("/forms.json", { cache: "no-cache" })).json();
      return told.version === this.shown ? "Nothing newer was found." : "There is a new version: load this page again.";
    } catch {
      return UNREACHED;
    }
  }

  // Whether a page that is loaded again would come, from the worker or the machine.
  isInReach() {
    return fetch("/", { cache: "no-cache" }).then(({ ok }) => ok, () => false);
  }

  offer() {
    if (this.offered) return;
    this.offered = true;
    const notice = el("p", { class: "notice", id: "new-version" }, "A new version of this page is ready. ",
      el("button", { type: "button", onclick: () => this.take() }, "Use it now"));
    this.notices.append(notice);
    this.set(this.state);
  }

  // Inputs are remembered as they are typed, so a reload loses nothing. Only the page that asked reloads; where another
  // page has taken the version over already, or a still newer one has come in its place, the notice stays good.
  take() {
    const { waiting } = this.registration;
    if (!waiting) return location.reload();
    navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
    waiting.postMessage("take over");
  }

  set(state) {
    this.state = state;
    document.documentElement.dataset.offline = state;
    for (const listener of this.listeners) listener();
    if (state === "insecure" && !this.warned) {
      this.warned = true;
      this.notices.append(el("p", { class: "notice", id: "not-secure" }, this.words()));
    }
  }

  words() {
    return {
      "starting": "Getting ready to work offline…",
      "offline-ready": "Works offline.",
      "insecure": "This page was not loaded over a secure connection, so it cannot work offline. Open it on the machine itself, or over HTTPS.",
      "untrusted": "This device does not trust the machine's certificate, so this page cannot work offline.",
      "unsupported": "This browser cannot keep the page, so it does not work offline.",
      "failed": "The page was not saved completely, so it does not work offline yet. Open it again with the server running.",
    }[this.state];
  }
}

// Whether a worker that is being installed gets all of its files.
function comesWhole(worker) {
  return new Promise((resolve) => {
    const look = () => {
      if (worker.state !== "installing") resolve(worker.state !== "redundant");
    };
    worker.addEventListener("statechange", look);
    look();
  });
}

function ask(worker, question) {
  return new Promise((resolve) => {
    const channel = new MessageChannel();
    channel.port1.onmessage = (event) => resolve(event.data);
    worker.postMessage(question, [channel.port2]);
  });
}

export function drawOfflineLine(offline) {
  const line = el("p", { class: "offline-line" });
  const update = () => say(line, offline.words());
  update();
  return { line, stop: offline.onChange(update) };
}
