/** Where pads stand on the map while nobody has said where they are on the board. */

/** @typedef {import("./board-types.js").Board} Board */

const PITCH = 1;
const SIZE = 0.7;
const BETWEEN = 1.6;
const ROOM_FOR_NAME = 1.5;
const SHAPE = 1.6;

/**
 * Parts one after another in rows, each with its pads in two rows: an order and no place.
 *
 * @param {Board} board
 * @returns {{x: Float32Array, y: Float32Array, size: number}} in millimetres of the drawing
 */
export function arranged(board) {
  const count = board.pads.pin.length;
  const x = new Float32Array(count);
  const y = new Float32Array(count);
  const widest = Math.sqrt(count * SHAPE) * 3;
  let left = 0;
  let top = 0;
  for (const pads of byPart(board)) {
    const columns = Math.max(1, Math.ceil(pads.length / 2));
    const width = columns * PITCH + BETWEEN;
    if (left > 0 && left + width > widest) {
      left = 0;
      top += 2 * PITCH + BETWEEN + ROOM_FOR_NAME;
    }
    pads.forEach((pad, place) => {
      x[pad] = left + (place >> 1) * PITCH;
      y[pad] = top + (place & 1) * (PITCH + ROOM_FOR_NAME);
    });
    left += width;
  }
  return { x, y, size: SIZE };
}

/**
 * @param {Board} board
 * @returns {number[][]} pads of each part that has any; those with most pads first
 */
function byPart(board) {
  /** @type {number[][]} */
  const groups = board.parts.map(() => []);
  board.pads.part.forEach((part, pad) => groups[part].push(pad));
  return groups.filter((pads) => pads.length > 0).sort((a, b) => b.length - a.length);
}
