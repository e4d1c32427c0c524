/** Photos that go with an entry. Each is made smaller and bare of what a camera writes into it; what is hashed here is the original. */

import { h, redraw, replace } from "../dom.js";
import * as photos from "../phone/photos.js";
import { bare } from "../record/jpeg.js";
import { say } from "../words.js";

const SIDE = 2000;
const SMALL_SIDE = 320;
const QUALITY = 0.85;
const MOST = 6;

/**
 * @param {object} [options]
 * @param {(draft, world) => boolean} [options.needed] whether photos are offered at all
 */
export function photosStep({ needed } = {}) {
  return {
    id: "photos",
    heading: () => say("photos.photos"),
    needed,
    lacking: () => null,
    onward: (draft) => say(draft.photos?.length ? "acts.go-on" : "photos.go-on-without"),
    show(host, context) {
      const file = h("input", { type: "file", id: "photo", accept: "image/*", capture: "environment", class: "visually-hidden", onchange: taken });
      const label = h("label", { class: "button quiet", for: file.id }, say("photos.take"));
      const [said, list] = [h("p", { role: "status" }), h("ol", { class: "pictures" })];
      replace(host, h("p", {}, say("photos.how")), h("p", { class: "caution" }, say("photos.caution")), h("p", { class: "taking" }, file, label), said, list);
      const names = () => context.draft.photos ?? [];

      async function taken() {
        const [picture] = file.files;
        file.value = "";
        if (!picture) return;
        file.disabled = true;
        replace(said, say("photos.making-smaller"));
        const words = await keep(picture);
        file.disabled = names().length >= MOST;
        if (!host.isConnected) return;
        replace(said, words ?? (names().length >= MOST ? say("photos.enough", { count: MOST }) : say("photos.kept")));
        file.focus();
      }
      async function keep(picture) {
        const bytes = await shrink(picture).catch(() => null);
        if (!bytes) return say("photos.no-picture");
        const name = await photos.keep(bytes).catch(() => null);
        if (!name) return say("photos.no-room");
        if (host.isConnected && !names().includes(name)) context.change({ photos: [...names(), name] });
        return null;
      }
      async function drop(name) {
        context.change({ photos: names().filter((each) => each !== name) });
        await photos.drop(name);
        file.disabled = false;
        replace(said, say("photos.dropped"));
      }
      function draw() {
        redraw(list, names().map((name, at) => {
          const words = say("photos.number", { number: at + 1, all: names().length });
          const canvas = h("canvas", { role: "img", "aria-label": words, width: SMALL_SIDE, height: SMALL_SIDE * 0.75 });
          paint(canvas, name);
          return h("li", {}, canvas, h("button", { type: "button", class: "quiet small", "data-key": name, onclick: () => drop(name) },
            say("photos.drop"), h("span", { class: "visually-hidden" }, `: ${words}`)));
        }));
      }
      file.disabled = names().length >= MOST;
      draw();
      return draw;
    },
  };
}

/** The picture upright, no larger than is needed, as the bytes of a JPEG that holds nothing else. */
async function shrink(file) {
  const bitmap = await createImageBitmap(file);
  const canvas = document.createElement("canvas");
  draw(canvas, bitmap, SIDE);
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  return bare(new Uint8Array(await blob.arrayBuffer()));
}

async function paint(canvas, name) {
  const bytes = await photos.bytesOf(name);
  if (bytes) draw(canvas, await createImageBitmap(new Blob([bytes], { type: "image/jpeg" })), SMALL_SIDE);
}

function draw(canvas, bitmap, side) {
  const scale = Math.min(1, side / Math.max(bitmap.width, bitmap.height));
  canvas.width = Math.max(1, Math.round(bitmap.width * scale));
  canvas.height = Math.max(1, Math.round(bitmap.height * scale));
  canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  bitmap.close();
}
