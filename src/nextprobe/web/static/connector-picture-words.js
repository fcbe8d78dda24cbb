/** A pin of a connector in words: for the line under the picture, for its label, for the table. */

import { quantile } from "./connector-picture-scale.js";
import { sayUncertain, sayValue, unitOf } from "./quantities.js";
import { made } from "./shadow.js";
import { sayChance } from "./suspicion.js";
import { verdictOf, VERDICTS } from "./verdicts.js";

/** @typedef {import("./connector-types.js").Connector} Connector */
/** @typedef {import("./connector-types.js").PinShown} PinShown */
/** @typedef {import("./connector-types.js").Expected} Expected */
/** @typedef {import("./connector-types.js").Spread} Spread */

/**
 * @param {Expected} expected
 * @param {string} mode
 */
export function sayExpected(expected, mode) {
  if (expected.healthy === "over-range") return "over-range (OL)";
  if (typeof expected.healthy !== "number") return "not known";
  return sayUncertain(expected.healthy, expected.deviation, mode);
}

/**
 * @param {Spread} spread
 * @param {string} mode
 * @returns {string} where 95 of 100 numbers lie, and the chance of over-range
 */
export function sayNow(spread, mode) {
  const low = quantile(spread.edges, spread.chances, 0.025);
  const high = quantile(spread.edges, spread.chances, 0.975);
  const over = `over-range ${sayChance(spread.over_range)}`;
  if (low === null || high === null || spread.over_range > 0.995) return over;
  return `${sayValue(low, mode)} to ${sayValue(high, mode)}; ${over}`;
}

/**
 * @param {Expected} expected
 * @param {string} mode
 */
export function sayRead(expected, mode) {
  const read = expected.read.map((value) => sayValue(value, mode));
  return read.length === 0 ? VERDICTS.unread.word : read.join(", then ");
}

/**
 * @param {PinShown} pin
 * @param {string} mode
 * @returns {string} one line, for the label of a pin
 */
export function sayPin(pin, mode) {
  if (!pin.expectation) return `${pin.point}, ${pin.net}: nothing is predicted`;
  const { expected } = pin.expectation;
  const verdict = expected.verdict ? `: ${expected.verdict}` : "";
  return `${pin.point}, ${pin.net}: ${sayRead(expected, mode)}${verdict}; expected ${sayExpected(expected, mode)}`;
}

/**
 * @param {PinShown} pin
 * @param {string} mode
 * @returns {Node[]} what is shown of the chosen pin
 */
export function details(pin, mode) {
  const name = made("strong", { class: "figure" }, pin.point);
  if (!pin.expectation) return [made("p", {}, name, ` ${pin.net}. Nothing is predicted here.`)];
  const { expected, spread } = pin.expectation;
  const verdict = verdictOf(expected.verdict);
  const word = made("b", { class: "word", "data-verdict": verdict }, expected.verdict || VERDICTS.unread.word);
  const read = expected.read.length > 0 ? [made("span", { class: "figure big" }, sayRead(expected, mode)), " "] : [];
  const rows = /** @type {[string, string][]} */ ([
    ["A good board", `${sayExpected(expected, mode)}${bounds(expected, mode)}`],
    ["This board now", sayNow(spread, mode)],
    ["From", expected.source],
  ]);
  const suspects = expected.suspects.slice(0, 3).map((each) => `${each.title}, ${sayChance(each.probability)}: ${each.values.map((value) => sayValue(value, mode)).join(" to ")}`);
  if (suspects.length > 0) rows.push(["Would differ under", suspects.join("; ")]);
  const list = made("dl", {}, ...rows.flatMap(([term, said]) => [made("dt", {}, term), made("dd", {}, said)]));
  return [made("p", {}, name, ` ${pin.net}, ${expected.role}  `, ...read, word), list];
}

/**
 * @param {Expected} expected
 * @param {string} mode
 */
function bounds(expected, mode) {
  return typeof expected.healthy !== "number" ? "" : `; ${sayValue(expected.low, mode)} to ${sayValue(expected.high, mode)} counts as expected`;
}

/**
 * @param {Connector} connector
 * @returns {HTMLTableElement} the same as the picture
 */
export function table(connector) {
  const { mode } = connector;
  const heads = ["Pin", "Net", "Read", "Verdict", `A good board [${unitOf(mode)}]`, "This board now, 95 %", "From"];
  const body = connector.pins.map((pin) => {
    const it = pin.expectation;
    const cells = it
      ? [sayRead(it.expected, mode), it.expected.verdict || "–", sayExpected(it.expected, mode), sayNow(it.spread, mode), it.expected.source]
      : ["–", "–", "nothing predicted", "–", "–"];
    return made("tr", {}, made("th", { scope: "row", class: "figure" }, pin.pin), made("td", {}, pin.net), ...cells.map((cell) => made("td", {}, cell)));
  });
  return made("table", {},
    made("caption", {}, `Pins of ${connector.reference}, ${mode} mode`),
    made("thead", {}, made("tr", {}, ...heads.map((head) => made("th", { scope: "col" }, head)))),
    made("tbody", {}, ...body));
}
