/** What of the map stays while colours change: edges, bodies, copper, names. */

/** @typedef {import("./geometry.js").Geometry} Geometry */
/** @typedef {import("./geometry-view.js").View} View */
/** @typedef {import("./board-map-colours.js").Colours} Colours */
/** @typedef {CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D} Pen */

import { facesOf } from "./geometry.js";

const LEAST_NAME = 9;
const LARGEST_NAME = 26;
const LEAST_NUMBER = 12;
const LETTER = 0.62;

/**
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {Colours} colours
 */
export function paintGround(pen, geometry, view, colours) {
  pen.fillStyle = colours.sunken;
  pen.fillRect(0, 0, view.width, view.height);
  edges(pen, geometry, view, colours);
  bodies(pen, geometry, view, colours);
  const pads = padsInView(geometry, view);
  copper(pen, geometry, view, colours, pads);
  names(pen, geometry, view, colours);
  numbers(pen, geometry, view, colours, pads);
}

/**
 * @param {Geometry} geometry
 * @param {View} view
 * @returns {number[]}
 */
export function padsInView(geometry, view) {
  const { left, right, top, bottom } = view.seen(20);
  const { x, y, halfWidth, halfHeight, faces } = geometry;
  const wanted = facesOf(view.face);
  const found = [];
  for (let pad = 0; pad < geometry.count; pad += 1) {
    if ((faces[pad] & wanted) === 0) continue;
    const reach = Math.max(halfWidth[pad], halfHeight[pad]);
    if (x[pad] + reach > left && x[pad] - reach < right && y[pad] + reach > top && y[pad] - reach < bottom) {
      found.push(pad);
    }
  }
  return found;
}

/**
 * @param {Pen} pen
 * @param {View} view
 * @param {ArrayLike<number>} corners
 */
export function trace(pen, view, corners) {
  for (let i = 0; i < corners.length; i += 2) {
    const x = view.across(corners[i]);
    const y = view.down(corners[i + 1]);
    if (i === 0) pen.moveTo(x, y);
    else pen.lineTo(x, y);
  }
}

/**
 * Pads as rectangles in the current path or straight on the canvas; tilted ones as polygons.
 *
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {number[]} pads
 * @param {number} least least width and height [px]
 * @param {number} more wider on each side [px]
 */
export function fillPads(pen, geometry, view, pads, least, more) {
  const { x, y, halfWidth, halfHeight, turn, round } = geometry;
  const half = least / 2;
  const { scale } = view;
  let tilted = false;
  pen.beginPath();
  for (const pad of pads) {
    const wide = Math.max(half, halfWidth[pad] * scale) + more;
    const high = Math.max(half, halfHeight[pad] * scale) + more;
    const across = view.across(x[pad]);
    const down = view.down(y[pad]);
    if (round[pad] && wide > 3) {
      const radius = Math.min(wide, high);
      pen.moveTo(across + wide, down);
      if (Math.abs(wide - high) < 0.5) pen.arc(across, down, radius, 0, 2 * Math.PI);
      else pen.roundRect(across - wide, down - high, 2 * wide, 2 * high, radius);
      tilted = true;
    } else if (turn[pad] !== 0 && wide > 2) {
      tiltedPad(pen, across, down, wide, high, -view.mirror * turn[pad]);
      tilted = true;
    } else {
      pen.fillRect(across - wide, down - high, 2 * wide, 2 * high);
    }
  }
  if (tilted) pen.fill();
}

/**
 * @param {Pen} pen
 * @param {number} across
 * @param {number} down
 * @param {number} wide
 * @param {number} high
 * @param {number} angle clockwise [rad]
 */
function tiltedPad(pen, across, down, wide, high, angle) {
  const cos = Math.cos(angle);
  const sin = Math.sin(angle);
  const ax = wide * cos;
  const ay = wide * sin;
  const bx = -high * sin;
  const by = high * cos;
  pen.moveTo(across - ax - bx, down - ay - by);
  pen.lineTo(across + ax - bx, down + ay - by);
  pen.lineTo(across + ax + bx, down + ay + by);
  pen.lineTo(across - ax + bx, down - ay + by);
  pen.closePath();
}

/**
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {Colours} colours
 */
