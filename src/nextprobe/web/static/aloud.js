// What was just read, large, as a tone and in words: for eyes that stay at the microscope.

import { at, h } from "./app.js";
import { ask } from "./api.js";
import { ROOMY } from "./measuring.js";
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
    this.turn = 0;
    /** What the last tone was about, so that a meter that goes on reading is heard once. */
    this.heard = "";
    this.speaking = false;
    /** @type {Promise<string[]> | undefined} */
    this.modes = undefined;
    /** @type {Map<string, Promise<any>>} */
    this.expectations = new Map();
    /** @type {any} */
    this.element = null;
    bench.foot.fold.append(h("div", { class: "foot-sound", role: "group", "aria-label": "Readings aloud" }, tonesKey(), voiceKey()));
    document.addEventListener("entries", (event) => void this.#recorded(/** @type {CustomEvent} */ (event).detail));
    document.addEventListener("known", () => this.#next());
    document.addEventListener("read-out", (event) => void say(/** @type {CustomEvent} */ (event).detail));
    document.addEventListener("frame", (event) => void this.#frame(/** @type {CustomEvent} */ (event).detail));
    document.addEventListener("pin-typed", (event) => void this.#typed(/** @type {CustomEvent} */ (event).detail));
  }

  /** Show what the newest entry read; of several, the first that is not as expected. @param {{lines: any[], news: boolean}} entries */
  async #recorded({ lines, news }) {
    this.expectations.clear();
    const line = lines.at(-1);
    if (!news || !line) return;
    const found = line.said.map((/** @type {string} */ text) => SAID.exec(text)).filter(Boolean);
    if (!found.length || !this.bench.standing.has(line.event)) return this.#clear();
    const turn = this.#begin();
    const known = (await Promise.all(found.map((/** @type {string[]} */ [, point, mode]) => this.#expected(point, mode)))).filter((each) => each?.read.length);
    const shown = known.find((each) => each.verdict !== "as expected") ?? known.at(-1);
    if (!shown || turn !== this.turn) return;
    this.speaking = true;
    this.heard = "";
    await this.#show(shown.point, shown.mode, shown.read.at(-1), shown, shown.verdict, false);
  }

  /** Say what comes next, once it is known. */
  #next() {
    if (this.speaking && !this.bench.ended) say(`Next: ${this.bench.advice.steps[0]?.title ?? ""}`, true);
    this.speaking = false;
  }

  /** A pin of a run, which is recorded later. @param {{point: string, mode: string, typed: string, next: string}} pin */
  async #typed({ point, mode, typed, next }) {
    const over = typed.toUpperCase() === "OL";
    this.heard = "";
    if (over || mode !== "capacitance" && PLAIN.test(typed)) {
      const value = over ? "over-range" : Number(typed.replace(",", "."));
      this.bench.live.tell({ point, mode, value: over ? null : value });
      await this.#compare(point, mode, value);
      say(`Next: ${next}`, true);
    } else {
      playTone("step");
      say(`${typed}. Next: ${next}`);
    }
  }

  /** What is under a probe now, wherever it is read: in another window, or by a meter. @param {ArrayBuffer} buffer */
  async #frame(buffer) {
    const view = new DataView(buffer);
    if (view.byteLength < 2 * HEADER || view.getUint8(3) !== READING) return;
    this.modes ??= ask("/about").then((about) => about.modes);
    const mode = (await this.modes)[view.getUint32(8, true)];
    const value = view.getUint32(12, true) ? "over-range" : view.getFloat64(HEADER, true);
    await this.#compare(new TextDecoder().decode(new Uint8Array(buffer, 2 * HEADER)), mode, value);
  }

  #begin() {
    this.turn += 1;
    return this.turn;
  }

  /** @param {string} point @param {string} mode @param {Value} value that is not recorded */
  async #compare(point, mode, value) {
    const turn = this.#begin();
    const expected = await this.#expected(point, mode);
    if (turn === this.turn) await this.#show(point, mode, value, expected, expected ? compared(value, expected) : "", true);
  }

  /** What is expected there by all that is recorded, asked for once. @param {string} point @param {string} mode */
  #expected(point, mode) {
    const words = String(new URLSearchParams({ point, mode }));
    const asked = this.expectations.get(words)
      ?? ask(`${this.bench.path}/expected?${words}`).then(({ expectation }) => expectation.expected, () => null);
    this.expectations.set(words, asked);
    return asked;
  }

  /** @param {string} point @param {string} mode @param {Value} value @param {any} expected @param {string} word @param {boolean} pin of a run that is not recorded yet */
  async #show(point, mode, value, expected, word, pin) {
    const verdict = word ? verdictOf(word) : undefined;
    if (this.heard !== `${point} ${word}`) {
      this.heard = `${point} ${word}`;
      playTone(verdict ?? "step");
      say(`${point}: ${sayValue(value, mode)}, ${word || "not compared"}.`);
    }
    await import("./live-reading.js");
    this.element ??= h("live-reading");
    this.element.reading = { point, mode, value, verdict, word, low: number(expected?.low), high: number(expected?.high), source: expected ? sourceOf(expected, mode) : "" };
    const run = pin && document.querySelector(".run-now");
    const place = run || at("now");
    if (this.element.parentNode === place) return;
    place.append(this.element);
    // In a run the next point and its field stay in sight above what was read.
    if (run && !ROOMY.matches) run.parentElement?.querySelector(".measure")?.scrollIntoView();
    else this.element.scrollIntoView({ block: "nearest" });
  }

  #clear() {
    this.#begin();
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
