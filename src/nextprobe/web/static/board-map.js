/**
 * `<board-map>`: where to put the probe, and where suspicion lies, on one canvas.
 *
 * Properties: `board`, `suspicion` (a number for each pad), `target` (a pin), `heat`, `marks`,
 * `chosen` (a pin), `face`. Methods: `fit()`, `turn()`, `find(name)`, `reveal(pin)`.
 * Events, which bubble: `pad-chosen` with `{pin, pad, net, part}`.
 *
 * Keys on the picture: arrows walk to the next pad, with Shift they move the picture; Enter chooses,
 * F finds, S turns the board over, 0 shows all of it, + and − magnify, Escape leaves it.
 */

import { watchTheme } from "./board-map-colours.js";
import { listen } from "./board-map-hands.js";
import { legend } from "./board-map-legend.js";
import { Painter } from "./board-map-painter.js";
import { STYLE } from "./board-map-style.js";
import { reached } from "./geometry-heat.js";
import { PadIndex } from "./geometry-index.js";
import { View } from "./geometry-view.js";
import { Geometry } from "./geometry.js";
import { sayPad } from "./pad-words.js";
import { key, made, shadowOf } from "./shadow.js";

/** @typedef {import("./board-types.js").Board} Board */
/** @typedef {import("./board-types.js").Face} Face */
/** @typedef {import("./board-types.js").Heat} Heat */
/** @typedef {import("./board-types.js").MapMark} MapMark */

const REACH = 22;
const FIND_MARGIN = 60;
/** After so long without a movement the map is drawn sharply again [ms]. */
const STILL = 110;

