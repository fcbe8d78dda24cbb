/**
 * Tones that carry a verdict, so that eyes may stay at the microscope. Off until turned on.
 *
 * Each verdict has a rhythm of its own and not only a pitch: as expected, two notes that rise;
 * differs, two long ones that fall; unsure, one that wavers; over-range, three short ones.
 */

import { Kept, toggleKey } from "./kept.js";

/** @typedef {import("./verdicts.js").Verdict} Verdict */
/** @typedef {{pitch: number, from: number, length: number, to?: number}} Note in hertz and seconds */

/** @type {Readonly<Record<Exclude<Verdict, "unread"> | "step", readonly Note[]>>} */
export const MELODIES = Object.freeze({
  agrees: [{ pitch: 660, from: 0, length: 0.09 }, { pitch: 990, from: 0.1, length: 0.13 }],
  differs: [{ pitch: 440, from: 0, length: 0.2 }, { pitch: 294, from: 0.22, length: 0.32 }],
  unsure: [{ pitch: 520, from: 0, length: 0.16, to: 600 }, { pitch: 600, from: 0.16, length: 0.16, to: 520 }],
  over: [0, 0.13, 0.26].map((from) => ({ pitch: 784, from, length: 0.07 })),
  step: [{ pitch: 392, from: 0, length: 0.06 }],
});

const LOUD = 0.16;
const EDGE = 0.012;

export const tones = new Kept("tones");

/** @type {AudioContext | null} */
let sound = null;

/**
 * @param {Verdict | "step"} verdict
 * @returns {boolean} whether it can be heard
 */
export function playTone(verdict) {
  if (!tones.on || verdict === "unread" || !("AudioContext" in window)) return false;
  sound ??= new AudioContext();
  if (sound.state === "suspended") void sound.resume();
  for (const note of MELODIES[verdict]) play(sound, note);
  return true;
}

/** @returns {HTMLButtonElement} */
export function tonesKey() {
  return toggleKey(tones, "Tones", () => playTone("agrees"));
}

/**
 * @param {AudioContext} context
 * @param {Note} note
 */
function play(context, { pitch, from, length, to }) {
  const start = context.currentTime + 0.01 + from;
  const source = new OscillatorNode(context, { type: "triangle", frequency: pitch });
  const volume = new GainNode(context, { gain: 0 });
  if (to !== undefined) source.frequency.linearRampToValueAtTime(to, start + length);
  volume.gain.setValueAtTime(0, start);
  volume.gain.linearRampToValueAtTime(LOUD, start + EDGE);
  volume.gain.setValueAtTime(LOUD, start + length - EDGE);
  volume.gain.linearRampToValueAtTime(0, start + length);
  source.connect(volume).connect(context.destination);
  source.start(start);
  source.stop(start + length + 0.02);
}
