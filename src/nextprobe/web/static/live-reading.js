/**
 * `<live-reading>`: what is under the probe now, to be read from two metres.
 *
 * Property `reading`: `{point, value, mode, verdict, word, deviation, low, high, source}` or null.
 * `value` is a number, `"over-range"`, or null while nothing is touched; `verdict` is one of those
 * in `verdicts.js`, `word` what is said of it; `deviation` is the uncertainty of the value; `low`
 * and `high` bound what counts as expected.
 *
 * A screen reader hears the value when it has stood still, not every digit of it.
 */

import { sayUncertain, sayValue, shown, unitOf } from "./quantities.js";
import { made, shadowOf } from "./shadow.js";
import { drawn, SHAPE_STYLE, VERDICTS, verdictShape } from "./verdicts.js";

/**
 * @typedef {object} LiveReading
 * @property {string} point
 * @property {import("./quantities.js").Value | null} value
 * @property {string} mode
 * @property {import("./verdicts.js").Verdict} [verdict]
 * @property {string} [word]
 * @property {number | null} [deviation]
 * @property {number | null} [low]
 * @property {number | null} [high]
 * @property {string} [source]
 */

const STILL = 900;
const WIDE = 600;
const SPAN = 1.5;

const STYLE = `${SHAPE_STYLE}
  :host { display: block; color: var(--ink); font-family: var(--font); }
  .whole { container-type: inline-size; padding: 0.75rem 1rem 0.5rem calc(1rem + 14px); background: var(--sheet); border: 1px solid var(--rule); box-shadow: inset 14px 0 var(--of-verdict, var(--rule-strong)); }
  .point { display: flex; flex-wrap: wrap; justify-content: space-between; gap: 0 1rem; margin: 0; font-size: var(--text-large); font-weight: 600; }
  .point span:last-child { font-weight: 400; color: var(--ink-quiet); font-size: var(--text); }
  .value { display: flex; align-items: baseline; flex-wrap: wrap; gap: 0 0.15em; margin: 0; font: 600 clamp(4.5rem, 22cqi, 10rem)/1.02 var(--font-figures); font-variant-numeric: tabular-nums lining-nums; letter-spacing: -0.02em; white-space: nowrap; }
  .value small { font-size: 0.5em; font-weight: 500; letter-spacing: 0; }
  .value .plus { font-size: var(--text-large); font-weight: 500; letter-spacing: 0; color: var(--ink-quiet); margin-left: 0.5rem; }
  .verdict { display: flex; align-items: center; gap: 0.35em; margin: 0.1em 0 0; font-size: clamp(2rem, 8cqi, 3.75rem); line-height: 1.1; font-weight: 700; color: var(--of-verdict); }
  .verdict svg { flex: none; width: 1.1em; height: 1.1em; overflow: visible; }
  .scale { width: 100%; height: auto; margin-top: 0.5rem; overflow: visible; }
  .scale line { stroke: var(--ink-quiet); }
  .scale .base { stroke: var(--ink); stroke-width: 2; }
  .scale .expected { fill: var(--agrees-wash); stroke: var(--agrees); stroke-width: 1.5; }
  .scale .needle { fill: var(--of-verdict); stroke: var(--sheet); stroke-width: 1.5; }
  .source { margin: 0.25rem 0 0; font-size: var(--text-small); color: var(--ink-quiet); }
`;

export class LiveReadingElement extends HTMLElement {
  /** @type {LiveReading | null} */
  #reading = null;
  #timer = 0;
  #whole = made("div", { class: "whole" });
  #heard = made("p", { class: "away", role: "status" });

