// A run: pin after pin, each reading typed at once; what is typed is kept until it is recorded.

import { fill, h } from "./app.js";
import { expectedAt, placing, typedAs } from "./measuring.js";

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
    this.now = h("span", { class: "run-point" });
    this.placing = h("p", { class: "placing" });
    this.expected = h("p", { class: "expected" });
    this.list = h("ol", { class: "run-list" });
    this.element = h("form", {
      class: "run",
      onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); this.confirm(); },
    },
    h("div", { class: "measure" }, h("label", { for: "reading" }, this.now), this.field),
    h("div", { class: "run-now" }),
    this.placing,
    this.expected,
    h("div", { class: "keys" },
      h("button", { class: "key main" }, "Next pin"),
      h("button", { type: "button", class: "key", onclick: () => this.#add("OL") }, "OL: over-range"),
      h("button", { type: "button", class: "key", onclick: () => this.record() }, "Stop here and record")),
    h("p", { id: "reading-help", class: "source" },
      `${typedAs(this.mode)} Press Enter: the next point follows. Touch a surprise twice more (R); stop there if it stays.`),
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
    const probe = this.step.acts[this.place] ?? { point, mode: this.mode };
    /** Where the probe is to go now. */
    this.probe = probe;
    document.dispatchEvent(new CustomEvent("point-shown"));
    fill(this.now, point ? [point, h("small", {}, `, ${this.place + 1} of ${this.points.length}`)] : "All pins are read: confirm to record");
    fill(this.placing, point && placing(probe));
    this.field.disabled = !point;
    fill(this.list, this.touches.map(([at, value]) => h("li", {}, `${at} `, h("span", { class: "figure" }, value))));
    fill(this.expected);
    if (point) void this.#expect(point, probe.mode);
  }

  /** @param {string} point @param {string} mode */
  async #expect(point, mode) {
    const words = await expectedAt(this.bench.job, { point, mode });
    if (this.points[this.place] === point) fill(this.expected, words);
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
