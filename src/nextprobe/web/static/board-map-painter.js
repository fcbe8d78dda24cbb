/** Two canvases: the ground, which is kept, and the picture, which is the ground and what changes. */

import { coloursOf } from "./board-map-colours.js";
import { padsInView, paintGround } from "./board-map-ground.js";
import {
  nameHeat, paintChosen, paintHeat, paintMark, paintRuler, paintSuspicion, paintTarget,
} from "./board-map-layers.js";
import { reached } from "./geometry-heat.js";
import { View } from "./geometry-view.js";
import { facesOf } from "./geometry.js";

/** @typedef {import("./geometry.js").Geometry} Geometry */
/** @typedef {import("./board-map-colours.js").Colours} Colours */

/**
 * @typedef {object} Scene
 * @property {Geometry | null} geometry
 * @property {View} view
 * @property {ArrayLike<number> | null} suspicion
 * @property {string | null} target
 * @property {import("./board-types.js").Heat | null} heat
 * @property {readonly import("./board-types.js").MapMark[]} marks
 * @property {number | null} chosen
 */

/** With more pads than these the ground is only moved while a hand moves the map. */
const MANY = 1500;

export class Painter {
  /**
   * @param {HTMLCanvasElement} canvas
   * @param {HTMLElement} probe an element that nobody sees, to ask for colours
   */
  constructor(canvas, probe) {
    this.canvas = canvas;
    this.probe = probe;
    this.ground = document.createElement("canvas");
    /** Whether the ground has to be drawn anew. */
    this.stale = true;
    /** @type {Colours | null} null once the theme has changed */
    this.colours = null;
    /** @type {number[]} */
    this.inView = [];
    this.view = new View();
  }

  /**
   * @param {Scene} scene
   * @param {boolean} moving whether a hand is moving the map
   */
  paint(scene, moving) {
    const { view, geometry } = scene;
    const ratio = window.devicePixelRatio || 1;
    const pen = this.canvas.getContext("2d", { alpha: false });
    if (!pen) return;
    this.#resize(Math.round(view.width * ratio), Math.round(view.height * ratio));
    this.colours ??= coloursOf(this.probe);
    if (!geometry) {
      pen.setTransform(1, 0, 0, 1, 0, 0);
      pen.fillStyle = this.colours.sunken;
      pen.fillRect(0, 0, this.canvas.width, this.canvas.height);
      return;
    }
    const many = this.inView.length > MANY && this.view.face === view.face;
    if (this.stale && !(moving && many)) this.#paintGround(geometry, view, this.colours, ratio);
    this.#placeGround(pen, view, this.colours, ratio);
    if (this.stale) this.inView = padsInView(geometry, view);
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    paintLayers(pen, scene, geometry, this.colours, this.inView);
  }

  /**
   * @param {number} width
   * @param {number} height
   */
  #resize(width, height) {
    if (this.canvas.width === width && this.canvas.height === height) return;
    for (const each of [this.canvas, this.ground]) {
      each.width = width;
      each.height = height;
    }
    this.inView = [];
    this.stale = true;
  }

  /**
   * @param {Geometry} geometry
   * @param {View} view
   * @param {Colours} colours
   * @param {number} ratio
   */
  #paintGround(geometry, view, colours, ratio) {
    const pen = this.ground.getContext("2d", { alpha: false });
    if (!pen) return;
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    paintGround(pen, geometry, view, colours);
    this.inView = padsInView(geometry, view);
    this.view = Object.assign(new View(), view);
    this.stale = false;
  }

  /**
   * Draw the ground; if it is stale, moved and stretched to where it belongs now.
   *
   * @param {CanvasRenderingContext2D} pen
   * @param {View} view
   * @param {Colours} colours
   * @param {number} ratio
   */
  #placeGround(pen, view, colours, ratio) {
    pen.setTransform(1, 0, 0, 1, 0, 0);
    if (this.stale) {
      const last = this.view;
      const larger = view.scale / last.scale;
      const across = (view.width / 2) * (1 - larger) + view.mirror * (last.x - view.x) * view.scale;
      const down = (view.height / 2) * (1 - larger) + (last.y - view.y) * view.scale;
      pen.fillStyle = colours.sunken;
      pen.fillRect(0, 0, this.canvas.width, this.canvas.height);
      pen.setTransform(larger, 0, 0, larger, ratio * across, ratio * down);
    }
    pen.drawImage(this.ground, 0, 0);
  }
}

/**
 * @param {CanvasRenderingContext2D} pen
 * @param {Scene} scene
 * @param {Geometry} geometry
 * @param {Colours} colours
 * @param {number[]} pads those in view
 */
function paintLayers(pen, scene, geometry, colours, pads) {
  const { view, suspicion } = scene;
  const heat = reached(geometry, scene.heat);
  const heated = heat !== null && (heat.faces & facesOf(view.face)) !== 0;
  if (heated) paintHeat(pen, geometry, view, colours, heat);
  if (suspicion) paintSuspicion(pen, geometry, view, colours, suspicion, pads);
  for (const mark of scene.marks) {
    const pad = geometry.at(mark.at)[0];
    if (pad === undefined || !geometry.shows(pad, view.face)) continue;
    paintMark(pen, view, colours, mark, view.across(geometry.x[pad]), view.down(geometry.y[pad]));
  }
  if (heated) nameHeat(pen, view, colours, heat);
  const target = scene.target === null ? undefined : geometry.at(scene.target)[0];
  if (target !== undefined) paintTarget(pen, geometry, view, colours, target, scene.target ?? "");
  if (scene.chosen !== null) paintChosen(pen, geometry, view, colours, scene.chosen);
  if (geometry.real) paintRuler(pen, view, colours);
}
