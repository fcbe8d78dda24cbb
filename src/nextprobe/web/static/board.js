// Where on the board: the map, its list of pads, and expected against measured at a connector.

import { at, fill, h, whenIdle } from "./app.js";
import { ask } from "./api.js";

const HEADER = 16;
const SUSPICION = 1;
/** Entries that teach nothing about the board. */
const NO_LESSON = new Set(["started", "moves recorded", "note", "photo added", "closed"]);

/** @param {import("./bench.js").Bench} bench */
export function showBoard(bench) {
  return new BoardSide(bench);
}

class BoardSide {
  /** @param {import("./bench.js").Bench} bench */
  constructor(bench) {
    this.bench = bench;
    this.connectorChosen = "";
    /** The newest entry that says something of the board, and how many the board shown rests on. */
    this.lesson = 0;
    this.entries = -1;
    /** @type {{key: number, version: number, chances: ArrayLike<number>} | null} */
    this.suspicion = null;
    /** @type {any[]} what is loaded and shows all of the board */
    this.views = [];
    /** @type {any[]} what is loaded and shows a pin */
    this.pointers = [];
    /** @type {any} */
    this.map = h("board-map");
    /** @type {any} */
    this.pads = h("pad-list");
    this.state = h("p", { class: "source" });
    this.offer = h("div", { class: "keys", role: "status" });
    this.body = h("div", { class: "map-body", hidden: true }, this.map,
      h("details", { class: "fold" }, h("summary", {}, "The pads as a list"), this.pads));
    this.connector = h("div", { class: "connector" });
    /** @type {any} */
    this.picture = h("connector-picture");
    fill(at("map"), h("h2", { class: "sheet-name", id: "map-name" }, "On the board"), this.state, this.body, this.offer, this.connector);
    this.body.addEventListener("pad-chosen", (event) => this.#chosen(/** @type {CustomEvent} */ (event).detail.pin));
    this.connector.addEventListener("pin-chosen", (event) => this.#chosen(/** @type {CustomEvent} */ (event).detail.pin));
    document.addEventListener("entries", (event) => this.#learn(/** @type {CustomEvent} */ (event).detail.lines));
    document.addEventListener("overview", () => { this.loading = this.#refresh(); });
    document.addEventListener("known", () => whenIdle(() => void this.#rest()));
    for (const shown of ["step-shown", "point-shown"]) document.addEventListener(shown, () => this.#aim());
    document.addEventListener("frame", (event) => this.#frame(/** @type {CustomEvent} */ (event).detail));
  }

  /** @param {any[]} lines of the log that are new */
  #learn(lines) {
    for (const { kind, event } of lines) if (!NO_LESSON.has(kind)) this.lesson = event;
  }

  async #refresh() {
    if (!this.bench.overview?.parts) {
      fill(this.state, "No board is known yet. Paste a pinout or type a chain below, and it appears here.");
      this.body.hidden = true;
      fill(this.connector);
      return;
    }
    if (this.entries >= this.lesson) return;
    this.entries = this.bench.overview.events;
    try {
      const [board] = await Promise.all([ask(`${this.bench.path}/board`), import("./board-map.js")]);
      this.#board(board);
    } catch { this.entries = -1; /* not connected: asked for again with the next entry */ }
  }

  /** @param {any} board */
  #board(board) {
    this.known = board;
    this.body.hidden = false;
    fill(this.state, `${board.parts.length} parts, ${board.nets.length} nets, ${board.pads.pin.length} pads.`,
      board.has_places ? "" : " Nobody has said where they are: they are arranged by what they belong to.");
    if (!this.views.length) {
      this.views = [this.map];
      this.pointers = [this.map];
    }
    for (const each of this.views) each.board = board;
    this.#suspect();
    this.#aim();
  }

  #suspect() {
    if (!this.known || this.suspicion?.key !== this.known.key) return;
    for (const each of this.views) each.suspicion = this.suspicion?.chances;
  }

  /** @param {ArrayBuffer} buffer */
  #frame(buffer) {
    const view = new DataView(buffer);
    if (view.byteLength < HEADER || view.getUint8(3) !== SUSPICION) return;
    const chances = new Float32Array(buffer, HEADER, view.getUint32(12, true));
    this.suspicion = { version: view.getUint32(4, true), key: view.getUint32(8, true), chances };
    this.#suspect();
  }

  /** What can wait until the step is shown. */
  async #rest() {
    await this.loading;
    if (!this.known) return;
    await Promise.all([import("./pad-list.js"), import("./connector-picture.js")]);
    if (!this.views.includes(this.pads)) {
      this.views.push(this.pads);
      this.pointers.push(this.pads, this.picture);
      this.pads.board = this.known;
      this.#suspect();
      this.#aim();
    }
    await this.#pins();
    if (this.suspicion?.version === this.bench.stepsVersion) return;
    const found = await ask(`${this.bench.path}/suspicion`).catch(() => null);  // the live channel did not bring it
    if (found) this.suspicion = { version: found.version, key: found.key, chances: found.suspicion };
    this.#suspect();
  }

  /** Show where the probe is to go. */
  #aim() {
    if (!this.known) return;
    const { step, run } = this.bench.panel;
    const act = run?.probe ?? step?.acts.find((/** @type {any} */ each) => each.do === "probe");
    const known = act && this.known.pads.pin.includes(act.point) ? act.point : null;
    this.target = known;
    for (const each of this.pointers) each.target = known;
  }

  /** Show a pin wherever it is shown, and probe it next where that is offered. @param {string} pin */
  #chosen(pin) {
    for (const each of this.pointers) each.chosen = pin;
    const step = this.bench.advice?.steps.find((/** @type {any} */ each) => each.id === `probe:${pin}`);
    fill(this.offer, step && h("button", { type: "button", class: "key", onclick: () => this.bench.choose(step.id) }, `${step.title} next`));
  }

  async #pins() {
    const names = this.known.connectors.map((/** @type {any} */ each) => each.reference);
    if (!names.length) return fill(this.connector);
    const chosen = names.includes(this.connectorChosen) ? this.connectorChosen : this.#meant(names);
    const found = await ask(`${this.bench.path}/connectors/${encodeURIComponent(chosen)}`).catch(() => null);
    if (!found) return undefined;
    const choice = h("select", {
      id: "connector", onchange: (/** @type {Event} */ event) => { this.connectorChosen = /** @type {HTMLSelectElement} */ (event.target).value; void this.#pins(); },
    }, names.map((/** @type {string} */ name) => h("option", { value: name, selected: name === chosen }, name)));
    fill(this.connector, h("div", { class: "field" }, h("label", { for: "connector" }, "Connector"), choice), this.picture);
    this.picture.board = this.known;
    this.picture.connector = found;
    this.picture.target = this.target ?? null;
    return undefined;
  }

  /** The connector of the module that the complaint is about. */
  #plugged() {
    const { complaint } = this.bench.overview;
    return this.known.connectors.find((/** @type {any} */ each) => each.modules.includes(complaint))?.reference;
  }

  /** The connector that the step is about, else one with suspects, else that of the complaint. @param {string[]} names */
  #meant(names) {
    const text = JSON.stringify([this.bench.panel.step?.acts ?? [], this.bench.panel.step?.id ?? "", this.bench.suspects ?? []]);
    this.meant = names.find((name) => new RegExp(`\\b${name}\\b`).test(text)) ?? this.meant ?? this.#plugged() ?? names[0];
    return this.meant;
  }
}
