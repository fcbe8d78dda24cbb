// A rehearsal of a pack: started, watched, stopped; its figures and pictures.

import { fill, h, money, trouble } from "./app.js";
import { ask, newKey, post } from "./api.js";

const EVERY = 1500;
const STRATEGIES = /** @type {Record<string, string>} */ ({
  nextprobe: "Nextprobe", fixed_order: "the trade's order", best_static: "best static order",
  informed_order: "the trade's order with our inference", informed_static: "best static order with our inference", probe_all: "probe everything first",
  p_over_c: "p/c order", information_gain: "information gain", perfect_knowledge: "perfect knowledge",
});

/** @param {any} pack */
export function rehearsalOf(pack) {
  const path = `/packs/${encodeURIComponent(pack.name)}/rehearsal`;
  const said = h("p", { role: "status" });
  const detail = h("div");
  const result = h("div");
  const devices = /** @type {HTMLInputElement} */ (h("input", { id: `devices-${pack.name}`, type: "number", min: "1", max: "2000", value: "20" }));
  const complaint = /** @type {HTMLSelectElement} */ (h("select", { id: `rehearsed-${pack.name}` }, h("option", { value: "" }, "every function"),
    Object.entries(pack.functions).map(([name, title]) => h("option", { value: name }, String(title)))));
  let timer = 0;
  const look = async () => {
    clearTimeout(timer);
    const found = await ask(path).catch(() => null);
    if (!found) return;
    const [stage, ...more] = words(found, stop);
    // What is read aloud changes with the stage, and not with every device.
    if (said.textContent !== stage) said.textContent = stage;
    fill(detail, more);
    if (found.running) timer = setTimeout(look, EVERY);
    fill(result, found.report && figures(found, `/api/v1${path}`));
  };
  const stop = () => post(`${path}/stop`, { key: newKey() }).then(look, trouble);
  const start = (/** @type {Event} */ event) => {
    event.preventDefault();
    post(path, { key: newKey(), devices: Number(devices.value), complaint: complaint.value }).then(look, trouble);
  };
  void look();
  return h("div", {},
    h("p", {}, "The same simulated devices go to our advice, to other strategies and to somebody who knows the fault. It runs in a process of its own; the bench stays free."),
    h("form", { onsubmit: start, class: "rehearse" },
      h("div", { class: "field" }, h("label", { for: devices.id }, "Simulated devices"), devices),
      h("div", { class: "field" }, h("label", { for: complaint.id }, "Which function fails"), complaint),
      h("button", { class: "key" }, "Start")),
    h("div", { "data-state": "" }, said, detail), result);
}

/** The stage it is in, then what shows how far it is. @param {any} found @param {() => void} stop @returns {[string, ...(HTMLElement | string)[]]} */
function words(found, stop) {
  if (found.failed) return ["", h("p", { class: "trouble" }, `It did not run to its end: ${found.failed}`)];
  if (!found.planned) return [""];
  if (found.running) {
    const [stage, ...more] = going(found);
    return [stage, ...more, h("button", { type: "button", class: "key", onclick: stop }, "Stop it; what was played is shown")];
  }
  const text = found.stopped ? `Stopped after ${found.done} of ${found.planned} devices` : `${found.done} devices are played`;
  return [text, bar(text, found.done, found.planned)];
}

/** What it does just now: orders are tuned first, which may take longer than the devices. @param {any} found @returns {[string, ...(HTMLElement | string)[]]} */
function going(found) {
  const { doing, about, done, of, left } = found.progress ?? { doing: "", done: 0, of: 1 };
  const time = left === null || left === undefined ? "" : `; ${spell(left)} still`;
  if (!doing) return ["The pack is opened …", bar("The pack is opened", 0, 1)];
  if (doing.startsWith("tuning")) return [
    "First a strong rival: for each function the best fixed order of steps is sought, on devices that are not scored.",
    h("p", {}, `${about || "It begins"}${time && `${time} at most`}.`), bar("Orders tried", done, of)];
  const text = `${found.done} of ${found.planned} devices are played`;
  return ["Now the devices are played.", h("p", {}, `${text}${time}.`), bar(text, found.done, found.planned)];
}

/** @param {string} name @param {number} value @param {number} max */
function bar(name, value, max) {
  return h("progress", { max, value: String(value), "aria-label": name });
}

/** @param {number} seconds */
function spell(seconds) {
  return seconds < 90 ? `about ${Math.max(5, Math.round(seconds / 5) * 5)}\u00a0s` : seconds < 5400 ? `about ${Math.round(seconds / 60)}\u00a0min` : `about ${Math.round(seconds / 3600)}\u00a0h`;
}

/** @param {any} found @param {string} base */
function figures(found, base) {
  const { report, currency } = found;
  const row = (/** @type {[string, any]} */ [name, score]) => h("tr", {}, h("th", { scope: "row" }, STRATEGIES[name] ?? name),
    h("td", { class: "figure" }, money(score.mean_cost, currency), h("span", { class: "source" }, score.ci95.every(Number.isFinite) ? ` (${money(score.ci95[0], currency)} to ${money(score.ci95[1], currency)})` : "")),
    h("td", { class: "figure" }, `${Math.round(score.mean_minutes)} min`), h("td", { class: "figure" }, `${Math.round(score.right * report.devices)} of ${report.devices}`),
    h("td", { class: "figure" }, String(score.sold_in_vain)));
  return [
    h("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": "Figures of the rehearsal" }, h("table", { class: "rows" },
      h("caption", {}, `${report.devices} simulated devices; intervals hold 95 %. Our own simulator, rates of common practice.`),
      h("thead", {}, h("tr", {}, h("th", { scope: "col" }, "Strategy"), ...["Cost of a job", "Hands on", "Right repair", "Sold in vain"].map((word) => h("th", { scope: "col", class: "figure" }, word)))),
      h("tbody", {}, Object.entries(report.strategies).map(row)))),
    h("div", { class: "plots" }, found.plots.map((/** @type {string} */ name) => h("img", { src: `${base}/plots/${name}?of=${found.started}`, alt: `Picture of the rehearsal: ${name}` }))),
  ];
}
