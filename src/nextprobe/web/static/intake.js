// Taking a device in: what works, what does not, what happened, what may be risked.

import { at, fill, findingList, h, trouble } from "./app.js";
import { ask, Outbox } from "./api.js";

const NONE = "";
const RESULTS = /** @type {const} */ ([["", "not tried"], ["works", "works"], ["fails", "fails"]]);
const outbox = new Outbox("intake", (waiting, connected) => {
  const state = document.getElementById("intake-state");
  if (state) state.textContent = waiting && !connected ? "Not connected: the intake is kept and sent as soon as the bench answers." : "";
});

const form = /** @type {HTMLFormElement} */ (at("intake"));
const guided = h("div");
let guidance = Promise.resolve();

async function open() {
  const { packs, templates } = await ask("/packs");
  const usable = packs.filter((/** @type {any} */ pack) => pack.usable);
  const choices = [
    ...usable.map((/** @type {any} */ pack) => ["pack", pack.name, pack.device]),
    ["bare", "", "No pack: start from the complaint alone"],
  ];
  fill(form,
    h("fieldset", {}, h("legend", {}, "Which device"),
      h("div", { class: "choices" }, choices.map(([kind, name, words], place) => radio("source", `${kind}:${name}`, words, place === 0)))),
    guided,
    h("fieldset", {}, h("legend", {}, "What the customer says"),
      h("div", { class: "field" }, h("label", { for: "says" }, "In their words"), h("textarea", { id: "says", name: "says", rows: "2" }))),
    h("div", { id: "happened" }),
    h("fieldset", {}, h("legend", {}, "What may be risked"),
      h("div", { class: "choices" }, tick("may_wipe", "The data may be wiped"), tick("may_unpair", "Paired parts may be lost")),
      h("div", { class: "field" }, h("label", { for: "ceiling" }, "The most it may cost", h("span", { id: "currency" }), "; as the pack says if left empty"),
        h("input", { id: "ceiling", name: "ceiling", inputmode: "decimal", autocomplete: "off" }))),
    h("p", { id: "intake-state", role: "status" }),
    h("div", { class: "keys" }, h("button", { class: "key main" }, "Take it in"), h("a", { class: "key quiet", href: "/" }, "Not now")),
    h("div", { id: "after" }));
  form.addEventListener("change", (event) => {
    if (/** @type {HTMLInputElement} */ (event.target).name !== "source") return;
    guidance = guide(usable, templates);
    guidance.catch(trouble);
  });
  form.addEventListener("submit", (event) => { event.preventDefault(); void send(); });
  guidance = guide(usable, templates);
  await guidance;
}

/** @param {string} name @param {string} value @param {string} words @param {boolean} [checked] */
function radio(name, value, words, checked = false) {
  return h("label", { class: "choice" }, h("input", { type: "radio", name, value, checked }), h("span", {}, words));
}

/** @param {string} name @param {string} words */
function tick(name, words) {
  return h("label", { class: "choice" }, h("input", { type: "checkbox", name, value: words }), h("span", {}, words));
}

/** @param {string} name */
function chosen(name) {
  return String(new FormData(form).get(name) ?? NONE);
}

/** Ask what the chosen device calls for; an answer that comes after another choice is not shown. @param {any[]} packs @param {string[]} templates */
async function guide(packs, templates) {
  const source = chosen("source");
  const [kind, name] = split(source);
  const pending = ask(kind === "pack" ? `/packs/${encodeURIComponent(name)}` : `/templates/${encodeURIComponent(templates[0])}`);
  stale(true);
  if (kind !== "pack") unknown(templates);
  const { pack } = await pending;
  if (chosen("source") !== source) return;
  if (kind === "pack") fill(guided, functions(pack));
  asOf(pack);
  stale(false);
}

/** What was asked for another device can not be answered any more. @param {boolean} on */
function stale(on) {
  form.setAttribute("aria-busy", String(on));
  guided.inert = at("happened").inert = on;
}

/** Ask what to know of a device that has no pack. @param {string[]} templates */
function unknown(templates) {
  fill(guided,
    h("fieldset", {}, h("legend", {}, "What fails"),
      h("div", { class: "choices" }, templates.map((word, place) => radio("template", word, word, place === 0)))),
    h("fieldset", {}, h("legend", {}, "What it is"),
      h("div", { class: "field" }, h("label", { for: "device" }, "Make and type, as on its label"), h("input", { id: "device", name: "device", autocomplete: "off" }))),
    bare());
}

/** @param {string} text @returns {[string, string]} */
function split(text) {
  const place = text.indexOf(":");
  return [text.slice(0, place), text.slice(place + 1)];
}

/** @param {any} pack */
function functions(pack) {
  const names = Object.entries(pack.functions);
  return [
    h("fieldset", {}, h("legend", {}, "What the complaint is"),
      h("div", { class: "choices" }, names.map(([name, each], place) => radio("complaint", name, /** @type {any} */ (each).title, place === 0)))),
    h("fieldset", {}, h("legend", {}, "What works, what does not"),
      h("p", { class: "source" }, "Before it is opened: try what you can, leave out what you can not. Each answer is evidence."),
      names.map(([name, each]) => check(name, /** @type {any} */ (each)))),
  ];
}

