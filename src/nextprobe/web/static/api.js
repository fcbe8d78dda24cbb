// Asking the server, and entries that are kept until they are answered: nothing is lost or doubled.

const BASE = "/api/v1";

export class ApiError extends Error {
  /** @param {number} status @param {any} error */
  constructor(status, error) {
    super(error?.says ?? `the server answered ${status}`);
    this.status = status;
    this.kind = error?.kind ?? "";
    this.says = this.message;
    this.where = error?.where ?? "";
    this.remedy = error?.try ?? "";
    this.findings = error?.findings ?? [];
  }
}

export function newKey() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * @param {string} path @param {RequestInit} [options]
 * @returns {Promise<any>}
 */
export async function ask(path, options = {}) {
  const answer = await fetch(BASE + path, options);
  if (answer.ok) return answer.status === 204 ? null : answer.json();
  let body = null;
  try { body = await answer.json(); } catch { /* no JSON: a proxy perhaps */ }
  if (answer.status === 401 && location.pathname !== "/login") toLogin();
  throw new ApiError(answer.status, body?.error);
}

function toLogin() {
  location.assign(`/login?then=${encodeURIComponent(location.pathname)}`);
}

/** Go to the login where it has ended; a channel that is refused does not say why. */
export async function askForLogin() {
  const found = await ask("/session").catch(() => null);
  if (found?.needed && !found.open) toLogin();
}

/** @param {string} path @param {any} body */
export function post(path, body) {
  return ask(path, {
    method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body),
  });
}

/**
 * @typedef {{path: string, body: any, label: string, at: number}} Entry
 */

/**
 * Entries on their way. Each has its key from the moment somebody acts; the browser keeps it until
 * an answer comes, even if the window is closed, and it is sent again under the same key after a loss.
 * Each is kept by itself, so that two windows on a job never write over each other.
 */
export class Outbox {
  /** @param {string} name @param {(waiting: number, connected: boolean) => void} changed */
  constructor(name, changed) {
    this.place = `nextprobe-waiting:${encodeURIComponent(name)}:`;
    this.changed = changed;
    this.connected = true;
    /** @type {Entry[]} */
    this.entries = this.#read();
    /** @type {Map<string, {done: (answer: any) => void, failed: (error: any) => void}>} */
    this.heard = new Map();
    this.pause = 500;
    this.sending = false;
    addEventListener("online", () => this.flush());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.flush(); });
  }

  /** @returns {Entry[]} */
  #read() {
    try {
      return Object.keys(localStorage).filter((place) => place.startsWith(this.place))
        .map((place) => JSON.parse(localStorage.getItem(place) ?? "null")).filter(Boolean).sort((one, other) => one.at - other.at);
    } catch { return []; }
  }

  /** @param {(kept: Storage) => void} change */
  #keep(change) {
    try { change(localStorage); } catch { /* this window only */ }
    this.changed(this.entries.length, this.connected);
  }

  /** @param {string} path @param {any} body @param {string} label @returns {Promise<any>} */
  send(path, body, label) {
    const entry = { path, body: { key: newKey(), ...body }, label, at: Math.max(Date.now(), (this.entries.at(-1)?.at ?? 0) + 1) };
    this.entries.push(entry);
    this.#keep((kept) => kept.setItem(this.place + entry.body.key, JSON.stringify(entry)));
    const answered = new Promise((done, failed) => this.heard.set(entry.body.key, { done, failed }));
    void this.flush();
    return answered;
  }

  /** Send what waits, in order. */
  async flush() {
    if (this.sending) return;
    this.sending = true;
    clearTimeout(this.timer);
    while (this.entries.length > 0) {
      const entry = this.entries[0];
      try {
        this.#answered(entry, "done", await post(entry.path, entry.body));
      } catch (error) {
        const status = error instanceof ApiError ? error.status : 0;
        if (status >= 400 && status < 500 && ![401, 408, 423, 429].includes(status)) {
          this.#answered(entry, "failed", error);
          continue;
        }
        this.connected = false;
        this.changed(this.entries.length, false);
        this.timer = setTimeout(() => this.flush(), this.pause);
        this.pause = Math.min(this.pause * 1.7, 8000);
        break;
      }
    }
    this.sending = false;
  }

  /** @param {Entry} entry @param {"done" | "failed"} how @param {any} what */
  #answered(entry, how, what) {
    this.entries.shift();
    this.connected = true;
    this.pause = 500;
    this.#keep((kept) => kept.removeItem(this.place + entry.body.key));
    const heard = this.heard.get(entry.body.key);
    this.heard.delete(entry.body.key);
    if (heard) heard[how](what);
    else document.dispatchEvent(new CustomEvent(how === "done" ? "entry-sent" : "entry-refused", { detail: what }));
  }
}
