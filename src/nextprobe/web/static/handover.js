// Deciding and handing over: what it may still cost, what to check, and the close with the record.

import { at, fill, h, money, percent } from "./app.js";
import { ask } from "./api.js";

/** @param {import("./bench.js").Bench} bench */
export function showHandover(bench) {
  const place = at("handover");
  const quote = h("div");
  const checks = h("div");
  const closing = h("div");
  fill(place, h("h2", { class: "sheet-name", id: "handover-name" }, "Decide and hand over"), quote, checks, closing);
  const refresh = async () => {
    if (bench.ended) fill(quote, h("dl", { class: "facts" }, spent(bench.overview, "time, parts and risk, all in all")));
    else {
      const found = await ask(`${bench.path}/quote`).catch(() => null);
      fill(quote, found && estimate(found.quote));
    }
    fill(closing, !bench.ended && ways(bench));
    const { verification } = await ask(`${bench.path}/verification`).catch(() => ({ verification: null }));
    fill(checks, verification && list(bench, verification));
  };
  document.addEventListener("known", refresh);
  if (bench.stepsVersion >= 0) void refresh();
}

/** @param {any} from what knows it @param {string} about */
function spent(from, about) {
  return h("div", {}, h("dt", {}, "Spent"), h("dd", { class: "figure" }, money(from.spent, from.currency)), h("dd", { class: "source" }, about));
}

/** @param {any} quote */
function estimate(quote) {
  const say = (/** @type {number} */ amount) => money(amount, quote.currency);
  const span = say(quote.low) === say(quote.high) ? say(quote.low) : `${say(quote.low)} to ${say(quote.high)}`;
  return h("dl", { class: "facts" }, spent(quote, "time, parts and risk so far"),
    h("div", {}, h("dt", {}, "Still to come"), h("dd", { class: "figure" }, say(quote.to_come)),
      h("dd", { class: "source" }, `expected, with what may come back; eight of ten such jobs take ${span}`)),
    quote.within_ceiling !== null && quote.ceiling !== null && h("div", {}, h("dt", {}, `Stays within ${say(quote.ceiling)}`),
      h("dd", { class: "figure" }, percent(quote.within_ceiling)), h("dd", { class: "source" }, "chance, by all that is believed now")));
}

/** @param {import("./bench.js").Bench} bench @param {any} found */
function list(bench, found) {
  const row = (/** @type {any} */ check) => h("tr", {},
    h("th", { scope: "row" }, check.title, check.complaint ? " (the complaint)" : ""),
    h("td", {}, check.last ? `${check.stands ? "✓" : "○"} ${check.last}${check.stands ? "" : ", but something was done since"}` : "○ not checked"),
    h("td", {}, !bench.ended && h("button", { type: "button", class: "key quiet", "aria-label": `Check ${check.title} now`, onclick: () => bench.choose(check.step) }, "Check")));
  const left = found.checks.filter((/** @type {any} */ each) => !each.stands).map((/** @type {any} */ each) => each.title);
  return h("details", { class: "fold" }, h("summary", {}, bench.ended ? "What was verified before it went" : "To verify before it goes",
    h("small", {}, `${found.checks.length - left.length} of ${found.checks.length} checked since the last work`)),
  h("table", { class: "rows" }, h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "Function"), h("th", { scope: "col" }, "Last check"), h("th", { scope: "col" }, h("span", { class: "away" }, "Do it")))),
    h("tbody", {}, found.checks.map(row))),
  bench.ended === "close" && left.length > 0 && h("p", { class: "caution" }, h("strong", {}, "▲ It went unchecked: "), `since the last work nobody has checked ${left.join(", ")}`),
  found.unproven.length > 0 && h("p", { class: "caution" }, h("strong", {}, "▲ Not proved: "), `nothing shows that the original was bad: ${found.unproven.join(", ")}`));
}

/** @param {import("./bench.js").Bench} bench */
function ways(bench) {
  const names = /** @type {const} */ ([["close", "Close: repaired and handed over"], ["decline", "Decline the repair"], ["escalate", "Hand on to an open-ended search"]]);
  const sure = h("div", { role: "status" });
  const askOnce = (/** @type {string} */ id, /** @type {string} */ title) => fill(sure,
    h("p", {}, `${title}? The record is complete then; nothing more can be added.`),
    h("div", { class: "keys" }, h("button", { type: "button", class: "key main", onclick: () => bench.end({ id, title }) }, "Yes, end the job"),
      h("button", { type: "button", class: "key", onclick: () => fill(sure) }, "No, go on")));
  return h("details", { class: "fold", "data-ways": "" }, h("summary", {}, "End the job"),
    h("div", { class: "keys" }, names.map(([id, title]) => h("button", { type: "button", class: "key", onclick: () => askOnce(id, title) }, title))), sure);
}
