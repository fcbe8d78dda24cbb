// Who is suspected, on a graduated scale, with what raised and lowered each one tap away.

import { fill, h, percent, setting } from "./app.js";
import { ask } from "./api.js";

/** @param {HTMLElement} place @param {string} job @param {any[]} found */
export function showSuspects(place, job, found) {
  const open = new Set([...place.querySelectorAll("details[open]")].map((each) => /** @type {HTMLElement} */ (each).dataset.key));
  const focused = /** @type {HTMLElement | null} */ (document.activeElement?.closest("#suspects details"))?.dataset.key;
  fill(place, h("h2", { class: "sheet-name", id: "suspects-name" }, "Suspects"),
    h("div", { class: "suspects" }, found.map((suspect) => one(job, suspect, open.has(suspect.key)))),
    h("p", { class: "source" }, "Chance that it is so, by all that is recorded; the hollow mark is where it stood when the device came in."));
  if (focused) /** @type {HTMLElement | null} */ (place.querySelector(`details[data-key="${CSS.escape(focused)}"] summary`))?.focus();
}

/** @param {string} job @param {any} suspect @param {boolean} open */
function one(job, suspect, open) {
  const body = h("div", { class: "reckoning" }, h("p", { class: "source" }, "Adding up …"));
  const scale = h("div", { class: "scale", "aria-hidden": "true" });
  setting(setting(scale, "--at", suspect.probability), "--was", suspect.prior);
  const right = suspect.remaining <= 0.5 * suspect.probability;
  const made = h("details", { class: "suspect", "data-key": suspect.key, open },
    h("summary", {},
      h("span", { class: "suspect-name" }, suspect.title, right && h("small", {}, " put right by now")),
      h("span", { class: "suspect-says" }, h("span", { class: "figure" }, percent(suspect.probability)), h("span", {}, suspect.words)),
      scale),
    h("ul", { class: "moved" }, suspect.moved.map(moved)),
    body);
  let asked = false;
  const add = async () => {
    if (asked || !(/** @type {HTMLDetailsElement} */ (made).open)) return;
    asked = true;
    try {
      const { reckoning } = await ask(`/jobs/${encodeURIComponent(job)}/reckoning?suspect=${encodeURIComponent(suspect.key)}`);
      fill(body, sum(reckoning));
    } catch (error) {
      asked = false;
      fill(body, h("p", { class: "source" }, `Not now: ${/** @type {any} */ (error).message}`));
    }
  };
  made.addEventListener("toggle", add);
  if (open) void add();
  return made;
}

/** @param {any} part */
function moved(part) {
  const sign = part.decibans > 0.05 ? "▲ raised by" : part.decibans < -0.05 ? "▼ lowered by" : "■ unmoved by";
  return h("li", {}, `${sign} ${part.evidence} `, h("span", { class: "source" }, `${part.words}, odds × ${times(part.factor)}`));
}

/** @param {number} factor */
function times(factor) {
  return factor >= 0.1 ? factor.toFixed(factor < 10 ? 2 : 0) : factor.toPrecision(1);
}

/** @param {any} found */
function sum(found) {
  const row = (/** @type {string} */ name, /** @type {any} */ part, /** @type {string} */ about = "") => h("tr", {},
    h("td", {}, name, about && h("span", { class: "source" }, ` ${about}`)),
    h("td", { class: "figure" }, signed(part.decibans)),
    h("td", { class: "figure" }, part.probability === undefined ? "" : percent(part.probability)));
  return h("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": `The sum behind ${found.title}` }, h("table", { class: "rows" },
    h("caption", {}, "The sum in decibans: +10 makes the odds ten times as high. The parts add up."),
    h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "Evidence"), h("th", { scope: "col", class: "figure" }, "Decibans"), h("th", { scope: "col", class: "figure" }, "Chance"))),
    h("tbody", {}, row("By the complaint alone", found.at_first),
      found.story.map((/** @type {any} */ part) => row(part.evidence, part, part.words)),
      row("When the device came in", found.came_in),
      found.moved.map((/** @type {any} */ part) => row(part.evidence, part, part.note || part.words)),
      row("Now", found.now))));
}

/** @param {number} decibans */
function signed(decibans) {
  const shown = Math.abs(decibans) < 0.05 ? 0 : decibans;
  return `${shown > 0 ? "+" : shown < 0 ? "−" : "±"}${Math.abs(shown).toFixed(1)}`;
}
