// The log: every entry in its order; corrections and withdrawals stand beside what they replace.

import { clock, fill, h } from "./app.js";

const ENDINGS = /** @type {Record<string, string>} */ ({ close: "closed and handed over", decline: "repair declined", escalate: "handed on" });
const KINDS = /** @type {Record<string, string>} */ ({
  started: "taken in", "moves recorded": "", note: "note", withdrawn: "withdrawn", corrected: "corrected",
});

/**
 * @param {HTMLElement} place @param {any[]} lines @param {Set<number>} standing
 * @param {import("./bench.js").Bench} bench
 */
export function showLog(place, lines, standing, bench) {
  const after = new Map(lines.filter((line) => line.supersedes).map((line) => [line.supersedes, line]));
  fill(place, h("h2", { class: "sheet-name", id: "log-name" }, "The log"),
    h("ol", { class: "log", reversed: true }, [...lines].reverse().map((line) => entry(line, standing, after, bench))));
}

/** @param {any} line @param {Set<number>} standing @param {Map<number, any>} after @param {import("./bench.js").Bench} bench */
function entry(line, standing, after, bench) {
  const stands = standing.has(line.event);
  const by = after.get(line.event);
  const said = line.kind === "closed" ? [ENDINGS[line.said[0]]] : line.said.length ? line.said : [line.kind];
  const changes = line.supersedes ? h("p", { class: "source" }, `in the place of entry ${line.supersedes}`) : null;
  const ended = h("p", { class: "source" }, by ? `no longer counts: see entry ${by.event}` : "does not count");
  return h("li", { class: stands ? "entry" : "entry gone", value: line.event, "data-event": line.event },
    h("p", {}, h("span", { class: "figure entry-number" }, `${line.event} · ${clock(line.time)} `),
      KINDS[line.kind] && h("strong", {}, `${KINDS[line.kind]}: `),
      stands ? said.join("; ") : h("s", {}, said.join("; "))),
    changes, !stands && !line.supersedes && ended, !stands && line.supersedes && by && ended,
    stands && line.event > 1 && !bench.ended && !line.supersedes && amend(line, bench));
}

/** @param {any} line @param {import("./bench.js").Bench} bench */
function amend(line, bench) {
  const field = /** @type {HTMLInputElement} */ (h("input", {
    autocomplete: "off", "aria-label": `What entry ${line.event} should have said`, placeholder: "works, fails, 0.452 …",
  }));
  return h("details", { class: "amend" }, h("summary", { "aria-label": `Amend entry ${line.event}` }, "amend"),
    h("form", {
      class: "amend-form",
      onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); if (field.value.trim()) void bench.correct(line.event, field.value.trim()); },
    }, field, h("button", { class: "key" }, "Correct"),
    h("button", { type: "button", class: "key", onclick: () => bench.withdraw(line.event) }, "Withdraw")));
}
