// The one step that is asked for: what it costs, what may come of it, and how to answer.

import { fill, h, minutes, money } from "./app.js";
import { ask } from "./api.js";
import { ROOMY, expectedAt, placing, placingOfRun, typedAs } from "./measuring.js";
import { capital, forkOf, outcomeWord, showMoves } from "./outcomes.js";
import { RunSheet } from "./run-sheet.js";

const READS_ONE = new Set(["reading", "current", "lift"]);
const REASONS = new Set(["saves", "ends", "plan", "near tie", "bounds", "runner-up"]);
/** What may come of a step when it is answered with a value. @param {any} step */
export function takesValue(step) {
  const last = step.acts.at(-1);
  return READS_ONE.has(step.kind) || last?.do === "probe" && step.kind !== "run" || last?.do === "gauge";
}

export class StepPanel {
  /**
   * @param {HTMLElement} place
   * @param {import("./bench.js").Bench} bench
   */
  constructor(place, bench) {
    this.place = place;
    this.bench = bench;
    this.marked = -1;
    /** @type {any} */
    this.step = null;
    /** @type {HTMLElement[]} */
    this.keys = [];
    /** @type {HTMLInputElement | undefined} */
    this.field = undefined;
    this.meaning = h("div", { class: "meanings" });
  }

  /** @param {any} step @param {string} currency */
  show(step, currency) {
    const same = this.step?.id === step.id && this.version === this.bench.stepsVersion;
    if (same && this.recommended === step.recommended) return;
    const before = /** @type {HTMLInputElement | undefined} */ (this.field);
    const typed = this.step?.id === step.id && before ? before.value : "";
    const held = this.place.contains(document.activeElement);
    const other = this.step?.id !== step.id;
    this.step = step;
    this.recommended = step.recommended;
    this.version = this.bench.stepsVersion;
    this.marked = -1;
    this.field = undefined;
    this.run = undefined;
    this.keys = [];
    this.meaning = h("div", { class: "meanings" });
    this.expected = h("p", { class: "expected", "aria-live": "polite" });
    this.measured = !this.bench.simulated && (step.kind === "run" || takesValue(step));
    const [answers, cautions, facts] = [this.#answers(step), this.#cautions(step), this.#facts(step, currency)];
    const ahead = !this.measured || ROOMY.matches;
    fill(this.place, this.#head(step, !ahead), !this.measured && facts, ahead && cautions, this.#how(step),
      answers, !ahead && cautions, this.measured && facts, this.#meanings(step, currency), this.#reasons(step));
    this.#again(typed);
    if (held || document.activeElement === document.body) {
      this.focus();
      if (!ahead && other) this.place.scrollIntoView();
    }
    document.dispatchEvent(new CustomEvent("step-shown"));
    void this.#explain(step);
    void this.#expect(step);
  }

  /** What was typed stays when the page is drawn anew. @param {string} typed */
  #again(typed) {
    if (typed && this.field) this.field.value = typed;
  }

  focus() {
    const field = this.field ?? this.run?.field;
    if (field) field.focus({ preventScroll: true });
    else if (this.title) this.title.focus({ preventScroll: true });
  }

  /** @param {any} step @param {boolean} below whether the cautions stand below the field */
  #head(step, below) {
    this.title = h("h2", { id: "step-title", class: "step-title", tabindex: "-1" }, step.title);
    const tag = step.recommended ? "Do this next" : "Instead of what is recommended";
    return [
      h("p", { class: "sheet-name" }, tag,
        below && step.cautions.length > 0 && h("a", { class: "to-care", href: "#care" }, `▲ Take care: ${step.cautions.length} below`),
        !step.recommended && h("button", { type: "button", class: "key quiet back", onclick: () => this.bench.choose(null) },
          "Back to the recommended step")),
      this.title,
    ];
  }

