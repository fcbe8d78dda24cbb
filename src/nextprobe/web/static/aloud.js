// What was just read, large, as a tone and in words: for eyes that stay at the microscope.

import { at, h } from "./app.js";
import { ask } from "./api.js";
import { sayUncertain, sayValue } from "./quantities.js";
import { playTone, tonesKey } from "./tones.js";
import { verdictOf } from "./verdicts.js";
import { say, voiceKey } from "./voice.js";

const HEADER = 16;
const READING = 2;
const SAID = /(\S+) reads .+ \(([^()]+)\)$/;
const PLAIN = /^\d+[.,]\d+$/;

/** @typedef {import("./quantities.js").Value} Value */

/** @param {import("./bench.js").Bench} bench */
export function showAloud(bench) {
  return new Aloud(bench);
}

class Aloud {
  /** @param {import("./bench.js").Bench} bench */
  constructor(bench) {
    this.bench = bench;
    this.seen = bench.stepsVersion;
    this.turn = 0;
    /** @type {Promise<string[]> | undefined} */
    this.modes = undefined;
    /** @type {any} */
    this.element = null;
    bench.foot.state.before(h("div", { class: "foot-sound", role: "group", "aria-label": "Readings aloud" }, tonesKey(), voiceKey()));
    document.addEventListener("known", () => void this.#recorded());
    document.addEventListener("frame", (event) => void this.#frame(/** @type {CustomEvent} */ (event).detail));
    document.addEventListener("pin-typed", (event) => void this.#typed(/** @type {CustomEvent} */ (event).detail));
  }

  /** Show what the newest entry read; of several, the first that is not as expected. */
  async #recorded() {
    const before = this.seen;
    this.seen = this.bench.stepsVersion;
    const line = this.bench.lines.at(-1);
    if (before < 0 || before === this.seen || !line) return;
    const found = line.said.map((/** @type {string} */ text) => SAID.exec(text)).filter(Boolean);
    if (!found.length || !this.bench.standing.has(line.event)) { this.#clear(); return; }
    this.turn += 1;
    const turn = this.turn;
    const known = (await Promise.all(found.map((/** @type {string[]} */ [, point, mode]) => this.#expected(point, mode)))).filter((each) => each?.read.length);
    const shown = known.find((each) => each.verdict !== "as expected") ?? known.at(-1);
    if (!shown || turn !== this.turn) return;
    const next = this.bench.ended ? "" : this.bench.advice?.steps[0]?.title ?? "";
    await this.#show(shown.point, shown.mode, shown.read.at(-1), shown, shown.verdict, next, false);
  }

  /** @param {{point: string, mode: string, typed: string, next: string}} pin */
  async #typed({ point, mode, typed, next }) {
    const over = typed.toUpperCase() === "OL";
    if (!over && !PLAIN.test(typed)) { playTone("step"); say(`${typed}. Next: ${next}`); return; }
    const value = over ? "over-range" : Number(typed.replace(",", "."));
    this.bench.live.tell({ point, mode, value: over ? null : value });
    await this.#compare(point, mode, value, next);
  }

  /** @param {ArrayBuffer} buffer */
  async #frame(buffer) {
    const view = new DataView(buffer);
    if (view.byteLength < 2 * HEADER || view.getUint8(3) !== READING) return;
    this.modes ??= ask("/about").then((about) => about.modes);
    const mode = (await this.modes)[view.getUint32(8, true)];
    const value = view.getUint32(12, true) ? "over-range" : view.getFloat64(HEADER, true);
    await this.#compare(new TextDecoder().decode(new Uint8Array(buffer, 2 * HEADER)), mode, value, "");
  }

  /** @param {string} point @param {string} mode @param {Value} value @param {string} next */
  async #compare(point, mode, value, next) {
    this.turn += 1;
    const turn = this.turn;
    const expected = await this.#expected(point, mode);
    if (turn === this.turn) await this.#show(point, mode, value, expected, expected ? compared(value, expected) : "", next, true);
  }

  /** @param {string} point @param {string} mode */
  async #expected(point, mode) {
    try {
      const words = new URLSearchParams({ point, mode });
      return (await ask(`${this.bench.path}/expected?${words}`)).expectation.expected;
    } catch { return null; }
  }

  /** @param {string} point @param {string} mode @param {Value} value @param {any} expected @param {string} word @param {string} next @param {boolean} pin of a run that is not recorded yet */
  async #show(point, mode, value, expected, word, next, pin) {
    const verdict = word ? verdictOf(word) : undefined;
    playTone(verdict ?? "step");
    say(`${point}: ${sayValue(value, mode)}, ${word || "not compared"}.${next ? ` Next: ${next}` : ""}`);
    await import("./live-reading.js");
    this.element ??= h("live-reading");
    this.element.reading = { point, mode, value, verdict, word, low: number(expected?.low), high: number(expected?.high), source: expected ? sourceOf(expected, mode) : "" };
    const place = (pin && document.querySelector(".run-now")) || at("now");
    if (this.element.parentNode !== place) place.append(this.element);
    this.element.scrollIntoView({ block: "nearest" });
  }

  #clear() {
    this.turn += 1;
    this.element?.remove();
  }
}

/** @param {any} value */
function number(value) {
  return typeof value === "number" ? value : null;
}

/** @param {any} expected @param {string} mode */
function sourceOf(expected, mode) {
  const healthy = number(expected.healthy);
  return healthy === null ? expected.source : `healthy ${sayUncertain(healthy, expected.deviation, mode)}, ${expected.source}`;
}

/** What a reading that is not recorded is called. @param {Value} value @param {any} expected */
function compared(value, expected) {
  if (value === "over-range") return number(expected.healthy) === null ? "as expected" : "over-range";
  if (number(expected.healthy) === null || number(expected.low) === null) return "differs";
  return value < expected.low ? "low" : value > expected.high ? "high" : "as expected";
}
