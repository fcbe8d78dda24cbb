/** One pin of the picture: what is expected on the left and right of a line, and what was read. */

import { beyond, densities } from "./connector-picture-scale.js";
import { shown } from "./quantities.js";
import { drawn, verdictOf, verdictShape } from "./verdicts.js";

/** @typedef {import("./connector-types.js").PinShown} PinShown */
/** @typedef {import("./connector-types.js").Value} Value */
/** @typedef {import("./connector-picture-scale.js").Scale} Scale */

/** Room for a pin and its parts [px]. */
export const ROOM = Object.freeze({ pitch: 60, lane: 26, gap: 8, strip: 190, read: 24, half: 25 });

const LEAST = 0.01;
const FAR = 0.03;

/**
 * @param {PinShown} pin
 * @param {Scale} scale
 * @param {string} mode
 * @returns {SVGGElement} its middle at 0, from the lane of over-range downwards
 */
export function pinShape(pin, scale, mode) {
  const group = drawn("g");
  const foot = ROOM.lane + ROOM.gap + ROOM.strip;
  const height = foot + ROOM.read;
  group.append(drawn("rect", { class: "touch", x: -ROOM.pitch / 2, y: -4, width: ROOM.pitch, height: height + 8 }));
  group.append(drawn("line", { class: "line", x1: 0, x2: 0, y1: ROOM.lane + ROOM.gap, y2: foot }));
  group.append(drawn("rect", { class: "lane", x: -ROOM.half, y: 0, width: 2 * ROOM.half, height: ROOM.lane }));
  if (!pin.expectation) {
    group.append(words("nothing", 0, foot - ROOM.strip / 2, "none"));
    return group;
  }
  const { expected, spread } = pin.expectation;
  group.append(...lanes(spread.healthy_over_range, spread.over_range), ...halves(pin.expectation, scale));
  if (beyond(spread, scale) > FAR) group.append(drawn("path", { class: "beyond", d: `M4 ${ROOM.lane + 9}l6-6 6 6M4 ${ROOM.lane + 15}l6-6 6 6` }));
  group.append(...band(expected, scale, foot));
  const read = expected.read.at(-1);
  if (read !== undefined) group.append(...reading(read, expected.verdict, scale, foot, mode));
  return group;
}

/**
 * @param {number} healthy
 * @param {number} now
 */
function lanes(healthy, now) {
  const high = ROOM.lane - 4;
  return [
    drawn("rect", { class: "healthy", x: -ROOM.half + 2, y: 2 + high * (1 - healthy), width: ROOM.half - 3, height: high * healthy }),
    drawn("rect", { class: "now", x: 1, y: 2 + high * (1 - now), width: ROOM.half - 3, height: high * now }),
  ];
}

/**
 * @param {NonNullable<PinShown["expectation"]>} expectation
 * @param {Scale} scale
 */
function halves(expectation, scale) {
  const found = densities(expectation.spread, scale);
  return [
    drawn("path", { class: "healthy", d: outline(found.from, found.to, found.healthy, -1) }),
    drawn("path", { class: "now", d: outline(found.from, found.to, found.now, 1) }),
  ];
}

/**
 * Steps, one for each interval: the interface knows no more than the chance of each.
 *
 * @param {number[]} from
 * @param {number[]} to
 * @param {number[]} density
 * @param {number} side -1 to the left, 1 to the right
 */
function outline(from, to, density, side) {
  let path = "";
  let drawing = false;
  density.forEach((each, i) => {
    if (each < LEAST) {
      if (drawing) path += `L0 ${height(from[i])}Z`;
      drawing = false;
      return;
    }
    const x = (side * ROOM.half * each).toFixed(2);
    path += `${drawing ? "" : `M0 ${height(from[i])}`}L${x} ${height(from[i])}L${x} ${height(to[i])}`;
    drawing = true;
  });
  return drawing ? `${path}L0 ${height(to[to.length - 1])}Z` : path;
}

/**
 * @param {number} share
 * @returns {string} from the top of the pin [px]
 */
function height(share) {
  return (ROOM.lane + ROOM.gap + ROOM.strip * (1 - share)).toFixed(1);
}

/**
 * Brackets around what counts as expected.
 *
 * @param {import("./connector-types.js").Expected} expected
 * @param {Scale} scale
 * @param {number} foot
 */
function band(expected, scale, foot) {
  if (typeof expected.healthy !== "number") return [];
  const top = foot - ROOM.strip * scale.share(expected.high);
  const bottom = foot - ROOM.strip * scale.share(expected.low);
  const edge = ROOM.half + 2;
  const d = [-1, 1].map((side) => `M${side * (edge - 4)} ${top}H${side * edge}V${bottom}H${side * (edge - 4)}`);
  return [drawn("path", { class: "band", d: d.join("") })];
}

/**
 * @param {Value} value
 * @param {string} word
 * @param {Scale} scale
 * @param {number} foot
 * @param {string} mode
 */
function reading(value, word, scale, foot, mode) {
  const verdict = verdictOf(word);
  const over = value === "over-range";
  const y = over ? ROOM.lane / 2 : foot - ROOM.strip * scale.share(value);
  const line = drawn("line", { class: "read", x1: -ROOM.half, x2: ROOM.half, y1: y, y2: y });
  line.dataset.verdict = verdict;
  const back = drawn("circle", { class: "back", cx: 0, cy: y, r: 11 });
  const said = words(over ? "OL" : short(value, mode), 0, foot + 17, "value");
  return [line, back, verdictShape(verdict, 8, 0, y), said];
}

/**
 * @param {number} value
 * @param {string} mode
 * @returns {string} without the unit, which stands at the scale; with its prefix where there is one
 */
function short(value, mode) {
  const { number, unit } = shown(value, mode);
  return `${number}${unit.slice(0, -1)}`;
}

/**
 * @param {string} text
 * @param {number} x
 * @param {number} y
 * @param {string} name
 */
export function words(text, x, y, name) {
  const found = drawn("text", { x, y, class: name });
  found.textContent = text;
  return found;
}
