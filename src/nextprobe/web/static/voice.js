/** Speech where the browser has a voice of its own; off until turned on. */

import { Kept, toggleKey } from "./kept.js";

export const voice = new Kept("voice");

/** Whether the browser can speak at all; voices may come some time after the page. */
export function hasVoice() {
  return "speechSynthesis" in window && speechSynthesis.getVoices().length > 0;
}

/**
 * Say a text, in place of what is being said.
 *
 * @param {string} text
 * @param {boolean} [after] whether it waits until that has been said
 * @returns {boolean} whether it can be heard: if not, fall back to tones and large letters
 */
export function say(text, after = false) {
  if (!voice.on || !hasVoice()) return false;
  if (!after) speechSynthesis.cancel();
  const words = new SpeechSynthesisUtterance(spoken(text));
  words.lang = "en";
  const local = speechSynthesis.getVoices().find((each) => each.localService && each.lang.startsWith("en"));
  if (local) words.voice = local;
  speechSynthesis.speak(words);
  return true;
}

/**
 * @param {string} text
 * @returns {string} units and pins as one would say them
 */
export function spoken(text) {
  return text
    .replaceAll("\u00a0", " ")
    .replace(/\b([A-Z]+)(\d+)\.(\w+)/g, "$1 $2 pin $3")
    .replace(/\bOL\b/g, "over-range")
    .replaceAll("±", "plus or minus")
    .replace(/(\d) ([kMmµ]?)V\b/g, (_, digit, prefix) => `${digit} ${VOLTS[prefix]}`)
    .replace(/(\d) ([kMmµ]?)Ω/g, (_, digit, prefix) => `${digit} ${OHMS[prefix]}`);
}

/** @type {Readonly<Record<string, string>>} */
const VOLTS = Object.freeze({ "": "volts", k: "kilovolts", M: "megavolts", m: "millivolts", µ: "microvolts" });

/** @type {Readonly<Record<string, string>>} */
const OHMS = Object.freeze({ "": "ohms", k: "kilohms", M: "megohms", m: "milliohms", µ: "microhms" });

/**
 * @returns {HTMLButtonElement} a key that can not be used while there is no voice, and says so
 */
export function voiceKey() {
  const button = toggleKey(voice, "Voice", () => say("Voice is on"));
  const show = () => {
    button.disabled = !hasVoice();
    button.title = button.disabled ? "This browser has no voice" : "";
  };
  if ("speechSynthesis" in window) speechSynthesis.addEventListener("voiceschanged", show);
  show();
  return button;
}
