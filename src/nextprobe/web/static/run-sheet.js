// A run: pin after pin, each reading typed at once; what is typed is kept until it is recorded.

import { fill, h } from "./app.js";
import { ask } from "./api.js";
import { expectedWords } from "./step.js";

export class RunSheet {
  /** @param {import("./bench.js").Bench} bench @param {any} step */
  constructor(bench, step) {
    this.bench = bench;
    this.step = step;
    /** @type {string[]} */
    this.points = step.how;
    this.mode = step.acts[0]?.mode ?? "diode";
    this.store = `nextprobe-run:${bench.job}:${step.id}`;
    /** @type {[string, string][]} */
    this.touches = this.#kept();
    this.place = new Set(this.touches.map(([point]) => point)).size;
    this.field = /** @type {HTMLInputElement} */ (h("input", {
      id: "reading", autocomplete: "off", spellcheck: "false", class: "figure reading",
      "aria-describedby": "reading-help",
    }));
    this.now = h("p", { class: "run-point" });
    this.expected = h("p", { class: "expected" });
    this.list = h("ol", { class: "run-list" });
    this.element = h("form", {
      class: "run",
      onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); this.confirm(); },
    },
    h("div", { class: "field" }, h("label", { for: "reading" }, this.now), this.field),
    h("p", { id: "reading-help", class: "source" },
      "Type and press Enter: the next pin follows. Touch a surprise twice more (R); stop there if it stays."),
    this.expected,
    h("div", { class: "keys" },
      h("button", { class: "key main" }, "Next pin"),
      h("button", { type: "button", class: "key", onclick: () => this.#add("OL") }, "OL: over-range"),
      h("button", { type: "button", class: "key", onclick: () => this.record() }, "Stop here and record")),
    h("div", { class: "run-now" }),
    this.list);
    this.#show();
  }

  /** @returns {[string, string][]} */
  #kept() {
    try { return JSON.parse(sessionStorage.getItem(this.store) ?? "[]"); } catch { return []; }
  }

  #show() {
    try { sessionStorage.setItem(this.store, JSON.stringify(this.touches)); } catch { /* memory only */ }
    const point = this.points[this.place];
    fill(this.now, point ? `${point}, pin ${this.place + 1} of ${this.points.length}` : "All pins are read: confirm to record");
    this.field.disabled = !point;
    fill(this.list, this.touches.map(([at, value]) => h("li", {}, `${at} `, h("span", { class: "figure" }, value))));
    fill(this.expected);
    if (point) void this.#expect(point);
  }

  /** @param {string} point */
  async #expect(point) {
    try {
      const words = new URLSearchParams({ point, mode: this.mode });
      const { expectation } = await ask(`/jobs/${encodeURIComponent(this.bench.job)}/expected?${words}`);
      if (this.points[this.place] === point) fill(this.expected, expectedWords(expectation.expected));
    } catch { /* nothing is predicted there */ }
  }

  confirm() {
    const typed = this.field.value.trim();
    if (typed) this.#add(typed);
    else if (this.place >= this.points.length) void this.record();
    else this.bench.say("Type what the meter shows first");
  }

  /** @param {string} value */
  #add(value) {
    const point = this.points[this.place];
    if (!point) return;
    this.touches.push([point, value]);
    this.field.value = "";
    this.place += 1;
    this.#show();
    const next = this.points[this.place] ?? "all pins are read";
    document.dispatchEvent(new CustomEvent("pin-typed", { detail: { point, mode: this.mode, typed: value, next } }));
    this.bench.say(this.points[this.place] ?? "All pins are read: confirm to record");
    this.field.focus();
  }

  /** Touch the last pin once more. */
  repeat() {
    if (this.place > 0) this.place -= 1;
    this.#show();
    this.field.focus();
    this.bench.readOut(`${this.points[this.place]} again`);
  }

  back() {
    if (this.field.value) { this.field.value = ""; return true; }
    const last = this.touches.pop();
    if (!last) return false;
    this.place = Math.max(0, this.points.indexOf(last[0]));
    this.#show();
    return true;
  }

  async record() {
    if (!this.touches.length) return;
    if (await this.bench.record(this.step, this.touches)) sessionStorage.removeItem(this.store);
  }
}
