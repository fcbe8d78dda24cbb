/** The pads and bodies of a board as columns in millimetres, ready to be drawn and searched. */

import { arranged } from "./geometry-arrangement.js";

/** @typedef {import("./board-types.js").Board} Board */
/** @typedef {import("./board-types.js").Face} Face */
/** @typedef {import("./board-types.js").Side} Side */
/** @typedef {{left: number, top: number, right: number, bottom: number}} Box in millimetres */
/** @typedef {{part: number, faces: number, corners: Float32Array, box: Box}} Body */

const FRONT = 1;
const BACK = 2;
const NO_EDGE = 2;

/**
 * @param {Side | null} side
 * @returns {number} bits: 1 for the front, 2 for the back
 */
export function facesOf(side) {
  return side === "back" ? BACK : side === "both" ? FRONT | BACK : FRONT;
}

/** A board that can be drawn; pads of which nobody has said where they are stand in rows by part. */
export class Geometry {
  /** @param {Board} board as the interface sends it */
  constructor(board) {
    this.board = board;
    /** Whether places are those of the board, and not an arrangement. */
    this.real = board.has_places;
    const { pads } = board;
    const count = pads.pin.length;
    this.count = count;
    this.x = new Float32Array(count);
    this.y = new Float32Array(count);
    this.halfWidth = new Float32Array(count);
    this.halfHeight = new Float32Array(count);
    /** Counter-clockwise, seen from the front [rad]; 0 where width and height could be exchanged. */
    this.turn = new Float32Array(count);
    this.faces = new Uint8Array(count);
    this.round = Uint8Array.from(pads.is_round, Number);
    const places = this.real ? null : arranged(board);
    for (let pad = 0; pad < count; pad += 1) {
      if (places) this.#put(pad, places.x[pad], places.y[pad], places.size, places.size, 0, FRONT);
      else this.#putFromBoard(pad);
    }
    /** @type {Map<string, number[]>} pads of each pin */
    this.byPin = new Map();
    /** @type {Map<string, number[]>} pads of each part */
    this.byPart = new Map();
    pads.pin.forEach((pin, pad) => {
      append(this.byPin, pin, pad);
      append(this.byPart, board.parts[pads.part[pad]].reference, pad);
    });
    this.bodies = this.#allBodies();
    this.paths = this.real
      ? board.outline.map((path) => Float32Array.from(path.flat(), (each) => 1e3 * each))
      : [];
    this.box = this.#wholeBox();
  }

  /**
   * @param {string} name a pin, a part or a net
   * @returns {number[]} its pads that have a place
   */
  at(name) {
    const found = this.byPin.get(name) ?? this.byPart.get(name) ?? this.#ofNet(name);
    return found.filter((pad) => this.faces[pad] !== 0);
  }

  /**
   * @param {number} pad
   * @param {Face} face
   */
  shows(pad, face) {
    return (this.faces[pad] & facesOf(face)) !== 0;
  }

  /** @param {number} pad */
  netOf(pad) {
    return this.board.nets[this.board.pads.net[pad]];
  }

  /** @param {number} pad */
  partOf(pad) {
    return this.board.parts[this.board.pads.part[pad]];
  }

