/**
 * Making a badge: a secret by chance, a PIN by its owner, the key that both give. Only the public key leaves this page; secret and PIN are
 * forgotten when the badge is printed.
 */

import { focusOn, h, replace } from "../dom.js";
import { lacking } from "../phone/able.js";
import { dumpBadge, groupBadge, newSecret, unlock } from "../record/badge.js";
import { encode } from "../record/base64.js";
import { pinFault } from "../record/pins.js";
import { say } from "../words.js";
import { post } from "./post.js";
import { drawCode } from "./qr.js";

const host = document.getElementById("enrol");
const { person, name, role, office, rehearsal, to } = host.dataset;
const lacks = (await lacking()).filter((what) => what !== "storage");
if (lacks.length) replace(host, lacks.map((what) => h("p", { class: "last ask" }, say(`outbox.lacks-${what}`))));
else start();

function start() {
  replace(host, h("button", { type: "button", onclick: choosePin }, say("access.make")));
}

function choosePin() {
  const field = (id, label) => h("p", { class: "field" }, h("label", { for: id }, say(label)),
    h("input", { id, type: "password", inputmode: "numeric", autocomplete: "new-password", required: true, "aria-describedby": "pin-fault" }));
  const fault = h("p", { id: "pin-fault", class: "lacking", role: "alert" });
  const button = h("button", {}, say("access.enrol"));
  const form = h("form", { class: "pin", novalidate: true, onsubmit: submit }, h("p", {}, say("access.make-how")),
    field("pin", "access.pin"), field("pin-again", "access.pin-again"), fault, h("div", { class: "buttons" }, button));
  replace(host, form);
  const [first, second] = form.querySelectorAll("input");
  first.focus();

  async function submit(event) {
    event.preventDefault();
    const wrong = pinFault(first.value);
    if (wrong) return complain(say(`access.pin-${wrong}`));
    if (first.value !== second.value) return complain(say("access.pins-differ"));
    button.disabled = true;
    replace(fault, say("access.making-key"));
    const badge = { person, secret: newSecret() };
    const detail = await enrol(badge, first.value).catch(() => say("access.no-network"));
    button.disabled = false;
    if (detail) return complain(say("access.not-enrolled", { detail }));
    first.value = second.value = "";
    await show(badge);
  }

  function complain(words) {
    replace(fault, words);
    first.value = second.value = "";
    first.focus();
  }
}

/** What went wrong, in words; `null` where the key is on the register now. */
async function enrol(badge, pin) {
  const signer = await unlock(badge, pin);
  const answer = await post(to, JSON.stringify({ public_key: encode(signer.publicKey) }));
  if (answer.status === 201) return null;
  return (await answer.json().catch(() => ({}))).detail ?? answer.statusText;
}

/** The card, until it is printed: it cannot be made a second time. */
async function show(badge) {
  const warn = (event) => event.preventDefault();
  addEventListener("beforeunload", warn);
  const code = await drawCode(dumpBadge(badge), say("access.qr"));
  const card = h("div", { class: "card" },
    h("div", { class: "card-words" },
      rehearsal ? h("p", { class: "tag warning" }, say("access.rehearsal")) : null,
      h("p", { class: "card-name" }, name), h("p", {}, role), h("p", { class: "code" }, person), h("p", { class: "small" }, office),
      h("p", { class: "card-caution" }, say("access.card-caution"))),
    h("div", { class: "card-code" }, code),
    h("p", { class: "card-typed" }, h("span", {}, say("access.typed")), " ", h("span", { class: "code" }, `CB1:${person}: ${groupBadge(badge)}`)));
  const title = h("h3", { class: "no-print" }, say("access.enrolled"));
  replace(host, title, card, h("div", { class: "buttons no-print" },
    h("button", { type: "button", onclick: () => print() }, say("access.print")),
    h("button", { type: "button", class: "quiet", onclick: () => {
      badge.secret.fill(0);
      removeEventListener("beforeunload", warn);
      location.reload();
    } }, say("access.printed"))), h("p", { class: "soft no-print" }, say("access.printed-how")));
  focusOn(title);
}
