// Today's jobs: where each stands and what comes next; and jobs to learn from.

import { at, clock, fill, h, trouble } from "./app.js";
import { ask, newKey, post } from "./api.js";

const ENDINGS = /** @type {Record<string, string>} */ ({ close: "Closed", decline: "Declined", escalate: "Handed on" });
const MOST_ASKED = 12;

async function showJobs() {
  const { jobs } = await ask("/jobs");
  if (!jobs.length) {
    fill(at("jobs"), h("div", { class: "sheet" }, h("p", {}, "No device is on the bench. Take one in, or play a demo job below.")));
    return;
  }
  const rows = jobs.map((/** @type {any} */ job) => row(job));
  fill(at("jobs"), rows);
  const going = jobs.filter((/** @type {any} */ job) => job.readable && !job.ending).slice(0, MOST_ASKED);
  for (const job of going) await further(job);
}

/** @param {any} job */
function row(job) {
  const place = `/jobs/${encodeURIComponent(job.job)}`;
  const where = !job.readable ? "What is stored is damaged; nothing was changed" : job.ending ? ENDINGS[job.ending] : "";
  return h("a", { class: "job-row", href: place, "data-job": job.job },
    h("div", {}, h("p", {}, h("strong", {}, job.device || job.title), job.complaint && ` · ${job.complaint_title} does not work `, h("span", { class: "source" }, job.job)),
      job.says && h("p", {}, h("q", {}, job.says)),
      h("p", { class: "job-next" }, where || "…"),
      h("p", { class: "source job-last" }, job.changed ? `Last entry ${clock(job.changed)}` : "")));
}

/** Say what comes next, once it is computed. @param {any} job */
async function further(job) {
  const shown = document.querySelector(`[data-job="${CSS.escape(job.job)}"]`);
  const path = `/jobs/${encodeURIComponent(job.job)}`;
  try {
    const [steps, log] = await Promise.all([ask(`${path}/steps?most=1`), ask(`${path}/events?after=${Math.max(job.version - 1, 0)}`)]);
    const next = shown?.querySelector(".job-next");
    const last = shown?.querySelector(".job-last");
    if (next) fill(next, steps.steps[0] ? `Next: ${steps.steps[0].title}` : "");
    if (last && log.events.length) fill(last, `Last entry ${clock(log.events.at(-1).time)}: ${log.events.at(-1).said.join("; ")}`);
  } catch (error) {
    const next = shown?.querySelector(".job-next");
    if (next) next.textContent = String(/** @type {any} */ (error).message);
  }
}

async function showPlay() {
  const { jobs } = await ask("/play");
  const start = async (/** @type {any} */ job, seed = 1) => {
    try {
      const started = await post("/play", { key: newKey(), pack: job.pack, name: job.name, seed });
      location.assign(`/jobs/${encodeURIComponent(started.job)}`);
    } catch (error) { trouble(error); }
  };
  const device = (/** @type {any} */ job, /** @type {number} */ place) => h("li", { class: "play-row" },
    h("div", {}, h("p", {}, h("strong", {}, job.device), ` · ${job.complaint} does not work`), h("p", {}, h("q", {}, job.says))),
    h("button", { type: "button", class: place === 0 ? "key main" : "key", "data-play": job.name, "aria-label": `Play this job: ${job.device}, ${job.says}`, onclick: () => start(job) }, "Play this job"));
  // What misleads comes first: it is the job that shows most.
  const [first, ...rest] = [...jobs].sort((one, other) => Number(other.name === "stale") - Number(one.name === "stale"));
  fill(at("play"), h("h2", { class: "sheet-name", id: "play-name" }, "Play a job: a simulated device with a hidden fault answers"),
    first && h("ul", { class: "plain" }, device(first, 0)),
    h("details", { class: "fold" }, h("summary", {}, "Other jobs", h("small", {}, `${rest.length} more`)),
      h("ul", { class: "plain" }, rest.map((job) => device(job, 1)))));
  const words = new URLSearchParams(location.search);
  const meant = jobs.find((/** @type {any} */ job) => job.name === words.get("play") && job.pack === (words.get("pack") ?? job.pack));
  if (meant) { history.replaceState(null, "", "/"); void start(meant, Number(words.get("seed") ?? 1)); }
}

showPlay().catch(trouble);
showJobs().catch(trouble);
addEventListener("pageshow", (event) => { if (event.persisted) showJobs().catch(trouble); });
