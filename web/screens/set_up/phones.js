/** Letting phones in, and shutting them out. */

import { element, redraw } from "../dom.js";
import { form } from "../form.js";
import { problemNote } from "../problem.js";
import { ROLES_IN_WORDS } from "../pair.js";
import { confirmed } from "./confirm.js";
import { deviceList, timeOf } from "./device_list.js";

const LOOKS_EVERY_MS = 3000;

export function phonesScreen(context) {
  const place = element("div", { class: "stack" }, element("p", { class: "quiet" }, "Reading …"));
  const screen = new Phones(context, place);
  screen.read();
  return { title: "Phones", nodes: [element("h1", {}, "Phones"), place], leave: () => screen.leave() };
}

class Phones {
  #looking;
  #drawnCode = "";

  constructor(context, place) {
    this.context = context;
    this.server = context.journal.server;
    this.place = place;
    this.letIn = element("section", { id: "let-in" });
    this.code = element("div", { class: "fields", "aria-live": "polite" });
    this.list = element("section", { id: "devices" });
  }

  async read() {
    try {
      const answer = await this.server.getJson("/api/devices");
      redraw(this.letIn, answer.lan ? waysIn(answer.lan, this) : notServed());
      this.show(answer.devices);
      redraw(this.place, this.letIn, this.list);
    } catch (problem) {
      redraw(
        this.place,
        problemNote(problem, () => this.read()),
      );
    }
  }

  show(devices) {
    this.known = new Set(devices.map(({ id }) => id));
    redraw(this.list, deviceList(devices, this));
  }

  async makeCode({ role }) {
    const made = await this.server.postJson("/api/devices", { role });
    this.#showCode(made);
    this.#lookFor(made);
    return [];
  }

  /** Until the code is used or over; then it goes from the screen. */
  #lookFor(made) {
    clearInterval(this.#looking);
    this.#looking = setInterval(async () => {
      if (Date.parse(made.expires_at) <= Date.now()) return this.#end("This code is over. Make a new one.");
      const { devices } = await this.server.getJson("/api/devices").catch(() => ({ devices: [] }));
      const fresh = devices.find(({ id }) => !this.known.has(id));
      if (!fresh) return;
      this.show(devices);
      this.#end(`“${fresh.name}” is paired.`);
    }, LOOKS_EVERY_MS);
  }

  #showCode({ code, role, expires_at: expiresAt, address, qr }) {
    this.#forgetDrawing();
    this.#drawnCode = URL.createObjectURL(new Blob([qr], { type: "image/svg+xml" }));
    redraw(
      this.code,
      element(
        "p",
        {},
        "Scan this on the phone, or open ",
        element("b", {}, address.split("#")[0]),
        " there and type:",
      ),
      element("p", { class: "pairing-code" }, `${code.slice(0, 4)} ${code.slice(4)}`),
      element("img", {
        class: "qr",
        src: this.#drawnCode,
        alt: "QR code of the pairing address",
        width: 256,
        height: 256,
      }),
      element(
        "p",
        { class: "quiet" },
        `Once, until ${timeOf(expiresAt)}. The device ${ROLES_IN_WORDS[role]}.`,
      ),
      element(
        "p",
        { class: "quiet" },
        "On an iPhone put the journal on the home screen first, open it from there and type the code: it keeps a key of its own, apart from Safari’s.",
      ),
    );
  }

  #end(words) {
    clearInterval(this.#looking);
    this.#forgetDrawing();
    redraw(this.code, element("p", {}, words));
  }

  #forgetDrawing() {
    if (this.#drawnCode) URL.revokeObjectURL(this.#drawnCode);
    this.#drawnCode = "";
  }

  async shutOut(device) {
    const consequence = device.this
      ? "This is the device in your hand: you would have to pair it again to go on."
      : "It is shut out at once. What waits on it and was not sent stays there; pair it again to have it sent.";
    if (!(await confirmed(`Shut “${device.name}” out?`, consequence, "Shut out"))) return;
    await this.#change(
      () => this.server.deleteJson(`/api/devices/${device.id}`),
      `“${device.name}” is shut out.`,
    );
  }

  async rename(device, { name }) {
    const { devices } = await this.server.postJson(`/api/devices/${device.id}`, { name });
    this.show(devices);
    return [];
  }

  async #change(ask, words) {
    try {
      this.show((await ask()).devices);
      this.context.notices.say(words);
    } catch (problem) {
      this.context.notices.say(problem.message);
    }
  }

  leave() {
    clearInterval(this.#looking);
    this.#forgetDrawing();
  }
}

function notServed() {
  return [
    element("h2", {}, "Let a phone in"),
    element(
      "p",
      {},
      "The journal is open to this computer only. To let phones in, close it and start it with",
    ),
    element("p", {}, element("code", {}, "journal-server serve --lan")),
  ];
}

function waysIn(lan, screen) {
  const specs = [
    {
      name: "role",
      label: "What it may do",
      options: ["owner", "helper", "reader"].map((role) => [role, `${role}: ${ROLES_IN_WORDS[role]}`]),
    },
  ];
  return [
    element("h2", {}, "Let a phone in"),
    lan.trust_pages.length > 0 && trusting(lan),
    !lan.secure &&
      element("p", { class: "signal" }, "Over plain http: anyone in this network can read what is sent."),
    form(specs, { role: "owner" }, (chosen) => screen.makeCode(chosen), { words: "Make a pairing code" }),
    screen.code,
  ];
}

function trusting(lan) {
  return element(
    "details",
    { id: "trusting" },
    element("summary", {}, "A new phone has to trust the journal first"),
    element(
      "div",
      { class: "fields" },
      element("p", {}, "Open this address on the phone, in the same network, and do what it says, once:"),
      element("p", {}, element("b", {}, lan.trust_pages[0])),
      element("p", {}, "The certificate’s SHA-256 fingerprint, to compare with what the phone shows:"),
      element(
        "p",
        { class: "fingerprint" },
        lan.fingerprint.match(/.{1,24}/g).map((line) => [element("span", {}, line.trim()), " "]),
      ),
    ),
  );
}
