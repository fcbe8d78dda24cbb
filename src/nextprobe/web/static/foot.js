// Keys and foot switch, the state of the connection, and the lamp that keeps the screen awake.

import { fill, h } from "./app.js";

/**
 * @typedef {{confirm: () => void, repeat: () => void, back: () => void, skip: () => void,
 *   mark: (place: number) => void, step: (by: number) => void, type: () => void}} Acts
 */

const NAMES = /** @type {const} */ (["confirm", "repeat", "back", "skip"]);
const USUAL = { confirm: ["Enter", " "], repeat: ["r"], back: ["b"], skip: ["s"] };
const STORE = "nextprobe-keys";
/** Elements of the page with keys of their own. */
const OWN_KEYS = "board-map, pad-list, connector-picture";
const INTO_FIELD = /^[0-9.,\-oO]$/;

export class Foot {
  /** @param {HTMLElement} place @param {Acts} acts */
  constructor(place, acts) {
    this.acts = acts;
    this.keys = { ...USUAL, ...this.#kept() };
    this.state = h("p", { class: "connection", role: "status" }, "Connecting …");
    this.legend = h("div", { class: "legend" });
    this.setter = h("details", { class: "legend-set" });
    /** What a narrow page shows on demand. */
    this.fold = h("div", { class: "foot-fold", id: "foot-fold" }, this.setter);
    this.more = h("button", {
      type: "button", class: "legend-key foot-more", "aria-expanded": "false", "aria-controls": "foot-fold", onclick: () => this.#open(),
    }, "more");
    fill(place, this.legend, this.more, this.fold, this.state);
    this.count = 0;
    this.photos = 0;
    this.isConnected = false;
    /** @type {(typeof NAMES)[number] | null} */
    this.setting = null;
    document.addEventListener("keydown", (event) => this.#key(event));
    document.addEventListener("visibilitychange", () => this.#stayAwake());
    document.addEventListener("photos-waiting", (event) => { this.photos = /** @type {CustomEvent} */ (event).detail; this.#state(); });
    this.#legend();
    void this.#stayAwake();
  }

  #kept() {
    try { return JSON.parse(localStorage.getItem(STORE) ?? "{}"); } catch { return {}; }
  }

  #open() {
    const open = this.more.getAttribute("aria-expanded") !== "true";
    this.more.setAttribute("aria-expanded", String(open));
    this.more.textContent = open ? "less" : "more";
  }

  #legend() {
    fill(this.legend, NAMES.map((name) => h("button", {
      type: "button", class: "legend-key", onclick: () => this.acts[name](),
    }, h("kbd", {}, this.keys[name].map(shown).join(" / ")), ` ${name}`)));
    fill(this.setter, h("summary", {}, "Set keys"), h("div", { class: "legend-choices" },
      NAMES.map((name) => h("button", {
        type: "button", class: "key", onclick: (/** @type {Event} */ event) => this.#wait(name, /** @type {HTMLElement} */ (event.currentTarget)),
      }, `${name}: ${this.keys[name].map(shown).join(" / ")}`)),
      h("button", { type: "button", class: "key", onclick: () => this.#set(USUAL) }, "As usual"),
      h("p", { class: "source" }, "Choose one, then press the key or the foot switch.")));
  }

  /** @param {(typeof NAMES)[number]} name @param {HTMLElement} key */
  #wait(name, key) {
    this.setting = name;
    key.textContent = `${name}: press it now`;
  }

  /** @param {any} keys */
  #set(keys) {
    this.keys = { ...keys };
    try { localStorage.setItem(STORE, JSON.stringify(this.keys)); } catch { /* for this page only */ }
    this.#legend();
  }

  /** @param {KeyboardEvent} event */
  #key(event) {
    if (this.setting) {
      event.preventDefault();
      if (event.repeat) return;
      const name = this.setting;
      this.setting = null;
      if (event.key !== "Escape") this.#set({ ...this.keys, [name]: [event.key.length === 1 ? event.key.toLowerCase() : event.key] });
      else this.#legend();
      return;
    }
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const target = /** @type {HTMLElement} */ (event.composedPath()[0] ?? event.target);
    if (event.target instanceof Element && event.target.closest(OWN_KEYS)) return;
    const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
    const name = NAMES.find((each) => this.keys[each].includes(key));
    if (this.#belongs(target, key, name)) return;
    if (event.repeat) { if (name) event.preventDefault(); return; }
    if (name) { event.preventDefault(); this.acts[name](); return; }
    this.#other(event, target, key);
  }

  /** Whether a key means what it means in a control that has the focus. @param {HTMLElement} target @param {string} key @param {string | undefined} name */
  #belongs(target, key, name) {
    if (target.id === "reading") {
      const empty = !(/** @type {HTMLInputElement} */ (target).value);
      return name === "confirm" ? key === " " && !empty : !(name && (empty || key.length > 1));
    }
    if (target.closest("input, textarea, select")) return true;
    const control = target.closest("button, a, summary");
    return Boolean(control) && (key === "Enter" || key === " " || key.startsWith("Arrow"));
  }

  /** @param {KeyboardEvent} event @param {HTMLElement} target @param {string} key */
  #other(event, target, key) {
    const field = document.getElementById("reading");
    if (field && target.id !== "reading" && INTO_FIELD.test(event.key)) this.acts.type();
    else if (!field && /^[1-9]$/.test(key)) { event.preventDefault(); this.acts.mark(Number(key) - 1); }
    else if (!field && key === "ArrowRight") { event.preventDefault(); this.acts.step(1); }
    else if (!field && key === "ArrowLeft") { event.preventDefault(); this.acts.step(-1); }
  }

  /** @param {boolean} yes */
  connected(yes) {
    this.isConnected = yes;
    this.#state();
  }

  /** @param {number} count */
  waiting(count) {
    this.count = count;
    this.#state();
  }

  #state() {
    const kept = onTheWay(this.count, this.photos);
    const words = this.isConnected
      ? kept ? `● ${kept} being recorded` : "● Connected, all recorded"
      : `○ Not connected. What you enter is kept and sent${kept && ` (${kept} waiting)`}`;
    this.state.dataset.state = this.isConnected ? "on" : "off";
    if (this.state.textContent !== words) this.state.textContent = words;
  }

  async #stayAwake() {
    if (document.hidden || !("wakeLock" in navigator)) return;
    try { this.lock = await navigator.wakeLock.request("screen"); } catch { /* not allowed, or low battery */ }
  }
}

/** What is on its way, with its verb; empty if there is nothing. @param {number} entries @param {number} photos */
function onTheWay(entries, photos) {
  const each = [entries && (entries === 1 ? "1 entry" : `${entries} entries`), photos && (photos === 1 ? "1 photo" : `${photos} photos`)].filter(Boolean);
  return each.length ? `${each.join(" and ")} ${entries + photos === 1 ? "is" : "are"}` : "";
}

/** @param {string} key */
function shown(key) {
  return key === " " ? "Space" : key.length === 1 ? key.toUpperCase() : key;
}
