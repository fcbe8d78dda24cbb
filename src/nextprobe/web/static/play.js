// Playing a demo job: a short guide the first time, and at the end what was really wrong.

import { at, fill, h } from "./app.js";
import { ask } from "./api.js";

const DONE = "nextprobe-guided";
const WORDS = [
  "A device has come in; its fault is hidden, and a simulated bench does what you choose. The large sheet is the one step that is advised: read why, then press Enter or its wide key.",
  "The suspects have moved. Tap one to see what raised and lowered it, and by how much. Then do the next step, or choose something else below it.",
  "Every entry stands in the log. A mistake is corrected by a new entry; the record shows both.",
  "Go on until the job is closed. Then you are told what was really wrong.",
];

/** @param {import("./bench.js").Bench} bench */
export function showGuide(bench) {
  const place = at("guide");
  const show = () => {
    if (bench.ended) { fill(place); void tell(bench); return; }
    if (localStorage.getItem(DONE)) return fill(place);
    const turn = Math.min(Math.max(bench.lines.length - 1, 0), WORDS.length - 1);
    fill(place, h("div", { class: "said guide" }, h("p", {}, h("strong", {}, `${turn + 1} of ${WORDS.length}. `), WORDS[turn]),
      h("button", { type: "button", class: "key quiet", onclick: () => { localStorage.setItem(DONE, "1"); fill(place); } }, "I know my way")));
    if (turn === WORDS.length - 1) localStorage.setItem(DONE, "1");
  };
  for (const news of ["entries", "known"]) document.addEventListener(news, show);
  show();
}

/** @param {import("./bench.js").Bench} bench */
async function tell(bench) {
  const told = await ask(`${bench.path}/play`);
  const place = document.getElementById("lesson");
  if (!place || !told.truth) return;
  const verdict = told.cured
    ? told.sold_in_vain.length ? "Repaired, but a good module was sold." : "The right repair."
    : "Not repaired.";
  fill(place, h("div", { class: "said" }, h("p", {}, h("strong", {}, verdict)),
    h("p", {}, `What was really wrong: ${told.truth}.`), told.lesson && h("p", {}, told.lesson)));
}
