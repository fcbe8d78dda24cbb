/**
 * `<connector-picture>`: for each pin what is expected, and what was read, in the connector's shape.
 *
 * Properties: `connector` (as the interface answers), `board` (for the rows; may be null), `rows`
 * (1 or 2 where the board has no places, else null), `target` (the pin to probe now), `chosen`.
 * Event, which bubbles: `pin-chosen` with `{pin}`, a name as in J4.12.
 *
 * Keys: left and right walk along a row, up and down change the row, Enter chooses,
 * Escape leaves it.
 */

import { ROOM, pinShape, words } from "./connector-picture-pin.js";
import { Scale } from "./connector-picture-scale.js";
import { STYLE } from "./connector-picture-style.js";
import { details, sayPin, table } from "./connector-picture-words.js";
import { rowsOf } from "./geometry-connector.js";
import { shown, unitOf } from "./quantities.js";
import { keepFocus, made, shadowOf } from "./shadow.js";
import { drawn, VERDICTS, verdictShape } from "./verdicts.js";

/** @typedef {import("./connector-types.js").Connector} Connector */
/** @typedef {import("./board-types.js").Board} Board */

const LEFT = 62;
const TOP = 12;
const NUMBERS = 38;
const HEIGHT = ROOM.lane + ROOM.gap + ROOM.strip + ROOM.read;

export class ConnectorPicture extends HTMLElement {
  /** @type {Connector | null} */
  #connector = null;
  /** @type {Board | null} */
  #board = null;
  /** @type {number | null} */
  #rows = null;
  /** @type {string | null} */
  #target = null;
  /** @type {string | null} */
  #chosen = null;
  /** @type {number[][]} */
  #order = [];
  /** @type {Map<string, SVGGElement>} */
  #pins = new Map();
  #stage = made("div", { class: "scroll stage", tabindex: "0", role: "listbox", "aria-label": "Pins" });
  #details = made("div", { class: "details", "aria-live": "polite" });
  #note = made("p", { class: "note" });
  #table = made("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Pins as a table" });

