// What each outcome of a step would mean; of a run the pins that matter, the rest folded with a count.

import { h, money, percent, setting } from "./app.js";

const SHOWN = 3;
const AT_PIN = /^(\S+) (near zero|low|high|over-range)$/;
const WORDS = /** @type {Record<string, string>} */ ({
  works: "It works", fails: "It fails", "refresh failed": "The refresh fails", nothing: "Nothing to see",
  done: "Done", "something else": "Some other point surprises",
});

/** @param {string} label */
export function outcomeWord(label) {
  return WORDS[label] ?? capital(label);
}

/** @param {string} text */
export function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** @param {any[]} branches @param {string} currency @returns {HTMLElement[]} */
export function forkOf(branches, currency) {
  const likely = [...branches].sort((one, other) => other.probability - one.probability);
  const pins = grouped(likely);
  if (pins.size < 2) return likely.map((branch) => meaning(branch, branch.label, currency));
  const rest = likely.filter((branch) => !AT_PIN.test(branch.label));
  const [first, more] = [[...pins].slice(0, SHOWN), [...pins].slice(SHOWN)];
  const one = (/** @type {[string, any[]]} */ [pin, found]) => pinFold(pin, found, currency);
  return [
    ...rest.map((branch) => meaning(branch, branch.label, currency)),
    h("div", { class: "pin-folds" }, first.map(one), more.length > 0 && h("details", { class: "fold" },
      h("summary", {}, `${more.length} more ${more.length === 1 ? "pin" : "pins"}`, h("small", { class: "figure" }, percent(sum(more.flatMap(([, found]) => found))))),
      more.map(one))),
  ];
}

/** Outcomes by pin, the pin that most likely surprises first. @param {any[]} branches */
function grouped(branches) {
  /** @type {Map<string, any[]>} */
  const found = new Map();
  for (const branch of branches) {
    const pin = AT_PIN.exec(branch.label)?.[1];
    if (pin) found.set(pin, [...found.get(pin) ?? [], branch]);
  }
  return new Map([...found].sort(([, one], [, other]) => sum(other) - sum(one)));
}

/** @param {any[]} branches */
function sum(branches) {
  return branches.reduce((all, { probability }) => all + probability, 0);
}

/** @param {string} pin @param {any[]} branches @param {string} currency */
function pinFold(pin, branches, currency) {
  const leading = AT_PIN.exec(branches[0].label)?.[2];
  return h("details", { class: "fold pin-fold", "data-pin": pin },
    h("summary", {}, h("span", {}, `${pin} surprises`, h("span", { class: "source" }, `, most likely it reads ${leading}`)), h("small", { class: "figure" }, percent(sum(branches)))),
    h("div", { class: "meanings" }, branches.map((branch) => meaning(branch, AT_PIN.exec(branch.label)?.[2] ?? branch.label, currency))));
}

/** @param {any} branch @param {string} name @param {string} currency */
function meaning(branch, name, currency) {
  return h("div", { class: "meaning", "data-label": branch.label },
    h("p", { class: "meaning-name" }, h("span", {}, outcomeWord(name)), h("span", { class: "figure" }, percent(branch.probability))),
    setting(h("div", { class: "reach", "aria-hidden": "true" }), "--at", branch.probability),
    branch.title && h("p", {}, "Then: ", branch.title,
      branch.cost !== null && h("span", { class: "source" }, ` — ${money(branch.cost, currency)} from there`)));
}

/** Say below an outcome what it would make of the suspects. @param {HTMLElement} fork @param {any} found */
export function showMoves(fork, found) {
  const place = [...fork.querySelectorAll("[data-label]")].find((each) => /** @type {HTMLElement} */ (each).dataset.label === found.label);
  if (!place || place.querySelector("ul")) return;
  place.append(h("ul", { class: "moved" }, found.likeliest.slice(0, SHOWN).map((/** @type {any} */ suspect) => h("li", {},
    suspect.title, " ", h("span", { class: "figure" }, `${percent(suspect.before)} → ${percent(suspect.after)}`),
    h("span", { class: "source" }, ` ${suspect.words}`)))));
  const fold = place.closest(".pin-fold");
  const raised = [...found.likeliest].sort((one, other) => other.factor - one.factor)[0];
  if (!raised || raised.factor <= 1 || place !== fold?.querySelector("[data-label]")) return;
  fold.querySelector("summary span")?.append(h("span", { class: "pin-points" }, `points to ${raised.title}, `, h("span", { class: "figure" }, `${percent(raised.before)} → ${percent(raised.after)}`)));
}