export class BoardMap extends HTMLElement {
  #view = new View();
  /** @type {Geometry | null} */
  #geometry = null;
  /** @type {PadIndex | null} */
  #index = null;
  /** @type {ArrayLike<number> | null} */
  #suspicion = null;
  /** @type {string | null} */
  #target = null;
  /** @type {Heat | null} */
  #heat = null;
  /** @type {readonly MapMark[]} */
  #marks = [];
  /** @type {number | null} */
  #chosen = null;
  #frame = 0;
  #moving = false;
  #stillness = 0;
  #canvas = made("canvas", { tabindex: "0", role: "application", "aria-roledescription": "board map" });
  #said = made("p", { class: "said", "aria-live": "polite" });
  #heatSaid = made("p", { class: "heat" });
  #faceShown = made("span", { class: "face" });
  #empty = made("p", { class: "empty" }, "No board is known yet.");
  #input = made("input", {
    type: "search", placeholder: "Find a pin, part or net", "aria-label": "Find a pin, part or net",
    autocomplete: "off", spellcheck: "false", enterkeyhint: "search",
  });
  #probe = made("span", { class: "away", "aria-hidden": "true" });
  #painter = new Painter(this.#canvas, this.#probe);
  /** @type {AbortController | null} */
  #living = null;

  constructor() {
    super();
    const root = shadowOf(this, STYLE);
    const form = made("form", { role: "search" }, this.#input);
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (this.find(this.#input.value)) this.#canvas.focus();
    });
    const bar = made("div", { class: "bar" },
      form,
      made("div", { class: "keys" }, key("−", "Smaller", () => this.magnify(1 / 1.6), "-"),
      key("+", "Larger", () => this.magnify(1.6), "+"),
      key("All", "All: show the whole board", () => this.fit(), "0"),
      key("Turn", "Turn the board over", () => this.turn(), "S")));
    const stage = made("div", { class: "stage" }, this.#canvas, this.#faceShown, this.#empty);
    const foot = made("div", {}, this.#said, this.#heatSaid, legend());
    root.append(made("div", { class: "whole" }, bar, stage, foot), this.#probe);
    listen(this.#canvas, {
      pan: (across, down) => this.#byHand(() => this.#moved(() => this.#view.pan(across, down))),
      zoom: (factor, across, down) => this.#byHand(() => this.#zoom(factor, across, down)),
      touch: (across, down) => this.#touch(across, down),
      walk: (right, down) => this.#walk(right, down),
      choose: () => this.#tell(),
      find: () => this.#input.focus(),
      turn: () => this.turn(),
      fit: () => this.fit(),
      magnify: (factor) => this.magnify(factor),
    });
    this.#sayWhere();
  }

  connectedCallback() {
    const living = new AbortController();
    this.#living = living;
    const sized = new ResizeObserver(() => this.#resize());
    sized.observe(this.#canvas);
    living.signal.addEventListener("abort", () => sized.disconnect());
    watchTheme(() => {
      this.#painter.colours = null;
      this.#redraw(true);
    }, living.signal);
    this.#resize();
  }

  disconnectedCallback() {
    this.#living?.abort();
    cancelAnimationFrame(this.#frame);
    clearTimeout(this.#stillness);
    this.#moving = false;
    this.#frame = 0;
  }

  get board() {
    return this.#geometry?.board ?? null;
  }

  /** @param {Board | null} board */
  set board(board) {
    const keep = board !== null && board.key === this.board?.key ? this.#chosen : null;
    this.#geometry = board && new Geometry(board);
    this.#index = this.#geometry && new PadIndex(this.#geometry);
    this.#chosen = keep;
    this.#empty.hidden = board !== null;
    this.#sayWhere();
    this.#sayHeat();
    this.#sayChosen();
    this.fit();
  }

  get suspicion() {
    return this.#suspicion;
  }

  /** @param {ArrayLike<number> | null} chances of a fault at each pad, in the order of the board */
  set suspicion(chances) {
    this.#suspicion = chances;
    this.#redraw();
    this.#sayChosen();
  }

  get target() {
    return this.#target;
  }

  /** @param {string | null} pin the one to probe now */
  set target(pin) {
    this.#target = pin;
    if (pin !== null) this.reveal(pin);
    this.#sayWhere();
    this.#redraw();
  }

  get heat() {
    return this.#heat;
  }

  /** @param {Heat | null} heat what the heat of a repair reaches */
  set heat(heat) {
    this.#heat = heat;
    this.#sayHeat();
    this.#redraw();
  }

  get marks() {
    return this.#marks;
  }

  /** @param {readonly MapMark[]} marks */
  set marks(marks) {
    this.#marks = marks;
    this.#sayChosen();
    this.#redraw();
  }

  get chosen() {
    return this.#chosen === null || !this.#geometry ? null : this.#geometry.board.pads.pin[this.#chosen];
  }

  /** @param {string | null} pin */
  set chosen(pin) {
    const pad = pin === null ? undefined : this.#geometry?.at(pin)[0];
    this.#choose(pad ?? null);
    if (pin !== null) this.reveal(pin);
  }

  get face() {
    return this.#view.face;
  }

  /** @param {Face} face */
  set face(face) {
    this.#moved(() => {
      this.#view.face = face;
    });
    this.#sayWhere();
  }

  /** Show all of the board. */
  fit() {
    const geometry = this.#geometry;
    if (geometry) this.#moved(() => this.#view.fit(geometry.box));
    else this.#redraw(true);
  }

  /** Show the other side. */
  turn() {
    this.face = this.face === "front" ? "back" : "front";
  }

  /**
   * Choose the first pad of a pin, a part or a net, in any case, or of what begins so.
   *
   * @param {string} name
   * @returns {boolean} whether there is one
   */
  find(name) {
    const pad = this.#found(name.trim());
    if (pad === null) {
      this.#said.textContent = `Nothing on this board is called ${name.trim() || "nothing"}.`;
      return false;
    }
    this.#choose(pad);
    this.#show(pad);
    return true;
  }

  /**
   * Bring a pin into view, on the side where it can be touched.
   *
   * @param {string} pin
   */
  reveal(pin) {
    const pad = this.#geometry?.at(pin)[0];
    if (pad !== undefined) this.#show(pad);
  }

  /**
   * The parts that the heat of a repair reaches, as drawn.
   *
   * @returns {string[]}
   */
  get heated() {
    const geometry = this.#geometry;
    const found = geometry && reached(geometry, this.#heat);
    return found ? found.bodies.map(({ part }) => geometry.board.parts[part].reference) : [];
  }

  /** @param {string} name */
  #found(name) {
    const geometry = this.#geometry;
    if (!geometry || !name) return null;
    const exact = geometry.at(name)[0];
    if (exact !== undefined) return exact;
    const wanted = name.toLowerCase();
    const { pads } = geometry.board;
    for (const same of [
      (/** @type {string} */ each) => each.toLowerCase() === wanted,
      (/** @type {string} */ each) => each.toLowerCase().startsWith(wanted),
    ]) {
      for (let pad = 0; pad < geometry.count; pad += 1) {
        if (geometry.faces[pad] === 0) continue;
        const names = [pads.pin[pad], geometry.partOf(pad).reference, geometry.netOf(pad).name];
        if (names.some(same)) return pad;
      }
    }
    return null;
  }

  /** @param {number} pad */
  #show(pad) {
    const geometry = this.#geometry;
    if (!geometry) return;
    const view = this.#view;
    this.#moved(() => {
      if (!geometry.shows(pad, view.face)) view.face = view.face === "front" ? "back" : "front";
      if (view.sees(geometry.x[pad], geometry.y[pad], view.fitted ? 0 : FIND_MARGIN)) return;
      view.x = geometry.x[pad];
      view.y = geometry.y[pad];
      view.fitted = false;
    });
    this.#sayWhere();
  }

  /** @param {number | null} pad */
  #choose(pad) {
    this.#chosen = pad;
    this.#sayChosen();
    this.#redraw();
  }

  #tell() {
    const geometry = this.#geometry;
    const pad = this.#chosen;
    if (!geometry || pad === null) return;
    const detail = {
      pad,
      pin: geometry.board.pads.pin[pad],
      net: geometry.netOf(pad).name,
      part: geometry.partOf(pad).reference,
    };
    this.dispatchEvent(new CustomEvent("pad-chosen", { bubbles: true, composed: true, detail }));
  }

  /**
   * @param {number} across
   * @param {number} down
   */
  #touch(across, down) {
    const [x, y] = this.#view.place(across, down);
    const pad = this.#index?.nearest(x, y, REACH / this.#view.scale, this.face) ?? null;
    this.#choose(pad);
    this.#tell();
  }

  /**
   * @param {number} right
   * @param {number} down
   */
  #walk(right, down) {
    const from = this.#chosen ?? this.#nearMiddle();
    if (from === null || !this.#index) return;
    const next = this.#chosen === null ? from : this.#index.neighbour(from, this.#view.mirror * right, down, this.face);
    if (next === null) return;
    this.#choose(next);
    this.#show(next);
  }

  #nearMiddle() {
    const target = this.#target && this.#geometry?.at(this.#target)[0];
    if (typeof target === "number") return target;
    return this.#index?.nearest(this.#view.x, this.#view.y, 1e3, this.face) ?? null;
  }

  /** @param {number} factor */
  magnify(factor) {
    const view = this.#view;
    const pad = this.#chosen;
    const geometry = this.#geometry;
    if (pad !== null && geometry?.shows(pad, view.face) && view.sees(geometry.x[pad], geometry.y[pad], 0)) {
      this.#zoom(factor, view.across(geometry.x[pad]), view.down(geometry.y[pad]));
    } else {
      this.#zoom(factor, view.width / 2, view.height / 2);
    }
  }

  /**
   * @param {number} factor
   * @param {number} across
   * @param {number} down
   */
  #zoom(factor, across, down) {
    const geometry = this.#geometry;
    if (geometry) this.#moved(() => this.#view.zoom(factor, across, down, geometry.box));
  }

  /** @param {() => void} act one of many small movements */
  #byHand(act) {
    this.#moving = true;
    clearTimeout(this.#stillness);
    this.#stillness = setTimeout(() => {
      this.#moving = false;
      this.#redraw();
    }, STILL);
    act();
  }

  /** @param {() => void} act something that changes the view */
  #moved(act) {
    act();
    this.#redraw(true);
  }

  #resize() {
    const { clientWidth, clientHeight } = this.#canvas;
    if (clientWidth === 0 || clientHeight === 0) return;
    this.#view.width = clientWidth;
    this.#view.height = clientHeight;
    if (this.#view.fitted && this.#geometry) this.#view.fit(this.#geometry.box);
    this.#redraw(true);
  }

  #sayWhere() {
    const board = this.board;
    const back = this.face === "back";
    const real = this.#geometry?.real ?? true;
    this.#faceShown.hidden = board === null;
    this.#faceShown.classList.toggle("arranged", !real);
    this.#faceShown.textContent = real
      ? `${back ? "Back, turned over" : "Front"}${board?.pads_drawn ? " (pads drawn by kind of part)" : ""}`
      : "In order of parts: nobody has said where they are";
    const target = this.#target ? `, probe ${this.#target} now` : "";
    const name = board ? `${board.name}, ${back ? "back" : "front"}${target}` : "No board";
    this.#canvas.setAttribute("aria-label", name);
  }

  #sayHeat() {
    const parts = this.heated;
    const radius = this.#heat ? 1e3 * this.#heat.radius : 0;
    this.#heatSaid.hidden = parts.length === 0;
    this.#heatSaid.textContent = `Heat at ${this.#heat?.at ?? ""} reaches ${radius.toFixed(1)}\u00a0mm: ${parts.join(", ")}.`;
  }

  #sayChosen() {
    const geometry = this.#geometry;
    const pad = this.#chosen;
    const words = geometry === null || pad === null
      ? "Touch a pad, or walk with the arrow keys."
      : [sayPad(geometry.board, pad, this.#suspicion), ...this.#marksAt(geometry, pad)].join("; ");
    if (this.#said.textContent === words) return;
    const name = this.chosen ?? "";
    this.#said.replaceChildren(made("strong", {}, name), words.slice(name.length));
  }

  /**
   * @param {Geometry} geometry
   * @param {number} pad
   * @returns {string[]} what was seen or read there
   */
  #marksAt(geometry, pad) {
    const names = [geometry.board.pads.pin[pad], geometry.partOf(pad).reference];
    return this.#marks.filter((mark) => names.includes(mark.at)).map((mark) => `${mark.kind}: ${mark.text}`);
  }

  /** @param {boolean} [ground] whether the ground has to be drawn anew */
  #redraw(ground = false) {
    this.#painter.stale ||= ground;
    if (this.#frame === 0 && this.isConnected) {
      this.#frame = requestAnimationFrame(() => {
        this.#frame = 0;
        this.#paint();
      });
    }
  }

  #paint() {
    this.#painter.paint({
      geometry: this.#geometry,
      view: this.#view,
      suspicion: this.#suspicion,
      target: this.#target,
      heat: this.#heat,
      marks: this.#marks,
      chosen: this.#chosen,
    }, this.#moving);
    this.dispatchEvent(new CustomEvent("map-painted"));
  }
}

customElements.define("board-map", BoardMap);
