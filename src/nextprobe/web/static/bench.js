// The bench of one job: holds what is known, and hands it to the parts of the page.

import { at, fill, h, money, percent, trouble, whenIdle } from "./app.js";
import { ask, Outbox } from "./api.js";
import { showAloud } from "./aloud.js";
import { showBoard } from "./board.js";
import { Foot } from "./foot.js";
import { LiveChannel } from "./live.js";
import { showLog } from "./log.js";
import { StepPanel } from "./step.js";
import { showSuspects } from "./suspects.js";

const SHOWN_SUSPECTS = 6;
/** What answers what is shown: not taken while the page finds out what follows from another entry. */
const ANSWERS = new Set(["/results", "/play", "/closing", "/corrections", "/withdrawals"]);

export class Bench {
  constructor() {
    this.job = document.body.dataset.job ?? "";
    this.path = `/jobs/${encodeURIComponent(this.job)}`;
    this.steps = `${this.path}/steps?most=${document.body.dataset.steps}`;
    /** @type {any[]} */
    this.lines = [];
    this.standing = new Set();
    /** Whether the log has come: what comes after is news. */
    this.told = false;
    this.isWhole = false;
    this.ended = "";
    this.stepsVersion = -1;
    /** @type {any} */
    this.advice = null;
    /** @type {string | null} */
    this.chosen = null;
    this.simulated = false;
    /** @type {boolean | "answered"} an entry is on its way, or what follows from it is computed */
    this.pending = false;
    this.wanted = -1;
    this.shown = -1;
    this.panel = new StepPanel(at("step"), this);
    this.foot = new Foot(at("foot"), {
      confirm: () => this.#act(() => this.panel.confirm()),
      repeat: () => this.#act(() => this.panel.repeat()),
      back: () => this.#act(() => this.back()),
      skip: () => this.#act(() => this.skip()),
      mark: (place) => this.#act(() => this.panel.mark(place)),
      step: (by) => this.#act(() => this.panel.mark(this.panel.marked + by)),
      type: () => this.panel.focus(),
    });
    this.outbox = new Outbox(this.job, (waiting) => this.foot.waiting(waiting));
    this.live = new LiveChannel(this.job, SHOWN_SUSPECTS, {
      events: (message) => this.#news(message),
      suspects: (message) => this.#suspected(message),
      binary: (buffer) => document.dispatchEvent(new CustomEvent("frame", { detail: buffer })),
      connected: (yes) => { this.foot.connected(yes); if (this.pending) this.panel.busy(this.#isHeld()); if (yes) void this.outbox.flush(); },
      gone: (error) => this.#gone(error),
    });
  }

  async open() {
    this.foot.waiting(this.outbox.entries.length);
    document.addEventListener("entry-refused", (event) => { trouble(/** @type {CustomEvent} */ (event).detail); if (this.panel.step) this.#free(); });
    document.addEventListener("entry-sent", (event) => { if (this.stepsVersion >= /** @type {CustomEvent} */ (event).detail.version) this.#free(); });
    this.playing = ask(`${this.path}/play`).catch(() => ({ simulated: false }));
    if ("stepsKnown" in document.body.dataset) {
      const advised = ask(this.steps);
      this.early = this.#ask(advised);
      for (const each of [advised, this.early]) each.catch(() => { /* asked for again */ });
    }
    this.board = showBoard(this);
    showAloud(this);
    if (this.outbox.entries.length) await Promise.race([this.outbox.flush(), new Promise((done) => setTimeout(done, 500))]);
    this.live.open();
    if (this.early) void this.#refresh(0);
    this.simulated = (await this.playing).simulated;
    if (this.simulated) void import("./play.js").then((play) => play.showGuide(this));
  }

  /** What stands below, once there is time for it. */
  async #rest() {
    if (this.isWhole) return;
    this.isWhole = true;
    const [teach, handover, photo] = await Promise.all([import("./teach.js"), import("./handover.js"), import("./photo.js")]);
    teach.showTeach(this);
    handover.showHandover(this);
    photo.showPhotos(this);
  }

  /**
   * Finding the next step takes longest: whatever else is shown is asked for before.
   * @param {Promise<any>} [advised]
   * @returns {Promise<any>} what to do next
   */
  async #ask(advised) {
    const stands = await ask(this.path);
    this.overview = stands.overview;
    this.simulated = (await this.playing)?.simulated ?? false;
    this.#complaint(stands);
    document.dispatchEvent(new CustomEvent("overview"));
    if (advised) return advised;
    await this.board?.loading;
    return ask(this.steps);
  }

  /** @param {() => void} act */
  #act(act) {
    if (!this.#isHeld()) act();
  }

  /** @param {any} message */
  #news(message) {
    for (const line of message.events) this.lines.push(line);
    this.standing = new Set(message.standing);
    showLog(at("log"), this.lines, this.standing, this);
    document.dispatchEvent(new CustomEvent("entries", { detail: { lines: message.events, news: this.told } }));
    const last = message.events.at(-1);
    if (last && this.told) this.lastSaid = last.said.join("; ");
    this.told = true;
    if (this.panel.step && this.stepsVersion === message.version) this.#last();
    void this.#refresh(message.version);
  }

  /** Ask what follows from a version; a newer one that comes meanwhile is asked for after. @param {number} version */
  async #refresh(version) {
    this.wanted = version;
    if (this.asking) return;
    this.asking = true;
    let tries = 0;
    while (this.shown < this.wanted && tries < 40) {
      const { wanted } = this;
      try {
        at("step").setAttribute("aria-busy", "true");
        await this.#show(wanted);
        this.shown = Math.max(wanted, this.stepsVersion);
        tries = 0;
      } catch (error) {
        tries += 1;
        if (/** @type {any} */ (error).status) { trouble(error); this.shown = wanted; }
        else await new Promise((done) => setTimeout(done, 400));
      }
    }
    this.asking = false;
    whenIdle(() => void this.#rest());
  }

  /** Who is suspected comes before the next step, which takes longer to find. @param {any} message */
  #suspected({ version, suspects }) {
    this.suspects = suspects;
    this.suspectsVersion = version;
    showSuspects(at("suspects"), this.job, suspects);
    document.dispatchEvent(new CustomEvent("suspects-shown", { detail: { version } }));
  }

  /** @param {number} version at least */
  async #show(version) {
    const { early } = this;
    this.early = undefined;
    let advice = await (early ?? this.#ask());
    if (advice.version < version) advice = await this.#ask();
    if (this.stepsVersion !== advice.version && this.pending === "answered") this.chosen = null;
    this.pending = this.outbox.entries.length > 0;
    this.advice = advice;
    this.stepsVersion = advice.version;
    if (this.ended !== advice.ended) {
      this.ended = advice.ended;
      document.body.toggleAttribute("data-ended", Boolean(this.ended));
      showLog(at("log"), this.lines, this.standing, this);
    }
    this.#steps();
    if (this.suspectsVersion !== advice.version && !this.foot.isConnected) this.#suspected(await ask(`${this.path}/suspects?most=${SHOWN_SUSPECTS}`));
    this.#speak();
    document.dispatchEvent(new CustomEvent("known", { detail: { version: advice.version } }));
  }

  /** @param {any} stands */
  #complaint({ overview, remarks, findings }) {
    const kept = [
      overview.may_wipe ? "data may be wiped" : "data must stay",
      overview.may_unpair ? "paired parts may be lost" : "paired parts must stay paired",
      overview.ceiling === null ? "no ceiling" : `at most ${money(overview.ceiling, overview.currency)}`,
    ];
    const before = overview.history.length ? `before: ${overview.history.join(", ")}` : "";
    fill(at("complaint"),
      h("p", {}, h("strong", {}, overview.device), ` · ${overview.complaint_title} does not work`),
      h("p", { class: "risk" }, kept.map((word) => h("span", {}, word)),
        this.simulated && h("span", { class: "simulated" }, "simulated device")),
      (overview.says || before) && h("p", { class: "words" }, overview.says && h("q", {}, overview.says), overview.says && before && " · ", before),
      remarks.map((/** @type {any} */ remark) => h("p", { class: "said" }, remark.text)),
      findings.filter((/** @type {any} */ found) => found.severity === "error").map((/** @type {any} */ found) => h("p", { class: "trouble" }, found.what, " ", found.remedy)));
  }

  #steps() {
    const { steps, currency } = this.advice;
    if (this.ended || !steps.length) return this.#over();
    const step = steps.find((/** @type {any} */ each) => each.id === this.chosen) ?? steps[0];
    this.panel.show(step, currency);
    this.panel.busy(this.#isHeld());
    this.#last();
    this.#others(steps, step, currency);
    return undefined;
  }

  #last() {
    at("step").querySelector(".last")?.remove();
    const last = this.lines.filter((line) => this.standing.has(line.event)).at(-1);
    if (!last || last.event === 1) return;
    at("step").prepend(h("p", { class: "last" }, h("span", {}, "Recorded: ", last.said.join("; ")),
      h("button", { type: "button", class: "key quiet", onclick: () => this.withdraw(last.event) }, "Take it back")));
  }