  constructor() {
    super();
    shadowOf(this, STYLE).append(this.#whole, this.#heard);
    this.#show();
  }

  disconnectedCallback() {
    clearTimeout(this.#timer);
  }

  get reading() {
    return this.#reading;
  }

  /** @param {LiveReading | null} reading */
  set reading(reading) {
    this.#reading = reading;
    this.#show();
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#say(), STILL);
  }

  /** What is said of it, in one line. */
  get words() {
    const reading = this.#reading;
    if (!reading) return "No reading";
    if (reading.value === null) return `${reading.point}: nothing touched yet`;
    const word = reading.word || VERDICTS[reading.verdict ?? "unread"].word;
    return `${reading.point}: ${sayValue(reading.value, reading.mode)}, ${reading.verdict ? word : reading.mode}`;
  }

  #say() {
    if (this.#heard.textContent !== this.words) this.#heard.textContent = this.words;
  }

  #show() {
    const reading = this.#reading;
    const verdict = reading?.value === null ? "unread" : (reading?.verdict ?? "unread");
    this.#whole.dataset.verdict = verdict;
    this.#whole.replaceChildren(
      made("p", { class: "point" }, made("span", {}, reading?.point ?? "No pin"), made("span", {}, reading ? `${reading.mode} mode` : "")),
      value(reading),
      this.#verdict(reading, verdict),
      ...scale(reading),
      ...expected(reading),
    );
  }

  /**
   * @param {LiveReading | null} reading
   * @param {import("./verdicts.js").Verdict} verdict
   */
  #verdict(reading, verdict) {
    const picture = drawn("svg", { viewBox: "-1.1 -1.1 2.2 2.2", "aria-hidden": "true" });
    picture.append(verdictShape(verdict, 1));
    const said = reading?.value === null || !reading ? "touch the pin" : reading.word || VERDICTS[verdict].word;
    const unweighed = reading?.value != null && !reading.verdict ? "not compared" : said;
    return made("p", { class: "verdict" }, picture, unweighed);
  }
}

/** @param {LiveReading | null} reading */
function value(reading) {
  if (!reading || reading.value === null) return made("p", { class: "value" }, "– – –", made("small", {}, reading ? unitOf(reading.mode) : ""));
  if (reading.value === "over-range") return made("p", { class: "value" }, "OL");
  const { number, unit } = shown(reading.value, reading.mode);
  const whole = made("p", { class: "value" }, number, made("small", {}, unit));
  if (reading.deviation != null) {
    const said = sayUncertain(reading.value, reading.deviation, reading.mode);
    whole.append(made("span", { class: "plus" }, said.slice(said.indexOf("±"))));
  }
  return whole;
}

/**
 * A graduated line with a bracket where readings count as expected, and a needle.
 *
 * @param {LiveReading | null} reading
 * @returns {Element[]}
 */
function scale(reading) {
  if (!reading || reading.low == null || reading.high == null || reading.high <= reading.low) return [];
  const span = reading.high - reading.low;
  const from = Math.max(0, reading.low - SPAN * span);
  const to = reading.high + SPAN * span;
  /** @param {number} at */
  const x = (at) => (WIDE * (Math.min(to, Math.max(from, at)) - from)) / (to - from);
  const picture = drawn("svg", { class: "scale", viewBox: `-8 0 ${WIDE + 16} 46`, "aria-hidden": "true" });
  const left = x(reading.low);
  picture.append(drawn("rect", { class: "expected", x: left, y: 18, width: x(reading.high) - left, height: 16 }));
  for (let i = 0; i <= 40; i += 1) {
    const at = (WIDE * i) / 40;
    picture.append(drawn("line", { x1: at, x2: at, y1: 34, y2: i % 5 === 0 ? 45 : 40 }));
  }
  picture.append(drawn("line", { class: "base", x1: 0, x2: WIDE, y1: 34, y2: 34 }));
  if (reading.value !== null) {
    const at = reading.value === "over-range" ? WIDE : x(reading.value);
    const off = reading.value === "over-range" || reading.value > to ? "M-14 4L6 17L-14 30Z" : reading.value < from ? "M14 4L-6 17L14 30Z" : "M-9 2H9L0 34Z";
    picture.append(drawn("path", { class: "needle", d: off, transform: `translate(${at} 0)` }));
  }
  return [picture];
}

/** @param {LiveReading | null} reading */
function expected(reading) {
  if (!reading || reading.low == null || reading.high == null) return [];
  const range = reading.low === reading.high
    ? "over-range counts as expected"
    : `${sayValue(reading.low, reading.mode)} to ${sayValue(reading.high, reading.mode)} counts as expected`;
  return [made("p", { class: "source" }, reading.source ? `${range}; ${reading.source}` : range)];
}

customElements.define("live-reading", LiveReadingElement);
