/**
 * `<pad-list>`: the pads of a map as a table that can be searched, with the same data.
 *
 * Properties: `board`, `suspicion`, `target`, `chosen` as those of `<board-map>`. Event, which
 * bubbles: `pad-chosen` with `{pin, pad, net, part}`. Pads are shown by the page, the most suspect
 * first; what is typed is looked for in pins, parts, nets and roles.
 */

import { saySide, saySuspicion } from "./pad-words.js";
import { keepFocus, key, made, shadowOf } from "./shadow.js";

/** @typedef {import("./board-types.js").Board} Board */

const A_PAGE = 15;
const WAIT = 120;

const STYLE = `
  :host { display: block; color: var(--ink); font-family: var(--font); }
  .found { margin: 0.5rem 0; color: var(--ink-quiet); font-size: var(--text-small); }
  td { padding: 0; }
  td:not(:first-child) { padding: 0.5rem; }
  td { vertical-align: middle; }
  .pin { width: 100%; justify-content: flex-start; background: transparent; border-color: transparent; border-bottom-color: transparent; text-decoration: underline; text-underline-offset: 0.2em; text-decoration-thickness: 1px; padding-inline: 0.5rem; font-family: var(--font-figures); font-size: 1.0625rem; }
  tr[aria-current="true"] td { background: var(--mark-wash); box-shadow: inset 0 2px var(--mark), inset 0 -2px var(--mark); }
  .now { display: block; padding: 0 0.5rem 0.5rem; font-weight: 600; color: var(--mark); font-size: var(--text-small); }
  .pages { display: flex; gap: 0.5rem; align-items: center; padding-top: 0.75rem; flex-wrap: wrap; }
  .pages span { flex: 1; text-align: center; color: var(--ink-quiet); }
  @media (max-width: 36rem) { .more { display: none; } }
`;

export class PadList extends HTMLElement {
  /** @type {Board | null} */
  #board = null;
  /** @type {ArrayLike<number> | null} */
  #suspicion = null;
  /** @type {string | null} */
  #target = null;
  /** @type {string | null} */
  #chosen = null;
  /** @type {string[]} */
  #words = [];
  /** @type {number[]} */
  #found = [];
  #page = 0;
  #timer = 0;
  #input = made("input", { type: "search", "aria-label": "Search the pads", placeholder: "Pin, part, net or role", autocomplete: "off", spellcheck: "false" });
  #said = made("p", { class: "found", role: "status" });
  #body = made("tbody");
  #where = made("span");
  #back = key("Before", "Pads before these", () => this.#go(-1));
  #next = key("After", "Pads after these", () => this.#go(1));

  constructor() {
    super();
    const head = made("thead", {}, made("tr", {},
      ...["Pin", "Net", "Part", "Side", "Chance of a fault"].map((name, index) =>
        made("th", { scope: "col", ...(index === 2 || index === 3 ? { class: "more" } : {}) }, name))));
    const table = made("table", {}, made("caption", { class: "away" }, "Pads of the board"), head, this.#body);
    const pages = made("nav", { class: "pages", "aria-label": "Pages of pads" }, this.#back, this.#where, this.#next);
    shadowOf(this, STYLE).append(this.#input, this.#said, made("div", { class: "scroll" }, table), pages);
    this.#input.addEventListener("input", () => this.#soon());
  }

  get board() {
    return this.#board;
  }

  /** @param {Board | null} board */
  set board(board) {
    this.#board = board;
    this.#words = board === null ? [] : board.pads.pin.map((pin, pad) => {
      const part = board.parts[board.pads.part[pad]];
      const net = board.nets[board.pads.net[pad]];
      return `${pin} ${net.name} ${net.role} ${part.kind} ${part.shown} ${part.note}`.toLowerCase();
    });
    this.#search();
  }

  get suspicion() {
    return this.#suspicion;
  }

  /** @param {ArrayLike<number> | null} chances */
  set suspicion(chances) {
    this.#suspicion = chances;
    this.#soon();
  }

  get target() {
    return this.#target;
  }

  /** @param {string | null} pin */
  set target(pin) {
    this.#target = pin;
    this.#show();
  }

  get chosen() {
    return this.#chosen;
  }

  /** @param {string | null} pin */
  set chosen(pin) {
    this.#chosen = pin;
    this.#show();
  }

  #soon() {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#search(), WAIT);
  }

