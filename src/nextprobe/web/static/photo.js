// Photos of the board: attached or pasted, with places marked on them.

import { at, clock, fill, h, setting } from "./app.js";
import { ask } from "./api.js";
import { PhotoOutbox } from "./photo-outbox.js";

const MARK = /^mark ([0-9a-z.]+) (\d\.\d+) (\d\.\d+) ?(.*)$/;

/** @param {import("./bench.js").Bench} bench */
export function showPhotos(bench) {
  return new Photos(bench);
}

class Photos {
  /** @param {import("./bench.js").Bench} bench */
  constructor(bench) {
    this.bench = bench;
    this.path = `${bench.path}/photos`;
    this.list = h("div", { class: "photo-list" });
    this.onTheWay = h("div", { class: "photo-list" });
    this.outbox = new PhotoOutbox(() => this.#showWaiting());
    this.caption = /** @type {HTMLInputElement} */ (h("input", { id: "photo-caption", maxlength: "300", autocomplete: "off" }));
    this.word = /** @type {HTMLInputElement} */ (h("input", { id: "photo-word", value: "here", maxlength: "100", autocomplete: "off" }));
    const file = /** @type {HTMLInputElement} */ (h("input", { id: "photo-file", type: "file", accept: "image/jpeg,image/png,image/webp", capture: "environment" }));
    file.addEventListener("change", () => { for (const each of file.files ?? []) void this.#add(each); file.value = ""; });
    addEventListener("paste", (event) => this.#pasted(event));
    fill(at("photos"), h("h2", { class: "sheet-name", id: "photos-name" }, "Photos"), this.list, this.onTheWay,
      h("details", { class: "fold", "data-photos": "" }, h("summary", {}, "Attach a photo"),
        h("div", { class: "field" }, h("label", { for: "photo-caption" }, "What it shows"), this.caption),
        h("div", { class: "field" }, h("label", { for: "photo-file" }, "A file or the camera; or paste a picture anywhere here"), file),
        h("div", { class: "field" }, h("label", { for: "photo-word" }, "What a mark says: tap a place on a photo to set one"), this.word)));
    document.addEventListener("known", () => this.refresh());
    if (bench.stepsVersion >= 0) void this.refresh();
  }

  /** @param {ClipboardEvent} event */
  #pasted(event) {
    const files = [...event.clipboardData?.files ?? []].filter((file) => file.type.startsWith("image/"));
    if (!files.length) return;
    event.preventDefault();
    for (const file of files) void this.#add(file);
  }

  /** @param {File} file */
  async #add(file) {
    const caption = this.caption.value.trim();
    this.caption.value = "";
    await this.outbox.add(this.path, file, caption);
  }

  async refresh() {
    const found = await ask(this.path).catch(() => null);
    if (!found) return;
    this.marks = this.bench.lines.filter((line) => line.kind === "note" || /noted/.test(line.kind))
      .filter((line) => this.bench.standing.has(line.event))
      .map((line) => MARK.exec(line.said.join(" ").replace(/^note: /, ""))).filter(Boolean);
    fill(this.list, found.photos.map((/** @type {any} */ photo) => this.#one(photo)));
  }

  #showWaiting() {
    for (const each of this.onTheWay.querySelectorAll("img")) URL.revokeObjectURL(each.src);
    fill(this.onTheWay, this.outbox.of(this.path).map((photo) => this.#waiting(photo)));
  }

  /** @param {import("./photo-outbox.js").WaitingPhoto} photo */
  #waiting(photo) {
    const picture = h("img", { src: URL.createObjectURL(new Blob([photo.bytes], { type: photo.type })), alt: photo.caption || "Photo that is not sent yet" });
    return h("figure", { "data-waiting": "" }, picture, h("figcaption", {}, photo.caption, " ", h("strong", {}, photo.refused ? "Not taken. " : "On its way. "),
      h("span", { class: "source" }, photo.refused || "This browser keeps it until the bench has it.")),
    photo.refused && h("button", { type: "button", class: "key", onclick: () => this.outbox.drop(photo.key) }, "Remove it"));
  }

  /** @param {any} photo */
  #one(photo) {
    const marks = (this.marks ?? []).filter((mark) => mark?.[1] === photo.name.slice(0, 12)).map((mark, place) =>
      setting(setting(h("span", { class: "photo-mark" }, String(place + 1)), "--x", mark?.[2] ?? 0), "--y", mark?.[3] ?? 0));
    const words = (this.marks ?? []).filter((mark) => mark?.[1] === photo.name.slice(0, 12)).map((mark) => h("li", {}, mark?.[4] || "here"));
    const picture = h("img", {
      src: `/api/v1${this.path}/${photo.name}`, alt: photo.caption || `Photo of ${clock(photo.time)}`,
    });
    const frame = h("button", {
      type: "button", class: "photo-frame", "aria-label": `Mark a place on the photo: ${photo.caption || clock(photo.time)}`,
      onclick: (/** @type {MouseEvent} */ event) => this.#mark(event, photo, picture),
    }, picture, marks);
    return h("figure", {}, frame, h("figcaption", {}, photo.caption, h("span", { class: "source" }, ` ${clock(photo.time)}`), words.length > 0 && h("ol", {}, words)));
  }

  /** A mark is a remark in the log, so that it can be withdrawn like any other. @param {MouseEvent} event @param {any} photo @param {HTMLElement} picture */
  #mark(event, photo, picture) {
    const box = picture.getBoundingClientRect();
    const inside = event.detail > 0;
    const x = inside ? (event.clientX - box.left) / box.width : 0.5;
    const y = inside ? (event.clientY - box.top) / box.height : 0.5;
    const place = `${Math.min(1, Math.max(0, x)).toFixed(4)} ${Math.min(1, Math.max(0, y)).toFixed(4)}`;
    void this.bench.enter("/notes", { text: `mark ${photo.name.slice(0, 12)} ${place} ${this.word.value.trim() || "here"}` }, "mark");
  }
}
