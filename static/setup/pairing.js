// Pairing, in Settings. A phone types the code here; the machine itself shows codes, addresses and its phones.
//
//   const { element, stop } = drawPairing(log)      `log`, or the promise of it, is synced once this phone is paired
//   watchPairing(notices)                            says at the top of the page what this phone still lacks

import { el, keepFocus, newId, say } from "../core/dom.js";
import { KEYS, recall, remember } from "../core/memory.js";

const OUT_OF_REACH = "Can't reach the machine with the log. Entries stay on this device until then.";
const LOOK_EVERY = 4000; // ms, while a code waits for a phone

// The server's answer as {status, told}; status 0 where it is not within reach.
async function ask(method, path, sent) {
  try {
    const body = sent && { body: JSON.stringify(sent), headers: { "Content-Type": "application/json" } };
    const answer = await fetch(path, { method, credentials: "same-origin", cache: "no-store", ...body });
    return { status: answer.status, told: await answer.json().catch(() => null) };
  } catch {
    return { status: 0, told: null };
  }
}

function sentence({ status, told }) {
  if (status === 0) return OUT_OF_REACH;
  const [first] = Object.values(told?.errors ?? {}).flat();
  return typeof first === "string" ? first : `The machine refused this (${status}).`;
}

export function drawPairing(log = null) {
  const element = el("div", { class: "pairing" }, el("p", {}, "Looking for the machine…"));
  let shown = null;
  let left = false;

  async function show() {
    const answer = await ask("GET", "/api/pairing");
    if (left) return;
    shown?.stop();
    shown = answer.status !== 200 ? outOfReach(answer, show) : answer.told.here ? new Machine(answer.told) : new Phone(answer.told, show, log);
    keepFocus(element, () => element.replaceChildren(shown.element));
  }
  show();
  return { element, stop() {
    left = true;
    shown?.stop();
  } };
}

function outOfReach(answer, again) {
  const button = el("button", { type: "button", onclick: again }, "Look again");
  return { element: el("div", {}, el("p", {}, sentence(answer)), button), stop() {} };
}

// A phone: paired, or with the code to type.
class Phone {
  constructor({ phone, machine }, again, log) {
    this.again = again;
    this.log = log;
    this.element = phone ? paired(phone, machine) : this.drawForm(machine);
  }

  drawForm(machine) {
    this.name = el("input", { id: newId("phone-name"), type: "text", maxlength: 40, autocomplete: "off", value: recall(KEYS.phoneName, "Phone") });
    this.code = el("input", { id: newId("code"), type: "text", inputmode: "numeric", maxlength: 12, autocomplete: "one-time-code" });
    this.error = el("p", { class: "error", id: newId("code-error"), role: "alert", hidden: true });
    this.code.setAttribute("aria-describedby", this.error.id);
    this.button = el("button", { class: "next" }, "Pair this phone");
    return el("form", { onsubmit: (event) => this.send(event) },
      el("p", {}, `To sync with ${machine}, type the code that its terminal or its Settings show.`),
      el("div", { class: "field" }, el("label", { class: "label", for: this.code.id }, "Code"), this.code, this.error),
      el("div", { class: "field" }, el("label", { class: "label", for: this.name.id }, "Name of this phone"), this.name),
      this.button);
  }

  async send(event) {
    event.preventDefault();
    if (this.button.disabled) return;
    this.button.disabled = true;
    const answer = await ask("POST", "/api/pairing", { code: this.code.value, name: this.name.value });
    this.button.disabled = false;
    if (answer.status !== 200) {
      this.error.hidden = false;
      say(this.error, sentence(answer));
      this.code.setAttribute("aria-invalid", "true");
      this.code.focus();
      return;
    }
    remember(KEYS.phoneName, this.name.value);
    document.getElementById("not-paired")?.remove();
    this.again();
    (await this.log)?.sync();
  }

  stop() {}
}

function paired(phone, machine) {
  return el("div", {}, el("p", {}, `Paired with ${machine} as “${phone.name}”, ${day(phone.paired)}.`), el("p", {}, lastSync(phone)));
}

// The machine itself: a code for the next phone, where it finds the page, and the phones that are paired.
class Machine {
  constructor({ codes, setup_port }) {
    this.problem = el("p", { class: "error", role: "alert", hidden: true });
    this.digits = el("p", { class: "lead-number", role: "status" });
    this.worth = el("p", { class: "help", role: "status", hidden: true });
    this.phones = el("ul", { class: "phones" });
    this.addresses = el("div", {});
    const button = el("button", { type: "button", class: "next", onclick: () => this.newCode() }, "Show a code for a phone");
    const start = el("p", {}, "Start it with “overbowl --lan” to let phones on this network install this page and sync.");
    this.element = el("div", {}, el("p", {}, "This is the machine that keeps the log."),
      codes ? el("div", {}, button, this.digits, this.worth) : start, this.problem, this.phones, this.addresses);
    this.look();
    if (setup_port) this.showAddresses();
  }