  /** @param {any} step @param {string} currency */
  #facts(step, currency) {
    const { attended_minutes: hands, elapsed_minutes: whole } = step;
    return h("dl", { class: "facts" },
      fact("This step", money(step.price, currency), "time, parts, expected harm"),
      fact("Time", minutes(hands), whole - hands > 0.5 ? `hands on; done after ${minutes(whole)}` : "hands on, as the pack gives it"),
      fact("Whole job from here", `about ${money(step.cost, currency)}`, "expected, whatever comes"));
  }

  /** @param {any} step */
  #cautions(step) {
    if (!step.cautions.length) return null;
    return h("div", { class: "caution", id: "care", role: "note", tabindex: "-1" }, h("strong", {}, "▲ Take care"),
      h("ul", {}, step.cautions.map((/** @type {string} */ text) => h("li", {}, capital(text)))));
  }

  /** @param {any} step */
  #how(step) {
    if (!step.how.length || step.kind === "run") return null;
    return step.how.map((/** @type {string} */ text) => h("p", { class: "how" }, text));
  }

  /** @param {any} step */
  #answers(step) {
    if (this.bench.simulated) return this.#simulated(step);
    if (step.kind === "end") return this.#ending(step);
    if (step.kind === "run") {
      this.run = new RunSheet(this.bench, step);
      return this.run.element;
    }
    if (takesValue(step)) return this.#readingField(step);
    return this.#outcomes(step.answers, (word) => this.bench.record(step, word));
  }

  /** @param {string[]} words @param {(word: string) => void} act */
  #outcomes(words, act) {
    this.keys = words.map((word, place) => h("button", {
      type: "button", class: "key outcome", "aria-pressed": "false", "data-outcome": word,
      onclick: () => act(word),
    }, h("kbd", {}, String(place + 1)), h("span", {}, outcomeWord(word))));
    return h("div", { class: "keys outcomes", role: "group", "aria-label": "What came of it" }, this.keys);
  }

  /** @param {any} step */
  #simulated(step) {
    this.keys = [h("button", {
      type: "button", class: "key main wide", onclick: () => this.bench.take(step),
    }, h("kbd", {}, "Enter"), h("span", {}, step.kind === "end" ? endingWord(step) : "Do it on the simulated bench"))];
    const probe = step.acts.find((/** @type {any} */ act) => act.do === "probe");
    return [
      probe && h("p", { class: "placing" }, step.kind === "run" ? placingOfRun(step.how, probe) : placing(probe)),
      probe && this.expected,
      h("div", { class: "keys outcomes" }, this.keys),
    ];
  }

  /** @param {any} step */
  #ending(step) {
    this.keys = [h("button", {
      type: "button", class: "key main wide outcome", "data-outcome": step.id, onclick: () => this.bench.end(step),
    }, h("kbd", {}, "1"), h("span", {}, endingWord(step)))];
    return h("div", { class: "keys outcomes" }, this.keys);
  }

  /** @param {any} step */
  #readingField(step) {
    const last = step.acts.at(-1);
    const current = last?.do === "gauge";
    this.field = /** @type {HTMLInputElement} */ (h("input", {
      id: "reading", name: "reading", autocomplete: "off", inputmode: "text", spellcheck: "false",
      class: "figure reading", "aria-describedby": "reading-help",
    }));
    const over = () => this.bench.record(step, "OL");
    return h("form", {
      class: "reading-form",
      onsubmit: (/** @type {Event} */ event) => { event.preventDefault(); this.confirm(); },
    },
    h("div", { class: "measure" },
      h("label", { for: "reading" }, h("span", { class: "run-point" }, current ? "Supply current" : placeOf(step))),
      this.field),
    last?.do === "probe" && h("p", { class: "placing" }, placing(last)),
    this.expected,
    h("div", { class: "keys" }, h("button", { class: "key main" }, "Record"),
      h("button", { type: "button", class: "key", onclick: over }, current ? "Beyond the limit" : "OL: over-range")),
    h("p", { id: "reading-help", class: "source" },
      current ? "In ampere, as 0.18 A or 4 mA. Type at once and press Enter."
        : `${typedAs(last?.mode)} Type at once and press Enter.`));
  }

  /** @param {any} step @param {string} currency */
  #meanings(step, currency) {
    if (!step.branches.length) return null;
    fill(this.meaning, forkOf(step.branches, currency));
    return h("section", { class: "fork" }, h("h3", {}, "What each outcome would mean"), this.meaning);
  }

  /** @param {any} step */
  #reasons(step) {
    const told = step.reasons.filter((/** @type {any} */ reason) => REASONS.has(reason.kind));
    this.why = h("ul", {}, told.map((/** @type {any} */ reason) => h("li", {}, reason.text)));
    this.apart = h("div");
    return h("details", { class: "fold", open: step.recommended },
      h("summary", {}, step.recommended ? "Why this step" : "Why this step is not recommended"),
      this.why, this.apart);
  }

  /** Say what each outcome would make of the suspects. @param {any} step */
  async #explain(step) {
    try {
      const { explanation } = await ask(`/jobs/${encodeURIComponent(this.bench.job)}/why?step=${encodeURIComponent(step.id)}`);
      if (this.step !== step) return;
      if (!step.recommended && this.why) {
        fill(this.why, explanation.against.map((/** @type {any} */ reason) => h("li", {}, reason.text)));
      }
      for (const meaning of explanation.meanings) showMoves(this.meaning, meaning);
      const groups = explanation.never_told_apart ?? [];
      if (this.apart && groups.length) {
        fill(this.apart, h("h3", {}, "What this step can not tell apart"),
          h("ul", {}, groups.slice(0, 5).map((/** @type {string[]} */ group) => h("li", {}, group.join(" · ")))));
      }
    } catch (error) {
      if (this.step === step && this.apart) fill(this.apart, h("p", { class: "source" }, "No explanation now: ", String(/** @type {any} */ (error).message)));
    }
  }

  /** Say how the leads go, and what a healthy device would read. @param {any} step */
  async #expect(step) {
    const probe = step.acts.at(-1);
    if (step.kind === "run" || probe?.do !== "probe") return;
    const words = await expectedAt(this.bench.job, { point: placeOf(step), mode: probe.mode });
    if (this.step === step && this.expected) fill(this.expected, words);
  }

  /** Mark an outcome, by its place. @param {number} place */
  mark(place) {
    if (!this.keys?.length) return;
    this.marked = (place + this.keys.length) % this.keys.length;
    this.keys.forEach((key, each) => key.setAttribute("aria-pressed", String(each === this.marked)));
    this.keys[this.marked].scrollIntoView({ block: "nearest" });
    this.bench.readOut(`${this.keys[this.marked].querySelector("span")?.textContent}: confirm to record`);
  }

  confirm() {
    if (this.run) return this.run.confirm();
    if (this.field) {
      const typed = this.field.value.trim();
      if (typed) void this.bench.record(this.step, typed);
      else this.bench.say("Type what the meter shows first");
      return undefined;
    }
    if (!this.keys?.length) return undefined;
    if (this.bench.simulated || this.marked >= 0) this.keys[Math.max(this.marked, 0)].click();
    else this.mark(0);
    return undefined;
  }

  /** Take the reading, or read the step, again. */
  repeat() {
    if (this.run) return this.run.repeat();
    if (this.field) this.field.value = "";
    this.bench.readOut(`${this.step.title}. ${this.step.how.join(" ")}`);
    this.focus();
    return undefined;
  }

  /** Undo what is not recorded yet; tell whether there was anything. */
  back() {
    if (this.run?.back()) return true;
    if (this.field?.value) { this.field.value = ""; return true; }
    if (this.marked >= 0) {
      this.marked = -1;
      this.keys?.forEach((key) => key.setAttribute("aria-pressed", "false"));
      return true;
    }
    return false;
  }

  /** @param {boolean} yes */
  busy(yes) {
    this.place.setAttribute("aria-busy", String(yes));
    for (const key of this.place.querySelectorAll(".outcomes .key, .reading-form .key, .run .key")) {
      /** @type {HTMLButtonElement} */ (key).disabled = yes;
    }
  }
}

/** What a reading is taken at, in a word: a pin, a net, or a part that the leads are across. @param {any} step */
function placeOf(step) {
  return step.kind === "reading" ? step.id.split(":")[1] : step.acts.at(-1)?.point ?? "The point";
}

/** @param {any} step */
function endingWord(step) {
  const words = /** @type {Record<string, string>} */ ({ close: "Close the job with the record", decline: "Decline the repair", escalate: "Hand on" });
  return words[step.id] ?? step.title;
}

/** @param {string} name @param {string} value @param {string} about */
function fact(name, value, about) {
  return h("div", {}, h("dt", {}, name), h("dd", { class: "figure" }, value), h("dd", { class: "source" }, about));
}