  #over() {
    const words = /** @type {Record<string, string>} */ ({ close: "Closed and handed over", decline: "Declined", escalate: "Handed on" });
    fill(at("step"), h("h2", { id: "step-title", class: "step-title", tabindex: "-1" }, words[this.ended] ?? "The job has ended"),
      h("p", {}, "The record below is complete. Nothing more can be added."),
      h("div", { id: "lesson" }),
      h("div", { class: "keys" }, h("a", { class: "key main", href: "/" }, "To today's jobs")));
    this.panel.step = null;
    this.panel.busy(false);
    fill(at("others"));
  }

  /** @param {any[]} steps @param {any} shown @param {string} currency */
  #others(steps, shown, currency) {
    const rest = steps.filter((step) => step !== shown);
    const open = at("others").querySelector("details")?.open;
    const key = (/** @type {any} */ step) => h("li", {}, h("button", {
      type: "button", class: "other", "data-step": step.id, onclick: () => this.choose(step.id),
    }, h("span", {}, step.title, step.recommended ? " (recommended)" : ""),
    h("span", { class: "figure source" }, `step ${money(step.price, currency)} · whole job ${money(step.cost, currency)}`)));
    fill(at("others"), rest[0] && h("div", { class: "runner" }, h("h2", { class: "sheet-name" }, this.advice.near_tie ? "About as good" : "Or instead"), h("ul", {}, key(rest[0]))),
      h("details", { class: "fold", open }, h("summary", {}, "Something else", h("small", {}, `${rest.length} other steps`)),
        h("ul", { class: "other-list" }, rest.slice(1).map(key))));
  }

  /** Do another step than the recommended one; null goes back to it. @param {string | null} step */
  choose(step) {
    this.chosen = step;
    const fold = at("others").querySelector("details");
    if (fold) fold.open = false;
    this.#steps();
    at("step").scrollIntoView();
    this.panel.title?.focus({ preventScroll: true });
    this.panel.focus();
  }

  skip() {
    const { steps } = this.advice ?? { steps: [] };
    if (!steps.length || this.ended) return;
    const place = steps.findIndex((/** @type {any} */ each) => each.id === this.panel.step?.id);
    const next = steps[(place + 1) % steps.length];
    this.choose(next.recommended ? null : next.id);
    this.readOut(`Instead: ${next.title}`);
  }

  back() {
    if (this.panel.back()) return;
    if (this.chosen) { this.choose(null); this.readOut(`Back to: ${this.panel.step?.title}`); return; }
    const last = at("step").querySelector(".last button");
    if (last) { /** @type {HTMLElement} */ (last).focus(); this.readOut("Confirm to take the last entry back"); }
  }

  /** Record what came of a step. @param {any} step @param {any} result */
  record(step, result) {
    return this.enter("/results", { step: step.id, result }, step.title);
  }

  /** @param {any} step */
  end(step) { return this.enter("/closing", { ending: step.id }, step.title); }

  /** Have the simulated bench do a step. @param {any} step */
  take(step) { return this.enter("/play", { step: step.id }, step.title); }

  /** @param {number} event @param {string} result */
  correct(event, result) { return this.enter("/corrections", { event, result }, `entry ${event}`); }

  /** @param {number} event */
  withdraw(event) { return this.enter("/withdrawals", { event }, `entry ${event}`); }

  /**
   * Make an entry; it is kept until it is answered. While there is no connection several wait, in order.
   * @param {string} route @param {any} body @param {string} label
   * @returns {Promise<any>} the answer, or null if it was refused
   */
  async enter(route, body, label) {
    if (this.#isRefused(route, body)) return null;
    const { field } = this.panel;
    const typed = field?.value;
    const sent = this.outbox.send(this.path + route, body, label);
    this.pending = true;
    this.panel.busy(this.#isHeld());
    if (!this.foot.isConnected) this.say(`Kept, and sent once there is a connection: ${label}`);
    try {
      const answer = await sent;
      this.pending = this.outbox.entries.length > 0 || "answered";
      if (field && field === this.panel.field && field.value === typed && route === "/results") field.value = "";
      this.say(`Recorded: ${answer.recorded.said.join("; ")}`);
      fill(at("trouble"), answer.findings.length ? h("div", { class: "said" }, answer.findings.map((/** @type {any} */ found) => h("p", {}, found.what, found.remedy ? ` — ${found.remedy}` : ""))) : null);
      if (this.stepsVersion >= answer.version) this.#free();
      return answer;
    } catch (error) {
      trouble(error);
      this.#free();
      return null;
    }
  }

  /** Whether the page waits for what follows from an entry; without a connection it goes on. */
  #isHeld() {
    return Boolean(this.pending) && (this.foot.isConnected || !this.outbox.entries.length);
  }

  /**
   * Whether an entry can not be taken just now; the page says why, and what was typed stays where it is.
   * What answers what is shown has to wait for what follows from the entry before, but for what came of
   * another step that somebody has chosen while there is no connection.
   * @param {string} route @param {any} body
   */
  #isRefused(route, body) {
    const waiting = this.outbox.entries.filter((entry) => entry.path === this.path + route);
    const same = route === "/results" ? waiting.some((entry) => entry.body.step === body.step)
      : waiting.some((entry) => JSON.stringify({ ...entry.body, key: "" }) === JSON.stringify({ key: "", ...body }));
    const isLater = ANSWERS.has(route) && Boolean(this.pending) && !(route === "/results" && !this.#isHeld());
    if (!same && !isLater) return false;
    if (!this.foot.isConnected) {
      trouble(same ? { says: "This waits already.", remedy: "it is sent once there is a connection; choose another step meanwhile" }
        : { says: "What follows from the entry before this one is not known yet.", remedy: "record this one once the bench is connected; it stays where you typed it" });
    }
    return true;
  }

  #free() {
    this.pending = this.outbox.entries.length > 0;
    this.panel.busy(this.#isHeld());
  }

  #speak() {
    if (this.ended || !this.panel.step || !this.lastSaid) return;
    const [first] = this.suspects ?? [];
    this.say(`${this.lastSaid}. ${first ? `${first.title}: ${first.words}, ${percent(first.probability)}. ` : ""}Next: ${this.advice.steps[0].title}`);
    this.lastSaid = "";
  }

  /** Say something to those who listen. @param {string} words */
  say(words) {
    at("verdict").textContent = words;
  }

  /** Say something that was asked for, to all who can hear. @param {string} words */
  readOut(words) {
    this.say(words);
    document.dispatchEvent(new CustomEvent("read-out", { detail: words }));
  }

  /** @param {any} error */
  #gone(error) {
    trouble(error);
    if (error.kind === "not found") fill(at("step"), h("h2", { id: "step-title" }, "There is no such job"), h("p", {}, h("a", { href: "/" }, "To today's jobs")));
  }
}

const bench = new Bench();
void bench.open();
