/** What colours, sizes and strokes on the map mean. */

import { made } from "./shadow.js";
import { sayRange } from "./suspicion.js";
import { drawn } from "./verdicts.js";

const SIDE = 20;

/** @returns {HTMLUListElement} */
export function legend() {
  const list = made("ul", { class: "legend", "aria-label": "Chance of a fault at a pad" });
  list.append(made("li", {}, "Chance of a fault:"));
  for (let level = 1; level <= 5; level += 1) list.append(entry(level));
  return list;
}

/** @param {number} level */
function entry(level) {
  const size = 8 + 2.4 * level;
  const high = Math.max(9, size * 0.8);
  const picture = drawn("svg", { width: SIDE + 6, height: SIDE, "aria-hidden": "true" });
  const left = (SIDE + 6 - size) / 2;
  const top = (SIDE - high) / 2;
  picture.append(drawn("rect", { x: left, y: top, width: size, height: high }));
  for (let i = 0; i < level; i += 1) {
    const x = left + (size * (i + 0.5)) / level;
    picture.append(drawn("path", { d: `M${x - 1.2} ${top + high - 1}L${x + 1.2} ${top + 1}` }));
  }
  const item = made("li", { class: `level-${level}` });
  item.append(picture, sayRange(level));
  return item;
}
