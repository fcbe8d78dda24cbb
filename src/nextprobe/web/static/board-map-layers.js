/** What of the map changes with every reading: suspicion, heat, marks, the pad to probe. */

import { fillPads } from "./board-map-ground.js";
import { LEAST, byLevel } from "./suspicion.js";
import { VERDICTS } from "./verdicts.js";

/** @typedef {import("./geometry.js").Geometry} Geometry */
/** @typedef {import("./geometry-view.js").View} View */
/** @typedef {import("./board-map-colours.js").Colours} Colours */
/** @typedef {import("./board-map-ground.js").Pen} Pen */
/** @typedef {import("./board-types.js").MapMark} MapMark */

const HATCHED_FROM = 9;
const TAG = 17;
const LEVELS = /** @type {const} */ ([
  "copper", "suspicion-1", "suspicion-2", "suspicion-3", "suspicion-4", "suspicion-5",
]);

/**
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {Colours} colours
 * @param {ArrayLike<number>} suspicion
 * @param {number[]} pads those in view
 */
export function paintSuspicion(pen, geometry, view, colours, suspicion, pads) {
  const inView = new Uint8Array(geometry.count);
  for (const pad of pads) inView[pad] = 1;
  const groups = byLevel(suspicion, geometry.count, (pad) => inView[pad] === 1);
  // In an arrangement pads stand evenly: larger than their distance they would hide the names.
  const most = geometry.real ? Infinity : Math.max(4, 0.95 * view.scale);
  groups.forEach((group, level) => {
    if (group.length === 0) return;
    const least = Math.min(LEAST[level], most);
    if (level > 2) {
      pen.fillStyle = colours.ink;
      fillPads(pen, geometry, view, group, least + 2, 0);
    }
    pen.fillStyle = colours[LEVELS[level]];
    fillPads(pen, geometry, view, group, least, level > 2 && view.scale > 14 ? -1 : 0);
    hatch(pen, geometry, view, colours, group, level);
  });
}

/**
 * As many strokes across a pad as the number of its class.
 *
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {Colours} colours
 * @param {number[]} pads
 * @param {number} level
 */
function hatch(pen, geometry, view, colours, pads, level) {
  pen.beginPath();
  for (const pad of pads) {
    const wide = geometry.halfWidth[pad] * view.scale;
    const high = geometry.halfHeight[pad] * view.scale;
    if (2 * Math.min(wide, high) < HATCHED_FROM || 2 * Math.max(wide, high) < 3 * level + 3) continue;
    strokes(pen, view.across(geometry.x[pad]), view.down(geometry.y[pad]), wide, high, level);
  }
  pen.strokeStyle = level === 5 ? colours["on-pad-5"] : colours["on-pad"];
  pen.lineWidth = 1.5;
  pen.stroke();
}

/**
 * @param {Pen} pen
 * @param {number} x
 * @param {number} y
 * @param {number} wide half of it
 * @param {number} high half of it
 * @param {number} level
 */
function strokes(pen, x, y, wide, high, level) {
  const along = Math.max(wide, high);
  const across = Math.min(wide, high) * 0.75;
  for (let i = 0; i < level; i += 1) {
    const far = along * (-0.72 + (1.44 * (i + 0.5)) / level);
    const tilt = Math.min(across, (0.5 * along) / level);
    if (wide >= high) {
      pen.moveTo(x + far - tilt, y + across);
      pen.lineTo(x + far + tilt, y - across);
    } else {
      pen.moveTo(x - across, y + far + tilt);
      pen.lineTo(x + across, y + far - tilt);
    }
  }
}

/**
 * What heat reaches: a dashed disc with its radius, and a thick edge around the parts in it.
 *
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {Colours} colours
 * @param {{x: number, y: number, radius: number, bodies: import("./geometry.js").Body[]}} heat [mm]
 */
