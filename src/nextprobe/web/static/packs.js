// Packs: what each can and can not tell apart, and rehearsals on simulated devices.

import { at, fill, findingList, h, percent, setting, trouble } from "./app.js";
import { ask } from "./api.js";
import { rehearsalOf } from "./rehearsal.js";

const FIRST = 6;

async function open() {
  const { packs } = await ask("/packs");
  fill(at("packs"), packs.map((/** @type {any} */ pack) => (pack.usable ? one(pack)
    : h("section", { class: "sheet" }, h("h2", {}, pack.name), h("p", {}, "This pack can not be used as it is: run 'nextprobe pack check' on it.")))));
}

/** @param {any} pack */
function one(pack) {
  const known = h("div", { class: "known" });
  const choice = /** @type {HTMLSelectElement} */ (h("select", { id: `complaint-${pack.name}` },
    Object.entries(pack.functions).map(([name, title]) => h("option", { value: name }, String(title)))));
  const show = async () => {
    fill(known, h("p", { role: "status" }, "Trying every test on every fault …"));
    try {
      const found = await ask(`/packs/${encodeURIComponent(pack.name)}/testability?complaint=${encodeURIComponent(choice.value)}`);
      fill(known, testability(found));
    } catch (error) { fill(known); trouble(error); }
  };
  choice.addEventListener("change", show);
  return h("section", { class: "sheet graduated", "data-pack": pack.name },
    h("h2", {}, pack.device, " ", h("small", {}, pack.name)),
    h("p", {}, `Functions: ${Object.values(pack.functions).join(" · ")}`),
    h("details", { class: "fold", ontoggle: (/** @type {Event} */ event) => { if (/** @type {HTMLDetailsElement} */ (event.target).open && !known.childElementCount) void show(); } },
      h("summary", {}, "What it can and can not tell apart"),
      h("div", { class: "field" }, h("label", { for: choice.id }, "When this fails"), choice), known),
    h("details", { class: "fold", "data-rehearsal": "" }, h("summary", {}, "Rehearse it on simulated devices"), rehearsalOf(pack)));
}

/** @param {any} found */
function testability(found) {
  const tests = Object.entries(found.tests).map(([kind, count]) => `${count} × ${kind}`).join(", ");
  const isolated = Object.entries(found.isolated).map(([most, share]) => h("tr", {},
    h("th", { scope: "row" }, `at most ${most}`), h("td", { class: "figure" }, percent(Number(share))), h("td", {}, bar(Number(share)))));
  return [
    h("dl", { class: "facts" },
      fact("Faults", String(found.faults), "families that explain the complaint"),
      fact("Detected", percent(found.detected), "by looks, checks and readings"),
      fact("One repair", percent(found.isolated_to_one_repair), "isolated so far that one repair is left"),
      fact("Left together", found.mean_ambiguity_group.toFixed(1), "faults, in the mean, when all tests are done")),
    h("p", { class: "source" }, `Tests: ${tests}. Terms of IEEE Std 1522; shares of complaints by the rates of the pack.`),
    h("div", { class: "columns" },
      h("div", {}, h("h3", {}, "How few faults remain"), h("table", { class: "rows" },
        h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "Faults left"), h("th", { scope: "col", class: "figure" }, "Of complaints"), h("th", { scope: "col" }, h("span", { class: "away" }, "As a bar")))), h("tbody", {}, isolated))),
      h("div", {}, h("h3", {}, "What no test tells apart"), h("ul", {}, found.ambiguity_groups.filter((/** @type {any} */ group) => group.faults.length > 1).slice(0, 12)
        .map((/** @type {any} */ group) => together(group))),
      found.undetected.length > 0 && [h("h3", {}, "What no look, check or reading shows"), h("ul", {}, found.undetected.slice(0, 12)
        .map((/** @type {any} */ fault) => h("li", {}, fault.title, h("span", { class: "source" }, ` ${percent(fault.share)} of complaints`))))])),
    findingList(found.findings),
  ];
}

/** Faults that stay together; the first few, and the others where somebody asks. @param {any} group */
function together(group) {
  const more = group.titles.slice(FIRST);
  return h("li", {}, group.titles.slice(0, FIRST).join(" · "), h("span", { class: "source" }, ` ${percent(group.share)} of complaints`),
    more.length > 0 && h("details", { class: "amend" }, h("summary", {}, `and ${more.length} more`), more.join(" · ")));
}

/** @param {number} share */
function bar(share) {
  return setting(h("div", { class: "reach wide-reach", "aria-hidden": "true" }), "--at", share);
}

/** @param {string} name @param {string} value @param {string} about */
function fact(name, value, about) {
  return h("div", {}, h("dt", {}, name), h("dd", { class: "figure" }, value), h("dd", { class: "source" }, about));
}

open().catch(trouble);
