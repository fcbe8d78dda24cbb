// Photos on their way: kept by the browser from the moment somebody adds one until it is answered.

import { ApiError, ask, newKey } from "./api.js";

/**
 * @typedef {{key: string, path: string, caption: string, type: string, bytes: ArrayBuffer,
 *   added: number, refused: string}} WaitingPhoto
 */

const LATER = [401, 408, 423, 429];
const FIRST_PAUSE = 1000;
const LONGEST_PAUSE = 8000;

export class PhotoOutbox {
  /** @param {() => void} changed called whenever something was added, sent or refused */
  constructor(changed) {
    this.changed = () => {
      changed();
      const count = [...this.waiting.values()].filter((photo) => !photo.refused).length;
      document.dispatchEvent(new CustomEvent("photos-waiting", { detail: count }));
    };
    /** @type {Map<string, WaitingPhoto>} */
    this.waiting = new Map();
    this.pause = FIRST_PAUSE;
    this.sending = false;
    this.ready = this.#open();
    addEventListener("online", () => this.flush());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.flush(); });
  }

  async #open() {
    for (const photo of await stored()) this.waiting.set(photo.key, photo);
    this.changed();
    void this.flush();
  }

  /** Those of one job, oldest first. @param {string} path */
  of(path) {
    return [...this.waiting.values()].filter((photo) => photo.path === path).sort((one, other) => one.added - other.added);
  }

  /** @param {string} path of the photos of a job @param {File} file @param {string} caption */
  async add(path, file, caption) {
    const photo = { key: newKey(), path, caption, type: file.type, bytes: await file.arrayBuffer(), added: Date.now(), refused: "" };
    await this.#keep(photo);
    void this.flush();
  }

  /** @param {WaitingPhoto} photo */
  async #keep(photo) {
    this.waiting.set(photo.key, photo);
    await change((photos) => photos.put(photo));
    this.changed();
  }

  /** Let one go: it was sent, or somebody does not want it any more. @param {string} key */
  async drop(key) {
    this.waiting.delete(key);
    await change((photos) => photos.delete(key));
    this.changed();
  }

  /** Send what waits, one after another, until there is no answer. */
  async flush() {
    await this.ready;
    if (this.sending) return;
    this.sending = true;
    clearTimeout(this.timer);
    for (let photo = this.#next(); photo; photo = this.#next()) {
      if (!await this.#send(photo)) {
        this.timer = setTimeout(() => this.flush(), this.pause);
        this.pause = Math.min(this.pause * 1.7, LONGEST_PAUSE);
        break;
      }
      this.pause = FIRST_PAUSE;
    }
    this.sending = false;
  }

  #next() {
    return [...this.waiting.values()].find((photo) => !photo.refused);
  }

  /** @param {WaitingPhoto} photo @returns {Promise<boolean>} whether there was an answer */
  async #send(photo) {
    const words = new URLSearchParams({ key: photo.key, caption: photo.caption });
    try {
      await ask(`${photo.path}?${words}`, { method: "POST", body: photo.bytes, headers: { "Content-Type": photo.type || "application/octet-stream" } });
    } catch (error) {
      if (!(error instanceof ApiError) || error.status >= 500 || LATER.includes(error.status)) return false;
      await this.#keep({ ...photo, refused: `${error.says}${error.remedy && `: ${error.remedy}`}` });
      return true;
    }
    await this.drop(photo.key);
    return true;
  }
}

/** @returns {Promise<IDBDatabase>} */
function database() {
  return new Promise((done, failed) => {
    const opening = indexedDB.open("nextprobe", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore("photos", { keyPath: "key" });
    opening.onsuccess = () => done(opening.result);
    opening.onerror = () => failed(opening.error);
  });
}

/** @returns {Promise<WaitingPhoto[]>} */
async function stored() {
  try {
    const base = await database();
    const asked = base.transaction("photos").objectStore("photos").getAll();
    await new Promise((done, failed) => { asked.onsuccess = done; asked.onerror = failed; });
    base.close();
    return asked.result;
  } catch {
    return []; // a browser that keeps nothing has nothing
  }
}

/** Change what is kept, and wait until it is. @param {(photos: IDBObjectStore) => void} how */
async function change(how) {
  try {
    const base = await database();
    const changing = base.transaction("photos", "readwrite");
    how(changing.objectStore("photos"));
    await new Promise((done, failed) => { changing.oncomplete = done; changing.onabort = failed; });
    base.close();
  } catch { /* it stays in this window only */ }
}
