// What you know of the board, typed as you go: chains, pinouts, roles, a donor, a remark.

import { at, fill, findingList, h } from "./app.js";
import { ask } from "./api.js";
import { sayValue } from "./quantities.js";

/** @param {import("./bench.js").Bench} bench */
export function showTeach(bench) {
  const place = at("teach");
  fill(place, h("h2", { class: "sheet-name", id: "teach-name" }, "What you know"),
    form(bench, { name: "chain", title: "Add a chain", label: "What is joined to what, a chain a line",
      hint: "J4.12 > C87 100n > U3.AB4", route: "/chains", body: (text) => ({ text }), lines: 2 }),
    form(bench, { name: "pinout", title: "Paste a pinout", label: "A pin a line, or cells from a table", lines: 5,
      hint: "12\tCAM_SDA\t.452", route: "/pinouts", connector: true, body: (text, connector) => ({ text, connector }) }),
    form(bench, { name: "donor", title: "Readings of a donor board", label: "A pin and its reading a line", lines: 4,
      hint: "J2.3 0.459", route: "/readings", connector: true, body: (text, connector) => ({ text, connector, device: "donor" }) }),
    form(bench, { name: "patient", title: "Readings of this board", label: "A pin and its reading a line", lines: 4,
      hint: "J2.3 0.120", route: "/readings", connector: true, body: (text, connector) => ({ text, connector }) }),
    role(bench),
    form(bench, { name: "note", title: "Keep a remark", label: "A remark; it moves no suspect", hint: "", lines: 2, route: "/notes", body: (text) => ({ text }) }),
    h("div", { id: "differences" }));
  document.addEventListener("known", () => differences(bench));
  void differences(bench);
}

/**
 * @param {import("./bench.js").Bench} bench
 * @param {{name: string, title: string, label: string, hint: string, route: string, lines: number,
 *   connector?: boolean, body: (text: string, connector: string) => any}} about
 */
function form(bench, about) {
  const id = `teach-${about.name}`;
  const text = /** @type {HTMLTextAreaElement} */ (h("textarea", { id, rows: about.lines, placeholder: about.hint, spellcheck: "false", class: "figure" }));
  const connector = /** @type {HTMLInputElement} */ (h("input", { id: `${id}-connector`, value: "J1", autocomplete: "off" }));
  const answer = h("div", { role: "status" });
  const send = async () => {
    const typed = text.value;
    if (!typed.trim()) return;
    const said = await bench.enter(about.route, about.body(typed, connector.value.trim() || "J1"), about.title);
    if (!said) return;
    if (text.value === typed) text.value = ""; // what was typed while it waited is not recorded yet
    fill(answer, h("p", { class: "said" }, `Recorded: ${said.recorded.said.join("; ")}`), findingList(said.findings));
  };
  return h("details", { class: "fold", "data-teach": about.name }, h("summary", {}, about.title),
    h("form", { onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); void send(); } },
      about.connector && h("div", { class: "field" }, h("label", { for: `${id}-connector` }, "Connector of pins written without one"), connector),
      h("div", { class: "field" }, h("label", { for: id }, about.label), text),
      h("button", { class: "key" }, "Record"), answer));
}

/** @param {import("./bench.js").Bench} bench */
function role(bench) {
  const point = /** @type {HTMLInputElement} */ (h("input", { id: "role-point", autocomplete: "off", placeholder: "J4.12" }));
  const choice = /** @type {HTMLSelectElement} */ (h("select", { id: "role-word" }));
  void ask("/about").then((about) => fill(choice, about.roles.map((/** @type {string} */ word) => h("option", { value: word }, word))));
  const send = (/** @type {Event} */ event) => {
    event.preventDefault();
    if (point.value.trim()) void bench.enter("/roles", { point: point.value.trim(), role: choice.value }, "role");
  };
  return h("details", { class: "fold", "data-teach": "role" }, h("summary", {}, "Say what a pin is for"),
    h("form", { onsubmit: send }, h("div", { class: "field" }, h("label", { for: "role-point" }, "Pin"), point),
      h("div", { class: "field" }, h("label", { for: "role-word" }, "Its role"), choice), h("button", { class: "key" }, "Record")));
}

/** @param {import("./bench.js").Bench} bench */
async function differences(bench) {
  const place = document.getElementById("differences");
  if (!place) return;
  const found = await ask(`${bench.path}/differences?most=12`).catch(() => ({ differences: [] }));
  if (!found.differences.length) return fill(place);
  fill(place, h("h3", {}, "Against boards that work, worst first"),
    h("table", { class: "rows differences" },
      h("thead", {}, h("tr", {}, ["Pin", "This board", "A good board"].map((word) => h("th", { scope: "col" }, word)))),
      found.differences.map(difference)));
}

/** The readings, and below them what they suggest: side by side there is no room for words. @param {any} row */
function difference(row) {
  const value = (/** @type {any} */ of) => h("span", { class: "figure" }, sayValue(of, row.mode));
  return h("tbody", {}, h("tr", {}, h("th", { scope: "row" }, row.point), h("td", {}, value(row.patient)),
    h("td", {}, value(row.good), h("span", { class: "source" }, ` ${row.source}`))),
  h("tr", {}, h("td", { colspan: "3" }, row.kind === "alike" ? row.amount : [`${row.suggests} `, h("span", { class: "source" }, `(${row.amount})`)])));
}
