/** What the heat of a repair reaches. */

/** @typedef {import("./geometry.js").Geometry} Geometry */
/** @typedef {import("./geometry.js").Body} Body */
/** @typedef {{x: number, y: number, radius: number, bodies: Body[], faces: number}} Reached [mm] */

/**
 * A disc about the middle of a part's or a pin's pads, and the bodies on its side that it touches.
 *
 * @param {Geometry} geometry
 * @param {import("./board-types.js").Heat | null} heat
 * @returns {Reached | null} null where nobody knows what lies beside it
 */
export function reached(geometry, heat) {
  const pads = heat && geometry.real ? geometry.at(heat.at) : [];
  if (!heat || pads.length === 0) return null;
  const x = pads.reduce((sum, pad) => sum + geometry.x[pad], 0) / pads.length;
  const y = pads.reduce((sum, pad) => sum + geometry.y[pad], 0) / pads.length;
  const radius = 1e3 * heat.radius;
  const faces = geometry.faces[pads[0]];
  const named = heat.parts && new Set(heat.parts);
  const bodies = geometry.bodies.filter((body) =>
    named
      ? named.has(geometry.board.parts[body.part].reference)
      : (body.faces & faces) !== 0 && distance(body, x, y) < radius);
  return { x, y, radius, bodies, faces };
}

/**
 * @param {Body} body
 * @param {number} x
 * @param {number} y
 */
function distance({ box }, x, y) {
  return Math.hypot(Math.max(box.left - x, 0, x - box.right), Math.max(box.top - y, 0, y - box.bottom));
}
