/** From millimetres on a board to pixels of a canvas, and back. */

/** @typedef {import("./geometry.js").Box} Box */
/** @typedef {import("./board-types.js").Face} Face */

const CLOSEST = 400;
const MARGIN = 28;

/** What part of a board is seen, how large, and from which side; pixels are those of the page. */
export class View {
  /** Pixels a millimetre. */
  scale = 10;
  /** Where the middle of the picture is on the board [mm]. */
  x = 0;
  y = 0;
  width = 1;
  height = 1;
  /** @type {Face} */
  face = "front";
  /** Until somebody moves the map, it fits whatever size it gets. */
  fitted = true;

  get mirror() {
    return this.face === "back" ? -1 : 1;
  }

  /** @param {number} x [mm] */
  across(x) {
    return this.width / 2 + this.mirror * (x - this.x) * this.scale;
  }

  /** @param {number} y [mm] */
  down(y) {
    return this.height / 2 + (y - this.y) * this.scale;
  }

  /**
   * @param {number} across [px]
   * @param {number} down [px]
   * @returns {[number, number]} on the board [mm]
   */
  place(across, down) {
    const x = this.x + (this.mirror * (across - this.width / 2)) / this.scale;
    return [x, this.y + (down - this.height / 2) / this.scale];
  }

  /** @param {Box} box what should be seen [mm] */
  fit(box) {
    const wide = Math.max(0.1, box.right - box.left);
    const high = Math.max(0.1, box.bottom - box.top);
    const room = [this.width - 2 * MARGIN, this.height - 2 * MARGIN].map((each) => Math.max(20, each));
    this.scale = Math.min(room[0] / wide, room[1] / high, CLOSEST);
    this.x = (box.left + box.right) / 2;
    this.y = (box.top + box.bottom) / 2;
    this.fitted = true;
  }

  /**
   * @param {number} factor
   * @param {number} across what stays where it is [px]
   * @param {number} down [px]
   * @param {Box} box of the board
   */
  zoom(factor, across, down, box) {
    const [x, y] = this.place(across, down);
    const widest = Math.max(box.right - box.left, box.bottom - box.top, 1);
    const farthest = Math.min(this.width, this.height) / (3 * widest);
    this.scale = Math.min(CLOSEST, Math.max(farthest, this.scale * factor));
    this.x = x - (this.mirror * (across - this.width / 2)) / this.scale;
    this.y = y - (down - this.height / 2) / this.scale;
    this.fitted = false;
  }

  /**
   * @param {number} across [px]
   * @param {number} down [px]
   */
  pan(across, down) {
    this.x -= (this.mirror * across) / this.scale;
    this.y -= down / this.scale;
    this.fitted = false;
  }

  /**
   * @param {number} x [mm]
   * @param {number} y [mm]
   * @param {number} margin from the edge [px]
   */
  sees(x, y, margin) {
    const across = this.across(x);
    const down = this.down(y);
    return across > margin && across < this.width - margin && down > margin && down < this.height - margin;
  }

  /**
   * @param {number} margin [px]
   * @returns {Box} what is seen of the board [mm]
   */
  seen(margin) {
    const [a, top] = this.place(-margin, -margin);
    const [b, bottom] = this.place(this.width + margin, this.height + margin);
    return { left: Math.min(a, b), right: Math.max(a, b), top, bottom };
  }
}
