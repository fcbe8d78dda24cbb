/** Which pads are near a place, found by the cells of a grid. */

/** @typedef {import("./geometry.js").Geometry} Geometry */
/** @typedef {import("./board-types.js").Face} Face */

const PADS_A_CELL = 4;
const ASIDE = 2;

/** Pads by cell. */
export class PadIndex {
  /** @param {Geometry} geometry */
  constructor(geometry) {
    this.geometry = geometry;
    const { left, top, right, bottom } = geometry.box;
    const area = Math.max(1e-6, (right - left) * (bottom - top));
    this.cell = Math.sqrt((area * PADS_A_CELL) / Math.max(1, geometry.count));
    this.columns = Math.max(1, Math.ceil((right - left) / this.cell));
    this.lines = Math.max(1, Math.ceil((bottom - top) / this.cell));
    this.starts = new Uint32Array(this.columns * this.lines + 1);
    this.order = this.#sorted();
  }

  /**
   * @param {number} x [mm]
   * @param {number} y [mm]
   * @param {number} reach how far from the edge of a pad still counts [mm]
   * @param {Face} face
   * @returns {number | null} the pad under a place or nearest to it
   */
  nearest(x, y, reach, face) {
    const { geometry } = this;
    let best = null;
    let least = reach;
    for (const pad of this.#near(x, y, reach + this.#largest())) {
      if (!geometry.shows(pad, face)) continue;
      const far = distance(geometry, pad, x, y);
      if (far < least || (far === least && best === null)) {
        least = far;
        best = pad;
      }
    }
    return best;
  }

  /**
   * @param {number} from
   * @param {number} right direction on the board: -1, 0 or 1
   * @param {number} down
   * @param {Face} face
   * @returns {number | null} the next pad in a direction; what lies aside counts as farther
   */
  neighbour(from, right, down, face) {
    const { geometry } = this;
    let best = null;
    let least = Infinity;
    for (let pad = 0; pad < geometry.count; pad += 1) {
      if (pad === from || !geometry.shows(pad, face)) continue;
      const x = geometry.x[pad] - geometry.x[from];
      const y = geometry.y[pad] - geometry.y[from];
      const along = x * right + y * down;
      const aside = Math.abs(x * down) + Math.abs(y * right);
      if (along < 0.02 || aside > ASIDE * along) continue;
      const cost = along + ASIDE * aside;
      if (cost < least) {
        least = cost;
        best = pad;
      }
    }
    return best;
  }

  #largest() {
    if (this.reach === undefined) {
      const { halfWidth, halfHeight } = this.geometry;
      this.reach = 0;
      for (let pad = 0; pad < halfWidth.length; pad += 1) {
        this.reach = Math.max(this.reach, halfWidth[pad], halfHeight[pad]);
      }
    }
    return this.reach;
  }

  /** @type {number | undefined} */
  reach;

  /**
   * @param {number} x
   * @param {number} y
   * @param {number} reach
   * @returns {Generator<number>}
   */
  *#near(x, y, reach) {
    const [first, above] = this.#cellAt(x - reach, y - reach);
    const [last, below] = this.#cellAt(x + reach, y + reach);
    for (let line = above; line <= below; line += 1) {
      const start = this.starts[line * this.columns + first];
      const end = this.starts[line * this.columns + last + 1];
      for (let place = start; place < end; place += 1) yield this.order[place];
    }
  }

  #sorted() {
    const { geometry, starts } = this;
    const cells = new Uint32Array(geometry.count);
    for (let pad = 0; pad < geometry.count; pad += 1) {
      const [column, line] = this.#cellAt(geometry.x[pad], geometry.y[pad]);
      cells[pad] = line * this.columns + column;
      starts[cells[pad] + 1] += 1;
    }
    for (let cell = 1; cell < starts.length; cell += 1) starts[cell] += starts[cell - 1];
    const next = starts.slice();
    const order = new Uint32Array(geometry.count);
    for (let pad = 0; pad < geometry.count; pad += 1) order[next[cells[pad]]++] = pad;
    return order;
  }

  /**
   * @param {number} x
   * @param {number} y
   * @returns {[number, number]}
   */
  #cellAt(x, y) {
    const { left, top } = this.geometry.box;
    const column = Math.floor((x - left) / this.cell);
    const line = Math.floor((y - top) / this.cell);
    return [
      Math.min(this.columns - 1, Math.max(0, column)),
      Math.min(this.lines - 1, Math.max(0, line)),
    ];
  }
}

/**
 * @param {Geometry} geometry
 * @param {number} pad
 * @param {number} x
 * @param {number} y
 * @returns {number} from the edge of a pad, 0 inside [mm]
 */
function distance(geometry, pad, x, y) {
  const cos = Math.cos(geometry.turn[pad]);
  const sin = Math.sin(geometry.turn[pad]);
  const dx = x - geometry.x[pad];
  const dy = y - geometry.y[pad];
  const along = Math.abs(cos * dx - sin * dy) - geometry.halfWidth[pad];
  const across = Math.abs(sin * dx + cos * dy) - geometry.halfHeight[pad];
  return Math.hypot(Math.max(0, along), Math.max(0, across));
}