  constructor() {
    super();
    const fold = made("details", {}, made("summary", {}, "The same as a table"), this.#table);
    shadowOf(this, STYLE).append(legend(), this.#note, this.#stage, this.#details, fold);
    keepFocus(this.#stage, "[data-pin]");
    this.#stage.addEventListener("keydown", (event) => this.#pressed(event));
    this.#stage.addEventListener("click", (event) => {
      const pin = /** @type {Element} */ (event.target).closest("[data-pin]")?.getAttribute("data-pin");
      if (pin) this.#choose(pin, true);
    });
  }

  get connector() {
    return this.#connector;
  }

  /** @param {Connector | null} connector */
  set connector(connector) {
    this.#connector = connector;
    this.#draw();
  }

  get board() {
    return this.#board;
  }

  /** @param {Board | null} board */
  set board(board) {
    this.#board = board;
    this.#draw();
  }

  get rows() {
    return this.#rows;
  }

  /** @param {number | null} rows */
  set rows(rows) {
    this.#rows = rows;
    this.#draw();
  }

  get target() {
    return this.#target;
  }

  /** @param {string | null} pin */
  set target(pin) {
    this.#target = pin;
    this.#mark();
    if (pin) this.#intoView(pin);
  }

  get chosen() {
    return this.#chosen;
  }

  /** @param {string | null} pin */
  set chosen(pin) {
    this.#chosen = pin;
    this.#mark();
    if (pin) this.#intoView(pin);
  }

  #draw() {
    const connector = this.#connector;
    this.#pins.clear();
    if (!connector || connector.pins.length === 0) {
      this.#stage.replaceChildren(made("p", {}, "No pins are known of this connector yet."));
      this.#table.replaceChildren();
      this.#details.replaceChildren();
      return;
    }
    const found = rowsOf(connector.pins.map((pin) => pin.point), this.#board, this.#rows);
    this.#order = found.rows;
    this.#note.textContent = found.known ? "" : "In the order of pin numbers: how the rows lie is not known.";
    this.#note.hidden = found.known;
    this.#stage.setAttribute("aria-label", `Pins of ${connector.reference}, ${connector.mode} mode`);
    this.#stage.replaceChildren(...this.#pictures(connector));
    this.#table.replaceChildren(table(connector));
    if (!this.#pins.has(this.#chosen ?? "")) this.#chosen = null;
    this.#mark();
  }

  /**
   * The scale, which stays where it is, and the pins, which may be wider than the page.
   *
   * @param {Connector} connector
   */
  #pictures(connector) {
    const scale = new Scale(connector.pins, connector.mode);
    const wide = Math.max(...this.#order.map((row) => row.length)) * ROOM.pitch;
    const two = this.#order.length === 2;
    const height = TOP + (two ? 2 * HEIGHT + 2 * NUMBERS + 12 : HEIGHT + NUMBERS) + 6;
    const [axis, picture] = [LEFT, wide + 16].map((width) => drawn("svg", { width, height, role: "presentation" }));
    axis.classList.add("axis");
    const body = TOP + HEIGHT + 2;
    picture.append(drawn("rect", { class: "housing", x: 4, y: body, width: wide + 8, height: (two ? 2 : 1) * NUMBERS - 4, rx: 3 }));
    this.#order.forEach((row, place) => {
      const top = place === 0 ? TOP : TOP + HEIGHT + 2 * NUMBERS + 8;
      axis.append(graduated(scale, connector.mode, top));
      picture.append(grid(scale, top, wide + 16));
      row.forEach((index, column) => {
        const number = place === 0 ? body + 23 : body + NUMBERS + 21;
        picture.append(this.#pin(connector, index, scale, 8 + (column + 0.5) * ROOM.pitch, top, number));
      });
    });
    return [axis, picture];
  }

  /**
   * @param {Connector} connector
   * @param {number} index
   * @param {Scale} scale
   * @param {number} x
   * @param {number} y
   * @param {number} numberAt
   */
  #pin(connector, index, scale, x, y, numberAt) {
    const pin = connector.pins[index];
    const group = drawn("g", { class: "pin", role: "option", id: `pin-${index}`, "aria-label": sayPin(pin, connector.mode) });
    group.dataset.pin = pin.point;
    const shape = pinShape(pin, scale, connector.mode);
    shape.setAttribute("transform", `translate(${x} ${y})`);
    const plate = drawn("rect", { class: "plate", x: x - ROOM.pitch / 2 + 4, y: numberAt - 18, width: ROOM.pitch - 8, height: 26, rx: 2 });
    group.append(shape, plate, words(pin.pin, x, numberAt, "number"));
    this.#pins.set(pin.point, group);
    return group;
  }

  #mark() {
    for (const [pin, group] of this.#pins) {
      group.classList.toggle("target", pin === this.#target);
      group.setAttribute("aria-selected", String(pin === this.#chosen));
    }
    const chosen = this.#pins.get(this.#chosen ?? "");
    if (chosen) this.#stage.setAttribute("aria-activedescendant", chosen.id);
    else this.#stage.removeAttribute("aria-activedescendant");
    const found = this.#connector?.pins.find((pin) => pin.point === (this.#chosen ?? this.#target));
    this.#details.replaceChildren(...(found && this.#connector ? details(found, this.#connector.mode) : [made("p", {}, "Touch a pin, or walk with the arrow keys.")]));
  }

  /**
   * @param {string} pin
   * @param {boolean} tell
   */
  #choose(pin, tell) {
    this.chosen = pin;
    if (tell) this.dispatchEvent(new CustomEvent("pin-chosen", { bubbles: true, composed: true, detail: { pin } }));
  }

  /** @param {string} pin */
  #intoView(pin) {
    const box = this.#pins.get(pin)?.getBoundingClientRect();
    if (!box) return;
    const room = this.#stage.getBoundingClientRect();
    if (box.left < room.left + LEFT) this.#stage.scrollLeft -= room.left + LEFT - box.left + ROOM.pitch / 2;
    if (box.right > room.right) this.#stage.scrollLeft += box.right - room.right + ROOM.pitch / 2;
  }