  async newCode() {
    const answer = await ask("POST", "/api/phones/code", {});
    if (!this.tell(answer)) return;
    const { code, seconds } = answer.told;
    say(this.digits, `${code.slice(0, 4)} ${code.slice(4)}`);
    this.worth.hidden = false;
    say(this.worth, "It works once, within ten minutes.");
    clearInterval(this.looking);
    clearTimeout(this.ending);
    this.looking = setInterval(() => this.look(), LOOK_EVERY);
    this.ending = setTimeout(() => this.look(), seconds * 1000 + 500);
  }

  // A code that was used, is late or was ended by wrong tries is shown no more; `why` says so.
  endCode(why) {
    this.stop();
    say(this.digits, "");
    say(this.worth, why);
  }

  async look() {
    const answer = await ask("GET", "/api/phones");
    if (!this.tell(answer)) return;
    const { phones, code_ended: ended } = answer.told;
    if (ended && this.digits.textContent) this.endCode(ended);
    const text = JSON.stringify(phones);
    if (text === this.drawn) return;
    this.drawn = text;
    this.phones.replaceChildren(...(phones.length ? phones.map((phone) => this.drawPhone(phone)) : [el("li", {}, "No phone is paired.")]));
  }

  drawPhone(phone) {
    const button = el("button", { type: "button", "aria-label": `Remove ${phone.name}` }, "Remove");
    button.addEventListener("click", async () => {
      // Asked once more, for the phone must be paired anew afterwards.
      if (button.textContent === "Remove") {
        button.textContent = "Yes, remove";
        button.setAttribute("aria-label", `Yes, remove ${phone.name}`);
        return;
      }
      if (this.tell(await ask("DELETE", `/api/phones/${encodeURIComponent(phone.id)}`))) this.look();
    });
    return el("li", { class: "field" }, el("p", {}, el("strong", {}, phone.name), ` ${lastSync(phone)}`), button);
  }

  async showAddresses() {
    const answer = await ask("GET", "/api/network");
    if (!this.tell(answer)) return;
    const { pages, setups, fingerprint } = answer.told;
    this.addresses.append(
      el("h3", {}, "A new phone first trusts this machine"), el("p", {}, "It opens this address and follows the steps there:"), ...drawAddresses(setups, "setup"),
      el("p", {}, `SHA-256 fingerprint of the authority: ${fingerprint}`),
      el("h3", {}, "Then it opens the page"), ...drawAddresses(pages, "page"));
  }

  tell(answer) {
    const fine = answer.status >= 200 && answer.status < 300;
    this.problem.hidden = fine;
    say(this.problem, fine ? "" : sentence(answer));
    return fine;
  }

  stop() {
    clearInterval(this.looking);
    clearTimeout(this.ending);
  }
}

function drawAddresses(addresses, which) {
  const code = el("img", { src: `/api/network/${which}/0.svg`, width: 232, height: 232, alt: `QR code of ${addresses[0]}` });
  return [el("p", {}, code), el("ul", {}, ...addresses.map((address) => el("li", {}, address)))];
}

function day(seconds) {
  return new Date(seconds * 1000).toLocaleDateString();
}

function lastSync(phone) {
  return phone.last_sync ? `Last sync ${new Date(phone.last_sync * 1000).toLocaleString()}.` : "Not synced yet.";
}

// Say at the top of the page, once, that this phone is not paired, or does not trust the machine (`untrusted`).
export async function watchPairing(notices, untrusted = false) {
  const { status, told } = await ask("GET", "/api/pairing");
  if (status !== 200 || told.here) return;
  const reasons = [untrusted ? "not-trusted" : null, told.phone ? null : "not-paired"];
  // What was put away comes back when its reason went and came again.
  remember(KEYS.putAway, recall(KEYS.putAway, []).filter((id) => reasons.includes(id)));
  if (untrusted && told.setup_port) {
    const setup = `http://${location.hostname}:${told.setup_port}/`;
    notify(notices, "not-trusted", "Not trusted yet, so not offline: ", el("a", { class: "line-link", href: setup }, "the steps"));
  }
  if (told.phone) return;
  notify(notices, "not-paired", "Not paired: nothing is synced. ", el("a", { class: "line-link", href: "#/settings" }, "Pair it"));
}

// One line that can be put away; Settings says the same at any time.
function notify(notices, id, ...words) {
  if (recall(KEYS.putAway, []).includes(id)) return;
  const away = () => {
    remember(KEYS.putAway, [...recall(KEYS.putAway, []), id]);
    line.remove();
  };
  const line = el("p", { class: "notice", id }, el("span", {}, ...words), el("button", { type: "button", class: "away", "aria-label": "Put this notice away", onclick: away }, "✕"));
  notices.append(line);
}
