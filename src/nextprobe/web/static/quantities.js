/** Readings as people read them: value, unit, uncertainty. */

/** @typedef {number | "over-range"} Value in V, ohm or F */

/** @type {Readonly<Record<string, string>>} */
const UNITS = Object.freeze({
  diode: "V", "dc volts": "V", ohms: "Ω", "low ohms": "Ω", continuity: "Ω", capacitance: "F",
});
const PREFIXES = /** @type {const} */ ([[1e9, "G"], [1e6, "M"], [1e3, "k"], [1, ""], [1e-3, "m"], [1e-6, "µ"], [1e-9, "n"], [1e-12, "p"]]);

const BEFORE_UNIT = /(\d) (?=(?:%|[A-Z]{3}|min|s|h|mm|[pnµmkMG]?[VΩFA])(?!\w))/g;
const BEFORE_NUMBER = /(about|±|→|×|<|>) (?=[\d<>−])/g;

/** Keep a number on one line with its unit, wherever the words were made. @param {string} text */
export function unbroken(text) {
  return text.replace(BEFORE_UNIT, "$1\u00a0").replace(BEFORE_NUMBER, "$1\u00a0");
}

/** @param {string} mode of the meter */
export function unitOf(mode) {
  return UNITS[mode] ?? "";
}

/**
 * Number and unit apart, so that a page can show the number larger.
 *
 * @param {number} value
 * @param {string} mode of the meter
 * @returns {{number: string, unit: string}}
 */
export function shown(value, mode) {
  const unit = unitOf(mode);
  if (unit === "V") return { number: signed(value, 3), unit };
  const size = Math.abs(value);
  if (size === 0) return { number: "0", unit };
  const [factor, prefix] = PREFIXES.find(([each]) => size >= 0.9995 * each) ?? PREFIXES[PREFIXES.length - 1];
  const [lowest, few] = unit === "Ω" && size < 1 ? [1, ""] : [factor, prefix];
  const scaled = value / lowest;
  return { number: signed(scaled, lowest === 1 && size < 1 ? 3 : decimals(scaled)), unit: `${few}${unit}` };
}

/**
 * @param {Value} value
 * @param {string} mode
 */
export function sayValue(value, mode) {
  if (value === "over-range") return "OL";
  const { number, unit } = shown(value, mode);
  return `${number}\u00a0${unit}`;
}

/**
 * @param {number} value
 * @param {number} deviation standard deviation, in the same unit
 * @param {string} mode
 * @returns {string} as in "0.658 ± 0.019 V"
 */
export function sayUncertain(value, deviation, mode) {
  const { number, unit } = shown(value, mode);
  const factor = unit === unitOf(mode) ? 1 : (PREFIXES.find(([, prefix]) => unit.startsWith(prefix) && prefix)?.[0] ?? 1);
  const places = number.split(".")[1]?.length ?? 0;
  const spread = Math.abs(deviation / factor);
  const least = 10 ** -places;
  return `${number} ±\u00a0${spread < least / 2 ? `below ${least.toFixed(places)}` : spread.toFixed(places)}\u00a0${unit}`;
}

/**
 * @param {number} value
 * @param {number} places
 */
function signed(value, places) {
  const text = value.toFixed(places);
  return text.replace("-", Number(text) ? "−" : "");
}

/** @param {number} value */
function decimals(value) {
  const size = Math.abs(value);
  return size < 9.995 ? 2 : size < 99.95 ? 1 : 0;
}
