/**
 * What the interface sends of a connector, as `/jobs/{job}/connectors/{reference}` answers it.
 *
 * @typedef {import("./quantities.js").Value} Value
 *
 * @typedef {object} Spread
 * @property {number[]} edges bounds of intervals
 * @property {number[]} chances of each interval, by what is believed now
 * @property {number[]} healthy the same where nothing is wrong
 * @property {number} over_range chance
 * @property {number} healthy_over_range
 *
 * @typedef {object} Expected
 * @property {string} point
 * @property {string} net
 * @property {string} role
 * @property {Value} healthy
 * @property {number} deviation
 * @property {number} low
 * @property {number} high
 * @property {string} source
 * @property {Value[]} read
 * @property {string} verdict
 * @property {{key: string, title: string, probability: number, values: Value[]}[]} suspects
 *
 * @typedef {object} PinShown
 * @property {string} pin
 * @property {string} point
 * @property {string} net
 * @property {{expected: Expected, spread: Spread} | null} expectation
 *
 * @typedef {object} Connector
 * @property {string} reference
 * @property {string} mode
 * @property {PinShown[]} pins
 */

export {};
