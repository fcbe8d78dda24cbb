/**
 * What the interface sends of a board, as `/packs/{pack}/board` and `/jobs/{job}/board` answer it.
 *
 * @typedef {"front" | "back"} Face
 * @typedef {Face | "both"} Side
 * @typedef {[number, number]} Place x to the right and y downwards, seen from the front [m]
 *
 * @typedef {object} BoardPart
 * @property {string} reference
 * @property {string} kind
 * @property {string} shown the value as people write it
 * @property {string} note
 * @property {Side | null} side
 * @property {Place | null} position
 * @property {Place[]} outline corners of the body
 * @property {boolean} fitted
 * @property {boolean} implied a stand-in: something must be there
 *
 * @typedef {object} BoardNet
 * @property {string} name
 * @property {string} role
 *
 * @typedef {object} BoardPads columns of equal length, a row for each pad
 * @property {string[]} pin
 * @property {number[]} part
 * @property {number[]} net
 * @property {(number | null)[]} x [m]
 * @property {(number | null)[]} y [m]
 * @property {(number | null)[]} width [m]
 * @property {(number | null)[]} height [m]
 * @property {(number | null)[]} rotation counter-clockwise [°]
 * @property {(Side | null)[]} side
 * @property {boolean[]} is_round
 *
 * @typedef {object} Board
 * @property {string} name
 * @property {number} key the same for the same order of pads
 * @property {boolean} has_places
 * @property {boolean} [pads_drawn] whether only the places of parts are known
 * @property {Place[][]} outline
 * @property {BoardPart[]} parts
 * @property {BoardNet[]} nets
 * @property {BoardPads} pads
 *
 * @typedef {object} Heat what the heat of a repair reaches
 * @property {string} at a part or a pin, as in U3 or J4.12
 * @property {number} radius [m]
 * @property {string[]} [parts] what it reaches; by the map itself where it is left out
 *
 * @typedef {object} MapMark something that was seen or read at a place
 * @property {string} at a part or a pin
 * @property {"photo" | "reading"} kind
 * @property {import("./verdicts.js").Verdict} [verdict] of a reading
 * @property {string} text
 */

export {};
