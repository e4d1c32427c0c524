/** Signing in by badge: scan it, type the PIN, answer the server's challenge with the key that they give. */

import { focusOn, h, replace } from "../dom.js";
import { lacking } from "../phone/able.js";
import { unlock } from "../record/badge.js";
import { SIGN_IN_TYPE, signEnvelope } from "../record/envelope.js";
import { readScan } from "../scan/reading.js";
import { openScanner } from "../scan/scanner.js";
import { signal } from "../scan/signals.js";
import { say } from "../words.js";
import { post } from "./post.js";

const host = document.getElementById("badge");
const NOTHING = { items: new Map(), sites: [], lots: [] };

const lacks = (await lacking()).filter((what) => what !== "storage");
if (lacks.length) replace(host, lacks.map((what) => h("p", { class: "last ask" }, say(`outbox.lacks-${what}`))));
else askBadge();

function askBadge(words = null) {
  const place = h("div");
  const said = h("p", { class: words ? "last ask" : null, role: "alert" }, words);
  replace(host, said, place);
  const panel = openScanner(place, { ask: "badge", onScan(text) {
    const found = readScan(text, NOTHING);
    if (found.type === "badge") {
      panel.close();
      return askPin(found.badge);
    }
    said.className = "last ask";
    replace(said, say(found.slip ? `scanning.slip-${found.slip}` : "access.no-badge"));
    signal("ask", said.textContent);
  } });
  if (words) panel.focus();
}

function askPin(badge) {
  const pin = h("input", { id: "pin", type: "password", inputmode: "numeric", autocomplete: "off", required: true, minlength: 6, "aria-describedby": "pin-fault" });
  const fault = h("p", { id: "pin-fault", class: "lacking", role: "alert" });
  const button = h("button", {}, say("access.sign-in"));
  const form = h("form", { class: "pin", onsubmit: submit }, h("h3", {}, h("label", { for: "pin" }, say("access.pin-of", { person: badge.person }))), pin, fault,
    h("div", { class: "buttons" }, button, h("button", { type: "button", class: "quiet", onclick: () => { badge.secret.fill(0); askBadge(); } }, say("access.another-badge"))));
  replace(host, form);
  focusOn(pin);

  async function submit(event) {
    event.preventDefault();
    button.disabled = true;
    replace(fault, say("access.making-key"));
    const problem = await answer(badge, pin.value).catch(() => ({ code: "no-network" }));
    pin.value = "";
    if (!problem) return;
    button.disabled = false;
    replace(fault, problem.detail ?? say("access.no-network"));
    signal("ask", fault.textContent);
    pin.focus();
  }
}

/** `null` where it worked: then the page goes on. */
async function answer(badge, pin) {
  const signer = await unlock(badge, pin);
  const asked = await post("/sign-in/challenge/", JSON.stringify({ person: badge.person }));
  const challenge = await asked.json();
  if (!asked.ok) return challenge;
  // Signed for this page's own origin and for no other, whoever passed the challenge on.
  if (challenge.origin !== location.origin) return { detail: say("access.another-origin") };
  const envelope = await signEnvelope(challenge, [signer], SIGN_IN_TYPE);
  const answered = await post(`/sign-in/badge/?${new URLSearchParams({ next: host.dataset.next })}`, JSON.stringify(envelope));
  const result = await answered.json();
  if (!answered.ok) return result;
  badge.secret.fill(0);
  location.assign(result.next);
  return null;
}