function edges(pen, geometry, view, colours) {
  if (!geometry.real) return;
  pen.beginPath();
  if (geometry.paths.length === 0) {
    const { left, top, right, bottom } = geometry.box;
    trace(pen, view, [left, top, right, top, right, bottom, left, bottom]);
    pen.closePath();
    pen.setLineDash([8, 6]);
  }
  for (const path of geometry.paths) trace(pen, view, path);
  pen.fillStyle = colours.board;
  pen.fill("evenodd");
  pen.strokeStyle = colours["board-edge"];
  pen.lineWidth = 2;
  pen.stroke();
  pen.setLineDash([]);
}

/**
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {Colours} colours
 */
function bodies(pen, geometry, view, colours) {
  const seen = bodiesInView(geometry, view);
  pen.lineWidth = 1;
  pen.fillStyle = colours.body;
  pen.strokeStyle = colours["body-edge"];
  for (const fitted of [true, false]) {
    pen.beginPath();
    for (const body of seen) {
      if (geometry.board.parts[body.part].fitted !== fitted) continue;
      trace(pen, view, body.corners);
      pen.closePath();
    }
    if (fitted) pen.fill();
    else pen.setLineDash([3, 2]);
    if (view.scale > 6) pen.stroke();
  }
  pen.setLineDash([]);
}

/**
 * @param {Geometry} geometry
 * @param {View} view
 */
function bodiesInView(geometry, view) {
  const { left, right, top, bottom } = view.seen(10);
  const face = facesOf(view.face);
  return geometry.bodies.filter(
    ({ faces, box }) => (faces & face) !== 0
      && box.right > left && box.left < right && box.bottom > top && box.top < bottom,
  );
}

/**
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {Colours} colours
 * @param {number[]} pads
 */
function copper(pen, geometry, view, colours, pads) {
  pen.fillStyle = colours["copper-edge"];
  if (view.scale > 14) fillPads(pen, geometry, view, pads, 0, 0);
  pen.fillStyle = colours.copper;
  fillPads(pen, geometry, view, pads, 1, view.scale > 14 ? -1 : 0);
}

/**
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {Colours} colours
 */
function names(pen, geometry, view, colours) {
  pen.textAlign = "center";
  pen.textBaseline = "middle";
  pen.lineJoin = "round";
  for (const { part, box } of bodiesInView(geometry, view)) {
    const { reference } = geometry.board.parts[part];
    const wide = (box.right - box.left) * view.scale;
    const high = (box.bottom - box.top) * view.scale;
    const along = Math.max(wide, high) - atEnds(geometry, reference) * view.scale;
    const size = Math.min(along / (LETTER * (reference.length + 0.6)), 0.8 * Math.min(wide, high), LARGEST_NAME);
    if (size < LEAST_NAME) continue;
    pen.save();
    pen.translate(view.across((box.left + box.right) / 2), view.down((box.top + box.bottom) / 2));
    if (high > 1.2 * wide) pen.rotate(-Math.PI / 2);
    pen.font = `600 ${size.toFixed(1)}px ${colours.figures}`;
    pen.strokeStyle = colours.body;
    pen.lineWidth = size / 4;
    pen.strokeText(reference, 0, 0);
    pen.fillStyle = colours.ink;
    pen.fillText(reference, 0, 0);
    pen.restore();
  }
}

/**
 * @param {Geometry} geometry
 * @param {string} reference
 * @returns {number} length of a small part that its pads take, where no name should stand [mm]
 */
function atEnds(geometry, reference) {
  const pads = geometry.byPart.get(reference) ?? [];
  if (pads.length !== 2) return 0;
  return 4 * Math.min(...pads.flatMap((pad) => [geometry.halfWidth[pad], geometry.halfHeight[pad]]));
}

/**
 * @param {Pen} pen
 * @param {Geometry} geometry
 * @param {View} view
 * @param {Colours} colours
 * @param {number[]} pads
 */
function numbers(pen, geometry, view, colours, pads) {
  pen.fillStyle = colours["on-pad"];
  for (const pad of pads) {
    const high = 2 * view.scale * Math.min(geometry.halfWidth[pad], geometry.halfHeight[pad]);
    if (geometry.byPart.get(geometry.partOf(pad).reference)?.length === 1) continue;
    const number = geometry.board.pads.pin[pad].split(".").at(-1) ?? "";
    const size = Math.min(0.7 * high, high / (LETTER * (number.length + 0.4)), LARGEST_NAME);
    if (high < LEAST_NUMBER || size < LEAST_NAME - 1) continue;
    pen.font = `600 ${size.toFixed(1)}px ${colours.figures}`;
    pen.fillText(number, view.across(geometry.x[pad]), view.down(geometry.y[pad]));
  }
}