  /** @param {KeyboardEvent} event */
  #pressed(event) {
    const connector = this.#connector;
    if (!connector || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const start = this.#chosen ?? this.#target;
    if (step) this.#choose(connector.pins[this.#next(connector, start, step)].point, false);
    else if (event.key === "Home") this.#choose(connector.pins[this.#order[0][0]].point, false);
    else if (event.key === "End") this.#choose(connector.pins[this.#order.at(-1)?.at(-1) ?? 0].point, false);
    else if (event.key === "Escape") this.#stage.blur();
    else if (event.key === "Enter" && !event.repeat && start) this.#choose(start, true);
    else return;
    event.preventDefault();
  }

  /**
   * @param {Connector} connector
   * @param {string | null} from
   * @param {number[]} step
   */
  #next(connector, from, [right, down]) {
    const index = connector.pins.findIndex((pin) => pin.point === from);
    const row = this.#order.findIndex((each) => each.includes(index));
    if (row < 0) return this.#order[0][0];
    const other = Math.min(this.#order.length - 1, Math.max(0, row + down));
    const column = this.#order[row].indexOf(index) + right;
    return this.#order[other][Math.min(this.#order[other].length - 1, Math.max(0, column))];
  }
}

/**
 * @param {Scale} scale
 * @param {string} mode
 * @param {number} top
 */
function graduated(scale, mode, top) {
  const group = drawn("g", { "aria-hidden": "true" });
  group.append(words("OL", LEFT - 12, top + ROOM.lane / 2 + 4, "end"));
  for (const { value, long } of scale.graduations) {
    const y = height(scale, value, top);
    group.append(drawn("line", { class: "tick", x1: LEFT - (long ? 9 : 5), x2: LEFT, y1: y, y2: y }));
    if (long) group.append(words(graduation(value, mode), LEFT - 12, y + 4, "end"));
  }
  group.append(words(unitOf(mode), 6, top + ROOM.lane + ROOM.gap + ROOM.strip / 2, "unit"));
  return group;
}

/**
 * @param {Scale} scale
 * @param {number} top
 * @param {number} width
 */
function grid(scale, top, width) {
  const group = drawn("g", { class: "grid", "aria-hidden": "true" });
  for (const { value, long } of scale.graduations) {
    const y = height(scale, value, top);
    if (long) group.append(drawn("line", { x1: 0, x2: width, y1: y, y2: y }));
  }
  return group;
}

/**
 * @param {Scale} scale
 * @param {number} value
 * @param {number} top of the row
 */
function height(scale, value, top) {
  return top + ROOM.lane + ROOM.gap + ROOM.strip * (1 - scale.share(value));
}

/**
 * @param {number} value
 * @param {string} mode
 */
function graduation(value, mode) {
  if (unitOf(mode) === "V") return value.toFixed(2);
  const { number, unit } = shown(value, mode);
  return `${Number(number)}${unit.slice(0, -1)}`;
}

/** @returns {HTMLElement} */
function legend() {
  const list = made("ul", { class: "legend" });
  for (const [name, said] of /** @type {const} */ ([
    ["healthy", "left: a good board"],
    ["now", "right: this board, by what is known now"],
    ["band", "counts as expected"],
    ["beyond", "may be above the scale"],
  ])) {
    const picture = drawn("svg", { width: 22, height: 18, "aria-hidden": "true" });
    const shape = name === "beyond" ? { d: "M5 9l6-6 6 6M5 15l6-6 6 6" } : name === "band" ? { d: "M6 3H2V15H6M16 3H20V15H16" } : { d: name === "healthy" ? "M20 1V17C18 12 5 12 3 9S18 6 20 1Z" : "M2 1V17C4 12 17 12 19 9S4 6 2 1Z" };
    picture.append(drawn("path", { class: name, ...shape }));
    list.append(made("li", {}, picture, said));
  }
  for (const verdict of /** @type {const} */ (["agrees", "differs", "over"])) {
    const picture = drawn("svg", { width: 20, height: 20, "aria-hidden": "true" });
    picture.append(verdictShape(verdict, 8, 10, 10));
    list.append(made("li", {}, picture, `read: ${VERDICTS[verdict].word}`));
  }
  return list;
}

customElements.define("connector-picture", ConnectorPicture);
