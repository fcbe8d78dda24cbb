/** Pointers, wheel and keys on the canvas of a map. */

import { keepFocus } from "./shadow.js";

/**
 * What hands can do to a map.
 *
 * @typedef {object} Handled
 * @property {(across: number, down: number) => void} pan
 * @property {(factor: number, across: number, down: number) => void} zoom
 * @property {(across: number, down: number) => void} touch at a place that was tapped
 * @property {(right: number, down: number) => void} walk
 * @property {() => void} choose
 * @property {() => void} find
 * @property {() => void} turn
 * @property {() => void} fit
 * @property {(factor: number) => void} magnify
 */

const STILL = 6;
const STEP = 1.4;

/**
 * @param {HTMLCanvasElement} canvas
 * @param {Handled} map
 */
export function listen(canvas, map) {
  listenToPointers(canvas, map);
  keepFocus(canvas);
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    map.zoom(Math.exp(-0.0016 * wheelPixels(event)), event.offsetX, event.offsetY);
  }, { passive: false });
  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Escape") canvas.blur();
    else if (pressed(event, map)) event.preventDefault();
  });
}

/** @param {WheelEvent} event */
function wheelPixels(event) {
  return event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 32 * event.deltaY : event.deltaY;
}

/** @type {Readonly<Record<string, [number, number]>>} */
const ARROWS = Object.freeze({
  ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1],
});

/**
 * @param {KeyboardEvent} event
 * @param {Handled} map
 * @returns {boolean} whether the key meant something here
 */
function pressed(event, map) {
  const arrow = ARROWS[event.key];
  if (arrow) {
    if (event.shiftKey) map.pan(-80 * arrow[0], -80 * arrow[1]);
    else map.walk(...arrow);
    return true;
  }
  const name = event.key.toLowerCase();
  if (name === "+" || name === "=") map.magnify(STEP);
  else if (name === "-") map.magnify(1 / STEP);
  else if (event.repeat) return false;
  else if (name === "enter" || name === " ") map.choose();
  else if (name === "f") map.find();
  else if (name === "s") map.turn();
  else if (name === "0") map.fit();
  else return false;
  return true;
}

/**
 * @param {HTMLCanvasElement} canvas
 * @param {Handled} map
 */
function listenToPointers(canvas, map) {
  /** @type {Map<number, {x: number, y: number}>} */
  const down = new Map();
  let moved = 0;
  canvas.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    canvas.setPointerCapture(event.pointerId);
    if (down.size === 0) moved = 0;
    down.set(event.pointerId, { x: event.offsetX, y: event.offsetY });
  });
  canvas.addEventListener("pointermove", (event) => {
    const last = down.get(event.pointerId);
    if (!last) return;
    const now = { x: event.offsetX, y: event.offsetY };
    moved += Math.hypot(now.x - last.x, now.y - last.y);
    const other = [...down].find(([id]) => id !== event.pointerId)?.[1];
    down.set(event.pointerId, now);
    if (other) pinch(map, last, now, other);
    else if (moved > STILL) map.pan(now.x - last.x, now.y - last.y);
  });
  /** @param {PointerEvent} event */
  const up = (event) => {
    const alone = down.size === 1;
    if (!down.delete(event.pointerId)) return;
    if (event.type === "pointerup" && alone && moved <= STILL) map.touch(event.offsetX, event.offsetY);
    if (!alone) moved = Infinity;
  };
  canvas.addEventListener("pointerup", up);
  canvas.addEventListener("pointercancel", up);
}

/**
 * @param {Handled} map
 * @param {{x: number, y: number}} last
 * @param {{x: number, y: number}} now
 * @param {{x: number, y: number}} other the finger that stays
 */
function pinch(map, last, now, other) {
  const before = Math.hypot(last.x - other.x, last.y - other.y);
  const after = Math.hypot(now.x - other.x, now.y - other.y);
  if (before > 8 && after > 8) map.zoom(after / before, other.x, other.y);
}
