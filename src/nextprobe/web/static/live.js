// The live channel: what happens in a job, in this window and all others, in order and once.

import { askForLogin } from "./api.js";

/**
 * @typedef {{events: (message: any) => void, suspects: (message: any) => void, binary: (buffer: ArrayBuffer) => void,
 *   connected: (yes: boolean) => void, gone: (error: any) => void}} Handlers
 */

const LONG_ASLEEP = 20_000;
/** How often the server says that the channel is alive, unless it says otherwise [ms]. */
const USUAL_BEAT = 5000;
/** A channel that has missed two beats is dead; so much later a beat may come [ms]. */
const LATE = 2000;
const LOOK_EVERY = 1000;

export class LiveChannel {
  /** @param {string} job @param {number} suspects how many it is to be told of @param {Handlers} handlers */
  constructor(job, suspects, handlers) {
    this.job = job;
    this.suspects = suspects;
    this.handlers = handlers;
    this.version = 0;
    this.pause = 300;
    this.ended = false;
    this.heardAt = Date.now();
    this.beat = USUAL_BEAT;
    setInterval(() => this.#listen(), LOOK_EVERY);
    document.addEventListener("visibilitychange", () => this.#woken());
    addEventListener("online", () => this.reopen());
    addEventListener("pageshow", (event) => { if (event.persisted) this.reopen(); });
  }

  #woken() {
    if (document.hidden) this.hiddenAt = Date.now();
    else if (Date.now() - (this.hiddenAt ?? Date.now()) > LONG_ASLEEP) this.reopen();
    else if (!this.socket || this.socket.readyState > 1) this.reopen();
  }

  /** Open the channel again if nothing has come over it for too long: it may be dead without a word. */
  #listen() {
    if (!this.socket || Date.now() - this.heardAt <= 2 * this.beat + LATE) return;
    this.handlers.connected(false);
    this.reopen();
  }

  reopen() {
    const old = this.socket;
    this.socket = undefined;
    old?.close();
    this.open();
  }

  open() {
    if (this.ended || this.socket) return;
    clearTimeout(this.timer);
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    const name = encodeURIComponent(this.job);
    const socket = new WebSocket(`${scheme}://${location.host}/api/v1/jobs/${name}/live?since=${this.version}&suspects=${this.suspects}`);
    socket.binaryType = "arraybuffer";
    this.socket = socket;
    this.heardAt = Date.now();
    socket.addEventListener("open", () => {
      this.pause = 300;
      this.handlers.connected(true);
    });
    socket.addEventListener("message", (event) => { if (this.socket === socket) this.#hear(event.data); });
    socket.addEventListener("close", (event) => { if (this.socket === socket) this.#lost(event.code); });
  }

  /** @param {string | ArrayBuffer} data */
  #hear(data) {
    this.heardAt = Date.now();
    if (typeof data !== "string") return this.handlers.binary(data);
    const message = JSON.parse(data);
    if (message.type === "error") return this.handlers.gone(message.error);
    if (message.type === "beat") { this.beat = 1000 * message.seconds; return; }
    if (message.type === "suspects") return this.handlers.suspects(message);
    const fresh = message.events.filter((/** @type {any} */ line) => line.event > this.version);
    this.version = Math.max(this.version, message.version);
    this.handlers.events({ ...message, events: fresh });
  }

  /** @param {number} code */
  #lost(code) {
    this.socket = undefined;
    this.handlers.connected(false);
    if (code === 4404) { this.ended = true; return; }
    void askForLogin();
    this.timer = setTimeout(() => this.open(), this.pause);
    this.pause = Math.min(this.pause * 1.7, 5000);
  }

  /** Tell the other windows what is under the probe. @param {any} reading */
  tell(reading) {
    if (this.socket?.readyState === 1) this.socket.send(JSON.stringify({ type: "reading", ...reading }));
  }
}
