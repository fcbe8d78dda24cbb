// What every page shares: making elements, saying numbers, the theme, trouble.

import { unbroken } from "./quantities.js";

/**
 * @typedef {Node | string | number | null | undefined | false} Child
 * @typedef {Record<string, any>} Props
 */

/**
 * Make an element. Properties that begin with "on" are listeners; "class", "data-…", "aria-…" and
 * the like are attributes.
 * @param {string} tag
 * @param {Props} [props]
 * @param {...(Child | Child[])} children
 * @returns {HTMLElement}
 */
export function h(tag, props = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (name === "value") /** @type {HTMLInputElement} */ (made).value = value;
    else made.setAttribute(name, value === true ? "" : String(value));
  }
  made.append(...kept(children));
  return made;
}

/** @param {(Child | Child[])[]} children @returns {(Node | string)[]} */
function kept(children) {
  return children.flat().filter((child) => child !== null && child !== undefined && child !== false)
    .map((child) => (child instanceof Node ? child : unbroken(String(child))));
}

/** @param {Element} place @param {...(Child | Child[])} children */
export function fill(place, ...children) {
  place.replaceChildren(...kept(children));
}

/** @param {string} id @returns {HTMLElement} */
export function at(id) {
  return /** @type {HTMLElement} */ (document.getElementById(id));
}

/**
 * Set a custom property, which a strict policy allows where a style attribute is refused.
 * @param {HTMLElement} element @param {string} name @param {number | string} value
 */
export function setting(element, name, value) {
  element.style.setProperty(name, String(value));
  return element;
}

/** Do something once the page has nothing better to do. @param {() => void} act */
export function whenIdle(act) {
  if ("requestIdleCallback" in window) requestIdleCallback(act, { timeout: 1500 });
  else setTimeout(act, 200);
}

/** Say a chance without ever saying never or surely. @param {number} chance */
export function percent(chance) {
  if (chance < 0.001) return "<\u00a00.1\u00a0%";
  if (chance > 0.999) return ">\u00a099.9\u00a0%";
  const shown = chance * 100;
  return `${shown < 1 || shown > 99 ? shown.toFixed(1) : Math.round(shown)}\u00a0%`;
}

/** @param {number} amount @param {string} currency */
export function money(amount, currency) {
  const cents = Math.round(amount * 100) / 100 || 0; // never a minus before nothing
  return `${cents < 100 ? cents.toFixed(2) : Math.round(cents)}\u00a0${currency}`;
}

/** @param {number} attended @param {number} [elapsed] */
export function minutes(attended, elapsed = attended) {
  const hands = attended < 1 ? `${Math.round(attended * 60)} s` : `${trimmed(attended)} min`;
  return elapsed - attended > 0.5 ? `${hands}, done after ${trimmed(elapsed)} min` : hands;
}

/** @param {number} value */
function trimmed(value) {
  return value < 10 ? String(Math.round(value * 2) / 2) : String(Math.round(value));
}

/** @param {number} seconds since the epoch */
export function clock(seconds) {
  const then = new Date(seconds * 1000);
  const time = then.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  if (then.toDateString() === new Date().toDateString()) return time;
  return `${then.toLocaleDateString([], { day: "numeric", month: "short" })}, ${time}`;
}

/** Show trouble at the top of the page. @param {any} error */
export function trouble(error) {
  const place = document.getElementById("trouble");
  if (!place) return;
  const says = error?.says ?? error?.message ?? String(error);
  const more = (error?.findings ?? []).map((/** @type {any} */ found) =>
    h("li", {}, found.what, found.remedy ? ` (${found.remedy})` : ""));
  fill(place, h("div", { class: "trouble" },
    h("p", {}, h("strong", {}, "Not done. "), says, error?.where ? ` (${error.where})` : ""),
    error?.remedy && h("p", {}, `Try: ${error.remedy}`),
    more.length > 0 && h("ul", {}, more),
    h("button", { type: "button", class: "key", onclick: () => fill(place) }, "Understood")));
  place.scrollIntoView({ block: "nearest" });
}

/** What was found in data, where it is worth saying. @param {any[]} findings */
export function findingList(findings) {
  if (!findings?.length) return null;
  return h("ul", { class: "findings" }, findings.map((found) => h("li", {},
    h("strong", {}, `${found.severity}: `), found.what,
    found.where?.line ? ` (line ${found.where.line})` : "",
    found.remedy ? ` — ${found.remedy}` : "")));
}

const THEMES = /** @type {const} */ (["", "light", "dark"]);
const THEME_WORDS = { "": "as system", light: "bright", dark: "dark" };

function themeKey() {
  const key = document.getElementById("theme-key");
  if (!key) return;
  const now = () => /** @type {"" | "light" | "dark"} */ (document.documentElement.dataset.theme ?? "");
  const show = () => fill(key, h("span", {}, `Theme: ${THEME_WORDS[now()]}`), " ◐");
  key.addEventListener("click", () => {
    const next = THEMES[(THEMES.indexOf(now()) + 1) % THEMES.length];
    if (next) document.documentElement.dataset.theme = next;
    else delete document.documentElement.dataset.theme;
    try { localStorage.setItem("nextprobe-theme", next); } catch { /* only for this page then */ }
    show();
    document.dispatchEvent(new CustomEvent("theme"));
  });
  show();
}

themeKey();