  #search() {
    const wanted = this.#input.value.trim().toLowerCase().split(/\s+/).filter(Boolean);
    const chances = this.#suspicion;
    this.#found = [...this.#words.keys()].filter((pad) => wanted.every((word) => this.#words[pad].includes(word)));
    if (chances) this.#found.sort((a, b) => chances[b] - chances[a] || a - b);
    const begins = wanted.length === 1 ? wanted[0] : "";
    if (begins) this.#found.sort((a, b) => this.#rank(a, begins) - this.#rank(b, begins));
    this.#page = 0;
    this.#show();
  }

  /**
   * @param {number} pad
   * @param {string} begins
   */
  #rank(pad, begins) {
    const pin = this.#words[pad].split(" ", 1)[0];
    return pin === begins ? 0 : pin.startsWith(`${begins}.`) ? 1 : pin.startsWith(begins) ? 2 : 3;
  }

  /** @param {number} pages */
  #go(pages) {
    this.#page += pages;
    this.#show();
  }

  #show() {
    const board = this.#board;
    const count = this.#found.length;
    const last = Math.max(0, Math.ceil(count / A_PAGE) - 1);
    this.#page = Math.min(last, Math.max(0, this.#page));
    const first = this.#page * A_PAGE;
    const shown = this.#found.slice(first, first + A_PAGE);
    const focused = this.shadowRoot?.activeElement?.textContent;
    this.#body.replaceChildren(...(board === null ? [] : shown.map((pad) => this.#row(board, pad))));
    if (focused) this.#buttonOf(focused)?.focus();
    const said = count === 1 ? "1 pad" : `${count} pads`;
    if (this.#said.textContent !== said) this.#said.textContent = said;
    this.#where.textContent = count === 0 ? "" : `${first + 1} to ${first + shown.length}`;
    this.#back.disabled = this.#page === 0;
    this.#next.disabled = this.#page === last;
  }

  /** @param {string} pin */
  #buttonOf(pin) {
    return [...this.#body.querySelectorAll("button")].find((each) => each.textContent === pin);
  }

  /**
   * @param {Board} board
   * @param {number} pad
   */
  #row(board, pad) {
    const { pads } = board;
    const pin = pads.pin[pad];
    const part = board.parts[pads.part[pad]];
    const net = board.nets[pads.net[pad]];
    const button = made("button", { type: "button", class: "key pin" }, pin);
    keepFocus(button);
    button.addEventListener("click", () => this.#choose(board, pad));
    const chance = this.#suspicion ? saySuspicion(this.#suspicion[pad]) : "not known";
    const now = pin === this.#target ? [made("span", { class: "now" }, "probe this now")] : [];
    return made("tr", pin === this.#chosen ? { "aria-current": "true" } : {},
      made("td", {}, button, ...now),
      made("td", {}, `${net.name}, ${net.role}`),
      made("td", { class: "more" }, [part.kind, part.shown].filter(Boolean).join(" ") + (part.fitted ? "" : ", not fitted")),
      made("td", { class: "more" }, saySide(pads.side[pad])),
      made("td", {}, chance));
  }

  /**
   * @param {Board} board
   * @param {number} pad
   */
  #choose(board, pad) {
    const pin = board.pads.pin[pad];
    this.chosen = pin;
    const net = board.nets[board.pads.net[pad]].name;
    const part = board.parts[board.pads.part[pad]].reference;
    this.dispatchEvent(new CustomEvent("pad-chosen", { bubbles: true, composed: true, detail: { pad, pin, net, part } }));
  }
}

customElements.define("pad-list", PadList);
