/**
 * The panel that scans, by any way there is: a field for a scanner's keys or one's own, the camera with its light, a photo. Where two
 * codes are in one picture it asks which is meant; where a label names another office's address, whether it is ours.
 */

import { focusOn, h, replace } from "../dom.js";
import { withoutSecret } from "../record/badge.js";
import { say } from "../words.js";
import { hasCamera, watch } from "./camera.js";
import { makeField } from "./field.js";
import { strangeHost, trust } from "./hosts.js";
import { readPhoto } from "./photo.js";
import { signal } from "./signals.js";

const LABELS = { item: "scanning.label-of-item", seal: "scanning.label-of-seal", badge: "scanning.label-of-badge" };

/** Whoever once used the camera wants it for the next thing too. */
let wanted = false;

/**
 * Open the panel in `host`.
 * @param {HTMLElement} host
 * @param {{ask: "item" | "seal" | "badge", onScan: (text: string, how: "camera" | "wedge" | "photo" | "typed") => void}} options
 * @returns {{close: () => void, focus: () => void, say: (text: string) => void}}
 */
export function openScanner(host, { ask: wants, onScan }) {
  const field = makeField(say(LABELS[wants]), (text, how) => take([text], how));
  const video = h("video", { muted: true, playsinline: true, "aria-label": say("scanning.picture") });
  video.muted = true;
  const seen = h("div", { class: "scan-video", hidden: true }, video);
  const said = h("p", { class: "scan-said", role: "status" });
  const which = h("div", { class: "scan-which" });
  const light = h("button", { type: "button", class: "quiet", hidden: true, "aria-pressed": "false", onclick: switchLight }, say("scanning.light"));
  const camera = h("button", { type: "button", class: "quiet", hidden: !hasCamera(), "aria-pressed": "false", onclick: () => (eye ? closeEye() : openEye()) }, say("scanning.camera"));
  const file = h("input", { type: "file", accept: "image/*", capture: "environment", class: "visually-hidden", onchange: photographed });
  const photo = h("label", { class: "button quiet" }, say("scanning.photo"), file);
  replace(host, h("div", { class: "scanner" }, seen, which, field.form, h("div", { class: "scan-ways" }, camera, light, photo), said));

  let [eye, closed, paused] = [null, false, false];
  if (wanted && hasCamera()) openEye();

  function take(texts, how) {
    if (closed || paused) return;
    if (texts.length > 1) return askWhich(texts, how);
    const strange = strangeHost(texts[0]);
    if (strange) return askWhose(texts[0], strange, how);
    replace(which);
    replace(said);
    flash();
    onScan(texts[0], how);
  }

  function askWhich(texts, how) {
    ask(say("scanning.which"), [...texts.map((text) => [shown(text), () => take([text], how)]), [say("scanning.neither")]]);
  }

  function askWhose(text, host, how) {
    const ours = () => { trust(host); take([text], how); };
    ask(say("scanning.of-another-office", { host }), [[say("scanning.it-is-ours"), ours], [say("scanning.not-ours")]]);
  }

  /** Nothing is taken until one of the choices is: `[words, what follows]`. */
  function ask(words, choices) {
    paused = true;
    const title = h("h2", {}, words);
    const choose = (follow) => {
      paused = false;
      replace(which);
      follow?.();
      panel.focus();
    };
    replace(which, title, h("div", { class: "buttons" }, choices.map(([label, follow]) =>
      h("button", { type: "button", class: "quiet", onclick: () => choose(follow) }, label))));
    signal("ask", words);
    focusOn(title);
  }

  async function openEye() {
    camera.disabled = true;
    replace(said, say("scanning.camera-starts"));
    try {
      const opened = await watch(video, (texts) => take(texts, "camera"));
      if (closed) return opened.stop();
      [eye, wanted] = [opened, true];
      light.hidden = !eye.torch;
      replace(said, say("scanning.hold-steady"));
    } catch (fault) {
      wanted = false;
      replace(said, say(fault.name === "NotAllowedError" ? "scanning.camera-refused" : "scanning.camera-none"));
    }
    camera.disabled = false;
    seen.hidden = !eye;
    camera.setAttribute("aria-pressed", String(Boolean(eye)));
  }

  function closeEye() {
    eye?.stop();
    [eye, wanted] = [null, false];
    seen.hidden = light.hidden = true;
    camera.setAttribute("aria-pressed", "false");
    replace(said);
  }

  async function switchLight() {
    const on = light.getAttribute("aria-pressed") !== "true";
    await eye.torch(on).then(() => light.setAttribute("aria-pressed", String(on)), () => replace(said, say("scanning.no-light")));
  }

  async function photographed() {
    const [picture] = file.files;
    file.value = "";
    if (!picture) return;
    replace(said, say("scanning.photo-read"));
    const texts = await readPhoto(picture);
    if (texts.length) return take(texts, "photo");
    replace(said, say("scanning.photo-nothing"));
    signal("ask", say("scanning.photo-nothing"));
  }

  function flash() {
    seen.classList.remove("caught");
    requestAnimationFrame(() => seen.classList.add("caught"));
  }

  const panel = {
    close() {
      closed = true;
      eye?.stop();
      field.close();
      host.replaceChildren();
    },
    focus: () => field.input.focus({ preventScroll: Boolean(eye) }),
    say: (text) => replace(said, text),
  };
  return panel;
}

/** A label's address by its code alone; a badge without its secret. */
function shown(text) {
  return /\/q\/([^/?#]+)\/?$/i.exec(text)?.[1] ?? withoutSecret(text);
}
