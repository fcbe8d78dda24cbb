/** Chances of a fault in six classes, each with a colour, a size and a number of strokes. */

/** From which chance on each class counts. */
export const FROM = Object.freeze([0, 0.005, 0.02, 0.05, 0.15, 0.4]);

/** Least size on the map [px]: what is likely can be seen however far away. */
export const LEAST = Object.freeze([0, 4, 6, 8, 11, 15]);

/** @type {readonly string[]} */
export const WORDS = Object.freeze(["hardly", "slight", "small", "some", "strong", "strongest"]);

/**
 * @param {number} chance 0 to 1
 * @returns {number} 0 to 5
 */
export function levelOf(chance) {
  let level = 0;
  while (level < 5 && chance >= FROM[level + 1]) level += 1;
  return level;
}

/**
 * @param {number} chance
 * @returns {string} as in "12 %", which no line breaks
 */
export function sayChance(chance) {
  if (!Number.isFinite(chance)) return "not known";
  const percent = 100 * chance;
  if (percent > 0 && percent < 0.1) return "below 0.1\u00a0%";
  if (percent === 0) return "0\u00a0%";
  return `${percent < 10 ? percent.toFixed(1) : Math.round(percent)}\u00a0%`;
}

/** @param {number} level */
export function sayRange(level) {
  const low = 100 * FROM[level];
  if (level === 5) return `${low} % and more`;
  return level === 0 ? `below ${100 * FROM[1]} %` : `${low} to ${100 * FROM[level + 1]} %`;
}

/**
 * Put pads in order of their class, which is cheaper to draw than pad by pad.
 *
 * @param {ArrayLike<number>} chances
 * @param {number} count how many pads there are
 * @param {(pad: number) => boolean} shown
 * @returns {number[][]} pads of each class
 */
export function byLevel(chances, count, shown) {
  /** @type {number[][]} */
  const groups = [[], [], [], [], [], []];
  const most = Math.min(count, chances.length);
  for (let pad = 0; pad < most; pad += 1) {
    const level = levelOf(chances[pad]);
    if (level > 0 && shown(pad)) groups[level].push(pad);
  }
  return groups;
}
