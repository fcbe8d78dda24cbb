/** In which row of a connector each pin stands, and in which order. */

/** @typedef {import("./board-types.js").Board} Board */

/**
 * Rows from the first to the last pin, each a list of places in `points`.
 *
 * Where the pads have places, two groups across the longer side are two rows. Otherwise pins stand
 * in `rows` rows as they are numbered most often: odd ones in one, even ones in the other.
 *
 * @param {string[]} points names of pins, in order
 * @param {Board | null} board
 * @param {number | null} rows as somebody has said; null where nobody has
 * @returns {{rows: number[][], known: boolean}}
 */
export function rowsOf(points, board, rows) {
  const placed = rows === null && board?.has_places ? fromPlaces(points, board) : null;
  if (placed) return { rows: placed, known: true };
  const all = [...points.keys()];
  if (rows !== 2) return { rows: [all], known: rows === 1 };
  return { rows: [all.filter((each) => each % 2 === 0), all.filter((each) => each % 2 === 1)], known: true };
}

/**
 * @param {string[]} points
 * @param {Board} board
 * @returns {number[][] | null} null if a pin has no place
 */
function fromPlaces(points, board) {
  const places = points.map((point) => {
    const pad = board.pads.pin.indexOf(point);
    return pad < 0 ? null : [board.pads.x[pad], board.pads.y[pad]];
  });
  const x = places.map((each) => each?.[0] ?? NaN);
  const y = places.map((each) => each?.[1] ?? NaN);
  if ([...x, ...y].some(Number.isNaN)) return null;
  const [along, across] = range(x) >= range(y) ? [x, y] : [y, x];
  const order = [...points.keys()].sort((a, b) => along[a] - along[b]);
  const pitch = range(along) / Math.max(1, points.length - 1);
  if (range(across) < pitch / 2 || points.length < 4) return [order];
  const middle = (Math.min(...across) + Math.max(...across)) / 2;
  return [order.filter((pin) => across[pin] < middle), order.filter((pin) => across[pin] >= middle)];
}

/** @param {number[]} values */
function range(values) {
  return Math.max(...values) - Math.min(...values);
}
