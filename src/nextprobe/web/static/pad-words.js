/** What a pad is, in words. */

import { levelOf, sayChance, WORDS } from "./suspicion.js";

/** @typedef {import("./board-types.js").Board} Board */

/**
 * @param {Board} board
 * @param {number} pad
 * @param {ArrayLike<number> | null} suspicion
 * @returns {string} one line
 */
export function sayPad(board, pad, suspicion) {
  const { pads } = board;
  const part = board.parts[pads.part[pad]];
  const net = board.nets[pads.net[pad]];
  const side = pads.side[pad] === null ? "" : `, ${saySide(pads.side[pad])}`;
  const fitted = part.fitted ? "" : ", not fitted";
  const what = [part.kind, part.shown].filter(Boolean).join(" ");
  const words = `${pads.pin[pad]}: net ${net.name}, ${net.role}; ${what}${fitted}${side}`;
  return suspicion ? `${words}; ${saySuspicion(suspicion[pad])}` : words;
}

/** @param {number} chance */
export function saySuspicion(chance) {
  return `${WORDS[levelOf(chance)]} suspicion, ${sayChance(chance)}`;
}

/** @param {import("./board-types.js").Side | null} side */
export function saySide(side) {
  return side === null ? "place not known" : side === "both" ? "both sides" : side;
}