  /**
   * @param {string} name
   * @returns {number[]}
   */
  #ofNet(name) {
    const net = this.board.nets.findIndex((each) => each.name === name);
    if (net < 0) return [];
    return [...this.board.pads.net.keys()].filter((pad) => this.board.pads.net[pad] === net);
  }

  /** @param {number} pad */
  #putFromBoard(pad) {
    const { pads } = this.board;
    const x = pads.x[pad];
    const y = pads.y[pad];
    if (x === null || y === null) return;
    const width = 1e3 * (pads.width[pad] ?? 3e-4);
    const height = 1e3 * (pads.height[pad] ?? 3e-4);
    const degrees = (((pads.rotation[pad] ?? 0) % 180) + 180) % 180;
    const faces = facesOf(pads.side[pad]);
    const upright = Math.abs(degrees - 90) < 0.5;
    if (upright) this.#put(pad, 1e3 * x, 1e3 * y, height, width, 0, faces);
    else if (degrees < 0.5 || degrees > 179.5) this.#put(pad, 1e3 * x, 1e3 * y, width, height, 0, faces);
    else this.#put(pad, 1e3 * x, 1e3 * y, width, height, (degrees * Math.PI) / 180, faces);
  }

  /**
   * @param {number} pad
   * @param {number} x
   * @param {number} y
   * @param {number} width
   * @param {number} height
   * @param {number} turn
   * @param {number} faces
   */
  #put(pad, x, y, width, height, turn, faces) {
    this.x[pad] = x;
    this.y[pad] = y;
    this.halfWidth[pad] = width / 2;
    this.halfHeight[pad] = height / 2;
    this.turn[pad] = turn;
    this.faces[pad] = faces;
  }

  /** @returns {Body[]} the largest first, so that small ones are drawn over them */
  #allBodies() {
    const bodies = this.board.parts.map((part, index) => {
      const pads = (this.byPart.get(part.reference) ?? []).filter((pad) => this.faces[pad] !== 0);
      const corners = this.real && part.outline.length > 2
        ? Float32Array.from(part.outline.flat(), (each) => 1e3 * each)
        : this.#aroundPads(pads);
      const one = part.side ?? (pads.length > 0 && pads.every((pad) => this.faces[pad] === BACK) ? "back" : "front");
      const faces = this.real ? facesOf(one === "both" ? "front" : one) : FRONT;
      return { part: index, faces, corners, box: boxOf(corners) };
    });
    return bodies.filter((body) => body.corners.length > 4).sort((a, b) => area(b.box) - area(a.box));
  }

  /** @param {number[]} pads */
  #aroundPads(pads) {
    if (pads.length === 0) return new Float32Array();
    const box = this.#boxOfPads(pads, this.real ? 0 : 0.35);
    const { left, top, right, bottom } = box;
    return Float32Array.of(left, top, right, top, right, bottom, left, bottom);
  }

  /**
   * @param {Iterable<number>} pads
   * @param {number} margin
   * @returns {Box}
   */
  #boxOfPads(pads, margin) {
    const box = nothing();
    for (const pad of pads) {
      const reach = margin + Math.min(this.halfWidth[pad], this.halfHeight[pad]);
      widen(box, this.x[pad] - reach, this.y[pad] - reach);
      widen(box, this.x[pad] + reach, this.y[pad] + reach);
    }
    return box;
  }

  /** @returns {Box} */
  #wholeBox() {
    const placed = [...this.faces.keys()].filter((pad) => this.faces[pad] !== 0);
    const box = this.#boxOfPads(placed, this.paths.length > 0 ? 0 : NO_EDGE);
    for (const path of [...this.paths, ...this.bodies.map((body) => body.corners)]) {
      for (let i = 0; i < path.length; i += 2) widen(box, path[i], path[i + 1]);
    }
    return box.left > box.right ? { left: 0, top: 0, right: 10, bottom: 10 } : box;
  }
}

/**
 * @param {Map<string, number[]>} groups
 * @param {string} name
 * @param {number} value
 */
function append(groups, name, value) {
  const group = groups.get(name);
  if (group) group.push(value);
  else groups.set(name, [value]);
}

/** @returns {Box} */
function nothing() {
  return { left: Infinity, top: Infinity, right: -Infinity, bottom: -Infinity };
}

/**
 * @param {Box} box
 * @param {number} x
 * @param {number} y
 */
function widen(box, x, y) {
  if (x < box.left) box.left = x;
  if (x > box.right) box.right = x;
  if (y < box.top) box.top = y;
  if (y > box.bottom) box.bottom = y;
}

/** @param {Float32Array} corners */
function boxOf(corners) {
  const box = nothing();
  for (let i = 0; i < corners.length; i += 2) widen(box, corners[i], corners[i + 1]);
  return box;
}

/** @param {Box} box */
function area(box) {
  return (box.right - box.left) * (box.bottom - box.top);
}
