// How one reading is taken: where the leads go, what the meter is set to, what is to be expected.

import { ask } from "./api.js";
import { sayUncertain, sayValue } from "./quantities.js";

/** Where there is room for all of a step above its field; elsewhere point and field come first. */
export const ROOMY = matchMedia("(min-width: 62rem) and (min-height: 44rem)");
const MOST_NAMED = 8;
const METER = /** @type {Record<string, string>} */ ({
  diode: "Meter on diode test, battery unplugged.",
  ohms: "Meter on ohms, a range that reaches 40 kΩ.",
  "low ohms": "Meter on its lowest ohm range; touch the leads together first and take off what they show.",
  continuity: "Meter on continuity.",
  capacitance: "Meter on capacitance; discharge the part first.",
  "dc volts": "Meter on DC volts before anything is touched; the device is powered.",
});
const TYPED = /** @type {Record<string, string>} */ ({
  ohms: "452, 4k7 or OL", "low ohms": "0.3, 452 or OL", continuity: "0.3 or OL", capacitance: "100n, 4.7u or OL",
});
const LEADS = /** @type {Record<string, [string, string]>} */ ({ diode: ["Red", "black"], "dc volts": ["Black", "red"] });

/** How a reading is typed. @param {string} mode */
export function typedAs(mode) {
  return `As the meter shows it: ${TYPED[mode] ?? "0.452, 452 or OL"}.`;
}

/** @param {any} probe act of the interface @param {string} [each] what all points of a run are called */
export function placing(probe, each = "") {
  const [still, other] = LEADS[probe.mode] ?? ["One", "the other"];
  const ground = probe.clamped === "GND";
  const leads = each && !ground ? "The leads on both sides of each part, in turn."
    : `${still} lead on ${ground ? "ground, as a shield or the shell of a port" : place(probe.clamped)}; ${other} on ${each || place(probe.point)}.`;
  return `${METER[probe.mode] ?? ""} ${leads}`;
}

/** @param {string[]} points @param {any} probe of the first of them */
export function placingOfRun(points, probe) {
  const more = points.length - MOST_NAMED;
  const names = more > 1 ? `${points.slice(0, MOST_NAMED).join(", ")} and ${more} more` : points.join(", ");
  return `${placing(probe, "each point, in turn")} The points: ${names}.`;
}

/** @param {string} point */
function place(point) {
  return point.includes(".") ? point : `${point}, at any of its pads on the map`;
}

/**
 * Say what a healthy device would read, if anything is predicted there.
 * @param {string} job @param {any} probe @returns {Promise<string>}
 */
export async function expectedAt(job, probe) {
  try {
    const words = new URLSearchParams({ point: probe.point, mode: probe.mode });
    const { expectation } = await ask(`/jobs/${encodeURIComponent(job)}/expected?${words}`);
    return expectedWords(expectation.expected);
  } catch { return ""; }
}

/** @param {any} expected */
function expectedWords({ healthy, deviation, low, high, mode, source }) {
  if (healthy === null || healthy === undefined) return "Nothing is known of a healthy reading here.";
  if (healthy === "over-range") return `Healthy: OL, over-range (${source})`;
  const range = low === null || high === null ? "" : `; ${sayValue(low, mode)} to ${sayValue(high, mode)} counts as expected`;
  return `Healthy: ${sayUncertain(healthy, deviation, mode)}${range} (${source})`;
}
