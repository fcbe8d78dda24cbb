/** The scale of readings that all pins of a connector share, and distributions on it. */

/** @typedef {import("./connector-types.js").PinShown} PinShown */
/** @typedef {import("./connector-types.js").Spread} Spread */

const SHOWN = 0.995;
const DECADES = 5;

/** From a reading to a share of the height of the picture; volts evenly, ohms and farads by decades. */
export class Scale {
  /**
   * @param {readonly PinShown[]} pins
   * @param {string} mode
   */
  constructor(pins, mode) {
    this.even = mode === "diode" || mode === "dc volts";
    this.top = nice(Math.max(...pins.map(reach)) || widest(pins), this.even);
    this.floor = this.top / 10 ** DECADES;
  }

  /** @param {number} value */
  share(value) {
    const held = Math.min(Math.max(value, 0), this.top);
    if (this.even) return held / this.top;
    return Math.log10(1 + held / this.floor) / Math.log10(1 + this.top / this.floor);
  }

  /** @returns {{value: number, long: boolean}[]} graduations, those with a number long */
  get graduations() {
    if (!this.even) {
      return Array.from({ length: DECADES + 1 }, (_, i) => ({ value: this.top / 10 ** (DECADES - i), long: true }));
    }
    const step = this.top / 20;
    return Array.from({ length: 21 }, (_, i) => ({ value: i * step, long: i % 5 === 0 }));
  }
}

/**
 * @param {PinShown} pin
 * @returns {number} up to where a good board and the readings are; 0 where it shows over-range
 */
function reach(pin) {
  if (!pin.expectation) return 0;
  const { expected, spread } = pin.expectation;
  const read = expected.read.filter((value) => value !== "over-range");
  const healthy = spread.healthy_over_range > 0.5 ? 0 : (quantile(spread.edges, spread.healthy, SHOWN) ?? 0);
  return Math.max(1.25 * healthy, ...read.map((value) => 1.04 * value));
}

/**
 * @param {readonly PinShown[]} pins
 * @returns {number} of the widest distribution, for a connector of which nothing else is known
 */
function widest(pins) {
  return Math.max(1e-12, ...pins.map((pin) => pin.expectation?.spread.edges.at(-1) ?? 0));
}

/**
 * @param {number} value
 * @param {boolean} even
 */
function nice(value, even) {
  const decade = 10 ** Math.floor(Math.log10(value));
  if (!even) return 10 * decade;
  return ([1, 1.2, 1.6, 2, 2.4, 3.2, 4, 6, 8, 10].find((each) => each * decade >= value) ?? 10) * decade;
}

/**
 * @param {number[]} edges
 * @param {number[]} chances
 * @param {number} share of the chance that there is a number at all
 * @returns {number | null} null where over-range is all there is
 */
export function quantile(edges, chances, share) {
  const total = chances.reduce((sum, each) => sum + each, 0);
  if (total < 1e-6) return null;
  let below = 0;
  for (let i = 0; i < chances.length; i += 1) {
    const next = below + chances[i] / total;
    if (next >= share) {
      const within = chances[i] === 0 ? 0 : ((share - below) * total) / chances[i];
      return edges[i] + within * (edges[i + 1] - edges[i]);
    }
    below = next;
  }
  return edges[edges.length - 1];
}

/**
 * @param {Spread} spread
 * @param {Scale} scale
 * @returns {{from: number[], to: number[], healthy: number[], now: number[]}} shares of the height,
 *   and densities relative to the largest of both
 */
export function densities(spread, scale) {
  const from = spread.edges.slice(0, -1).map((edge) => scale.share(edge));
  const to = spread.edges.slice(1).map((edge) => scale.share(edge));
  /** @param {number[]} chances */
  const per = (chances) => chances.map((chance, i) => (to[i] - from[i] > 1e-9 ? chance / (to[i] - from[i]) : 0));
  const healthy = per(spread.healthy);
  const now = per(spread.chances);
  const most = Math.max(...healthy, ...now, 1e-12);
  return { from, to, healthy: healthy.map((each) => each / most), now: now.map((each) => each / most) };
}

/**
 * @param {Spread} spread
 * @param {Scale} scale
 * @returns {number} chance of a number beyond the top of the scale, by what is known now
 */
export function beyond(spread, scale) {
  return spread.chances.reduce((sum, chance, i) => {
    const from = spread.edges[i];
    const to = spread.edges[i + 1];
    return sum + chance * Math.min(1, Math.max(0, (to - scale.top) / (to - from)));
  }, 0);
}