export function paintHeat(pen, geometry, view, colours, heat) {
  const x = view.across(heat.x);
  const y = view.down(heat.y);
  const radius = heat.radius * view.scale;
  pen.save();
  pen.beginPath();
  pen.arc(x, y, radius, 0, 2 * Math.PI);
  pen.globalAlpha = 0.13;
  pen.fillStyle = colours.differs;
  pen.fill();
  pen.globalAlpha = 1;
  pen.setLineDash([3, 5, 11, 5]);
  pen.lineWidth = 2.5;
  pen.strokeStyle = colours.differs;
  pen.stroke();
  pen.setLineDash([]);
  pen.beginPath();
  for (const body of heat.bodies) {
    const { left, right, top, bottom } = body.box;
    const a = view.across(left);
    const b = view.across(right);
    pen.rect(Math.min(a, b) - 2, view.down(top) - 2, Math.abs(b - a) + 4, (bottom - top) * view.scale + 4);
  }
  pen.lineWidth = 2;
  pen.stroke();
  pen.restore();
}

/**
 * @param {Pen} pen
 * @param {View} view
 * @param {Colours} colours
 * @param {{x: number, y: number, radius: number}} heat [mm]
 */
export function nameHeat(pen, view, colours, heat) {
  const x = view.across(heat.x);
  const y = view.down(heat.y);
  const said = `heat reaches ${heat.radius.toFixed(heat.radius < 10 ? 1 : 0)} mm`;
  tag(pen, view, colours, said, x, y + heat.radius * view.scale + TAG, colours.differs, colours.sheet);
}

/**
 * @param {Pen} pen
 * @param {View} view
 * @param {Colours} colours
 * @param {MapMark} mark
 * @param {number} x
 * @param {number} y
 */
export function paintMark(pen, view, colours, mark, x, y) {
  pen.save();
  pen.translate(x, y - 13);
  pen.beginPath();
  pen.moveTo(0, 13);
  pen.lineTo(-5, 5);
  pen.lineTo(5, 5);
  pen.closePath();
  pen.roundRect(-10, -14, 20, 20, 2);
  pen.fillStyle = colours.sheet;
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 1.5;
  pen.stroke();
  pen.fill();
  pen.translate(0, -4);
  if (mark.kind === "photo") photo(pen, colours);
  else verdictSign(pen, colours, mark.verdict ?? "unread");
  pen.restore();
}

/**
 * @param {Pen} pen
 * @param {Colours} colours
 */
function photo(pen, colours) {
  pen.strokeRect(-6.5, -4, 13, 9);
  pen.beginPath();
  pen.arc(0, 0.5, 2.6, 0, 2 * Math.PI);
  pen.stroke();
  pen.fillStyle = colours.ink;
  pen.fillRect(-3, -6, 6, 2);
}

/**
 * @param {Pen} pen
 * @param {Colours} colours
 * @param {import("./verdicts.js").Verdict} verdict
 */
function verdictSign(pen, colours, verdict) {
  const { solid, line } = VERDICTS[verdict];
  pen.scale(6, 6);
  pen.lineWidth = 0.38;
  pen.fillStyle = colours[verdict];
  pen.strokeStyle = colours[verdict];
  if (solid) pen.fill(new Path2D(solid));
  if (line) pen.stroke(new Path2D(line));
}

/**
 * The pad to probe: threads from edge to edge of the picture, and a graduated ring around it.
 *
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {Colours} colours
 * @param {number} pad
 * @param {string} name
 */
export function paintTarget(pen, geometry, view, colours, pad, name) {
  const x = view.across(geometry.x[pad]);
  const y = view.down(geometry.y[pad]);
  const seen = geometry.shows(pad, view.face);
  const reach = view.scale * Math.max(geometry.halfWidth[pad], geometry.halfHeight[pad]);
  const ring = Math.max(26, reach + 12);
  pen.save();
  if (!seen) pen.setLineDash([6, 6]);
  for (const [colour, more] of /** @type {const} */ ([[colours.sheet, 3], [colours.target, 0]])) {
    pen.strokeStyle = colour;
    pen.lineWidth = 1.5 + more;
    pen.beginPath();
    threads(pen, view, x, y, ring + 12);
    pen.stroke();
    pen.lineWidth = 4 + more;
    pen.beginPath();
    pen.arc(x, y, ring, 0, 2 * Math.PI);
    pen.stroke();
    pen.lineWidth = 2 + more;
    pen.beginPath();
    graduations(pen, x, y, ring);
    pen.stroke();
  }
  pen.restore();
  const beside = ring + 12 + TAG;
  const down = y - beside > TAG ? y - beside : y + beside;
  tag(pen, view, colours, seen ? name : `${name}, other side`, x, down, colours.target, colours["on-mark"]);
}