/** @param {string} name @param {any} about */
function check(name, about) {
  return h("div", { class: "function-row", role: "radiogroup", "aria-label": about.title },
    h("div", {}, h("p", {}, h("strong", {}, about.title)), h("p", { class: "source" }, about.check.how),
      about.cautions.length > 0 && h("details", { class: "care" }, h("summary", {}, "▲ Take care"), h("ul", { class: "source" }, about.cautions.map((/** @type {string} */ text) => h("li", {}, text))))),
    h("div", { class: "choices" }, RESULTS.map(([value, words]) => radio(`check:${name}`, value, words, value === ""))));
}

/** Say what depends on the pack below its functions. @param {any} pack */
function asOf(pack) {
  fill(at("currency"), ` in ${pack.costs.currency}`);
  happened(Object.keys(pack.history));
}

/** @param {string[]} words */
function happened(words) {
  fill(at("happened"), h("fieldset", {}, h("legend", {}, "What happened before"),
    h("div", { class: "choices" }, words.map((word) => h("label", { class: "choice" }, h("input", { type: "checkbox", name: "history", value: word }), h("span", {}, word))))));
}

/** What can be pasted at once where there is no pack. */
function bare() {
  const text = (/** @type {string} */ id, /** @type {string} */ label, /** @type {string} */ hint, lines = 5) =>
    h("div", { class: "field" }, h("label", { for: id }, label), h("textarea", { id, name: id, rows: lines, placeholder: hint, spellcheck: "false", class: "figure" }));
  return h("details", { class: "fold" }, h("summary", {}, "A pinout and readings, if you have them", h("small", {}, "may come later, at the bench")),
    h("div", { class: "field" }, h("label", { for: "connector" }, "Connector"), h("input", { id: "connector", name: "connector", value: "J1", autocomplete: "off" })),
    text("pinout", "Pinout: a pin a line, or cells pasted from a table", "12\tCAM_SDA\t.452"),
    h("div", { class: "columns" },
      text("donor", "A donor that works: pin and reading", "3 0.459\n5 0.455"),
      text("patient", "This board: pin and reading", "3 0.120\n5 0.454")));
}

/** @returns {any} */
function said() {
  const data = new FormData(form);
  const [kind, name] = split(chosen("source"));
  const ceiling = chosen("ceiling").trim().replace(",", ".");
  const common = {
    says: chosen("says"), history: data.getAll("history"), may_wipe: data.has("may_wipe"), may_unpair: data.has("may_unpair"),
    ...(ceiling ? { ceiling: Number(ceiling) } : {}),
  };
  if (kind !== "pack") return { ...common, template: chosen("template"), device: chosen("device").trim() || "device" };
  const checks = Object.fromEntries([...data.entries()].filter(([field, value]) => field.startsWith("check:") && value)
    .map(([field, value]) => [field.slice(6), value]));
  return { ...common, pack: name, complaint: chosen("complaint"), checks };
}

async function send() {
  const key = /** @type {HTMLButtonElement} */ (form.querySelector("button.main"));
  key.disabled = true;
  try {
    await guidance;
    const started = await outbox.send("/jobs", said(), "intake");
    const path = `/jobs/${encodeURIComponent(started.job)}`;
    const findings = [...started.findings, ...await further(path)];
    if (!findings.length) { location.assign(path); return; }
    fill(at("after"), h("div", { class: "said", role: "status" }, h("p", {}, "It is taken in. Worth knowing:"), findingList(findings),
      h("a", { class: "key main", href: path }, "To the bench")));
    at("after").querySelector("a")?.focus();
  } catch (error) {
    trouble(error);
    key.disabled = false;
  }
}

/** Record what was pasted with the intake. @param {string} path @returns {Promise<any[]>} */
async function further(path) {
  const connector = chosen("connector").trim() || "J1";
  const found = [];
  const parts = /** @type {const} */ ([["pinout", "/pinouts", {}], ["donor", "/readings", { device: "donor" }], ["patient", "/readings", {}]]);
  for (const [field, route, more] of parts) {
    const text = chosen(field).trim();
    if (!text) continue;
    try {
      found.push(...(await outbox.send(path + route, { text, connector, ...more }, field)).findings);
    } catch (error) {
      const failed = /** @type {any} */ (error);
      found.push({ severity: "error", what: `${field}: ${failed.message}`, remedy: "paste it again at the bench", where: {} }, ...failed.findings ?? []);
    }
  }
  return found;
}

document.addEventListener("entry-sent", (event) => {
  const { job } = /** @type {CustomEvent} */ (event).detail;
  form.before(h("div", { class: "said guide", role: "status" }, h("p", {}, "A device that was taken in while the bench did not answer is recorded now."),
    h("a", { class: "key", href: `/jobs/${encodeURIComponent(job)}` }, `To its bench: ${job}`)));
});

open().catch(trouble);
void outbox.flush();
