/** A switch that a browser remembers, off until somebody turns it on. */

import { made } from "./shadow.js";

/** Whether something is on, kept under a name where the browser allows it. */
export class Kept extends EventTarget {
  /** @param {string} name */
  constructor(name) {
    super();
    this.name = `nextprobe.${name}`;
    this.value = read(this.name) === "on";
  }

  get on() {
    return this.value;
  }

  set on(value) {
    this.value = value;
    write(this.name, value ? "on" : "off");
    this.dispatchEvent(new Event("change"));
  }
}

/**
 * @param {Kept} kept
 * @param {string} text
 * @param {() => void} [turned] called when it has been turned on
 * @returns {HTMLButtonElement} a key that says whether it is on
 */
export function toggleKey(kept, text, turned) {
  const button = made("button", { type: "button", class: "key" }, text);
  const show = () => button.setAttribute("aria-pressed", String(kept.on));
  button.addEventListener("click", () => {
    kept.on = !kept.on;
    if (kept.on) turned?.();
  });
  kept.addEventListener("change", show);
  show();
  return button;
}

/** @param {string} name */
function read(name) {
  try {
    return localStorage.getItem(name);
  } catch {
    return null;
  }
}

/**
 * @param {string} name
 * @param {string} value
 */
function write(name, value) {
  try {
    localStorage.setItem(name, value);
  } catch {
    // A browser that keeps nothing forgets the switch with the page.
  }
}