/**
 * @param {Pen} pen
 * @param {View} view
 * @param {number} x
 * @param {number} y
 * @param {number} from
 */
function threads(pen, view, x, y, from) {
  pen.moveTo(0, y);
  pen.lineTo(x - from, y);
  pen.moveTo(x + from, y);
  pen.lineTo(view.width, y);
  pen.moveTo(x, 0);
  pen.lineTo(x, y - from);
  pen.moveTo(x, y + from);
  pen.lineTo(x, view.height);
}

/**
 * @param {Pen} pen
 * @param {number} x
 * @param {number} y
 * @param {number} ring
 */
function graduations(pen, x, y, ring) {
  for (let i = 0; i < 24; i += 1) {
    const angle = (i * Math.PI) / 12;
    const long = i % 6 === 0 ? 12 : 5;
    pen.moveTo(x + ring * Math.cos(angle), y + ring * Math.sin(angle));
    pen.lineTo(x + (ring + long) * Math.cos(angle), y + (ring + long) * Math.sin(angle));
  }
}

/**
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {Colours} colours
 * @param {number} pad
 */
export function paintChosen(pen, geometry, view, colours, pad) {
  const wide = Math.max(8, geometry.halfWidth[pad] * view.scale + 5);
  const high = Math.max(8, geometry.halfHeight[pad] * view.scale + 5);
  const x = view.across(geometry.x[pad]);
  const y = view.down(geometry.y[pad]);
  pen.save();
  pen.setLineDash(geometry.shows(pad, view.face) ? [] : [4, 4]);
  for (const [colour, width] of /** @type {const} */ ([[colours.sheet, 6], [colours.ink, 2.5]])) {
    pen.strokeStyle = colour;
    pen.lineWidth = width;
    pen.strokeRect(x - wide, y - high, 2 * wide, 2 * high);
  }
  pen.restore();
}

/**
 * @param {Pen} pen
 * @param {View} view
 * @param {Colours} colours
 * @param {string} text
 * @param {number} x
 * @param {number} y
 * @param {string} ground
 * @param {string} ink
 */
function tag(pen, view, colours, text, x, y, ground, ink) {
  pen.font = `600 ${TAG}px ${colours.figures}`;
  const half = pen.measureText(text).width / 2 + 8;
  const across = Math.min(Math.max(x, half + 2), view.width - half - 2);
  const down = Math.min(Math.max(y, TAG), view.height - TAG);
  pen.fillStyle = ground;
  pen.beginPath();
  pen.roundRect(across - half, down - 0.8 * TAG, 2 * half, 1.6 * TAG, 2);
  pen.fill();
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.fillStyle = ink;
  pen.fillText(text, across, down + 1);
}

/**
 * A ruler of a round length in the corner.
 *
 * @param {Pen} pen
 * @param {View} view
 * @param {Colours} colours
 */
export function paintRuler(pen, view, colours) {
  const lengths = [0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100];
  const length = lengths.findLast((each) => each * view.scale <= view.width / 4) ?? 0.1;
  const wide = length * view.scale;
  const left = 14;
  const down = view.height - 12;
  pen.font = `600 13px ${colours.figures}`;
  const said = `${length} mm`;
  pen.globalAlpha = 0.88;
  pen.fillStyle = colours.sheet;
  pen.fillRect(left - 8, down - 22, wide + pen.measureText(said).width + 24, 30);
  pen.globalAlpha = 1;
  pen.beginPath();
  pen.moveTo(left, down);
  pen.lineTo(left + wide, down);
  for (let i = 0; i <= 10; i += 1) {
    const x = left + (wide * i) / 10;
    pen.moveTo(x, down);
    pen.lineTo(x, down - (i % 10 === 0 ? 13 : i % 5 === 0 ? 10 : 6));
  }
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 1.25;
  pen.stroke();
  pen.textAlign = "left";
  pen.textBaseline = "alphabetic";
  pen.fillStyle = colours.ink;
  pen.fillText(said, left + wide + 7, down);
}
