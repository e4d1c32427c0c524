/**
 * Signing: each person named at an end scans a badge and types a PIN. A key is made, signs, and is let go of at once; what stays is
 * the signature. Everybody signs the same bytes: they are fixed when signing begins.
 */

import { focusOn, h, replace } from "../dom.js";
import * as outbox from "../phone/outbox.js";
import * as clock from "../phone/clock.js";
import * as photos from "../phone/photos.js";
import { encode } from "../record/base64.js";
import { unlock } from "../record/badge.js";
import { canonical } from "../record/canonical.js";
import { addSignature, signEnvelope } from "../record/envelope.js";
import { dumpInstant } from "../record/instants.js";
import { uuid7 } from "../record/uuid7.js";
import { say, word } from "../words.js";
import { personName } from "./here.js";
import { setParty } from "./people.js";
import { membersOf } from "./review.js";

const ENDS = ["release", "receive", "by"];

export function signingStep(act) {
  return {
    id: "signing",
    heading: () => say("signing.sign"),
    bare: true,
    show(host, context) {
      const begun = begin(membersOf(act, context.draft, context.world), context.draft.signing);
      const { members } = begun;
      const ends = ENDS.filter((end) => members[end]);
      const signers = ends.flatMap((end) => members[end].people);
      const signed = new Set(begun.signed);
      let { envelope } = begun;
      let panel = null;
      const list = h("div");
      const asking = h("section", { class: "signing" });
      const finish = h("div", { class: "onward" });
      const unsaved = h("p", { class: "lacking", role: "alert" });
      replace(host, asking, list, unsaved, finish);

      const left = () => signers.filter((code) => !signed.has(code));

      function draw() {
        replace(list, ends.map((end) => endList(context.world, end, members[end], signed)));
        const all = left().length === 0;
        replace(finish, !envelope ? null : h("button", { type: "button", class: all ? "" : "quiet", onclick: save },
          all ? say("signing.record-it") : say("signing.record-without", { count: left().length })),
          envelope && !all ? h("p", { class: "soft" }, say("signing.what-is-missing")) : null);
        if (all) finish.querySelector("button").focus();
      }

      function askBadge(words = null, kind = "ask") {
        const place = h("div");
        closePanel();
        replace(asking, words ? h("p", { class: `last ${kind}`, role: "status" }, words) : null,
          left().length ? h("h2", {}, say("signing.scan-badge")) : null, place);
        if (!left().length) return;
        panel = context.scans(badgeRead, { ask: "badge", host: place });
        panel.focus();
      }

      function closePanel() {
        panel?.close();
        panel = null;
      }

      function badgeRead(found, how) {
        if (found.type !== "badge") return void context.signal("ask", say("acts.that-is-no-badge"));
        const { person } = found.badge;
        if (signed.has(person) && how === "camera") return;  // it still looks at the badge before
        if (signed.has(person)) return void context.signal("ask", say("signing.has-signed", { name: personName(context.world, person) }));
        if (!signers.includes(person)) return stranger(person);
        context.signal("good", personName(context.world, person));
        askPin(found.badge);
      }

      /** A badge of somebody whom the entry does not name: it may name them, which makes another entry of it. */
      function stranger(person) {
        const name = personName(context.world, person);
        context.signal("ask", say("signing.not-named", { name }));
        closePanel();
        const title = h("h2", {}, say("signing.not-named", { name }));
        replace(asking, title, h("p", {}, say("signing.name-them-how")), h("div", { class: "buttons" },
          ends.map((end) => h("button", { type: "button", class: "quiet", onclick: () => {
            const { role, people } = context.draft.parties[end];
            setParty(context, end, role, [...people, person]);
            context.goTo("review");
          } }, say(`signing.name-at-${end}`, { name }))),
          h("button", { type: "button", onclick: () => askBadge() }, say("signing.another-badge"))));
        focusOn(title);
      }

      function askPin(badge) {
        const name = personName(context.world, badge.person);
        const pin = h("input", { id: "pin", type: "password", inputmode: "numeric", autocomplete: "off", required: true, minlength: 6, "aria-describedby": "pin-fault" });
        const fault = h("p", { id: "pin-fault", class: "lacking", role: "alert" });
        const button = h("button", {}, say("signing.sign-as", { name }));
        const form = h("form", { class: "pin", onsubmit: submit }, h("h2", {}, h("label", { for: "pin" }, say("signing.pin-of", { name }))),
          pin, fault, h("div", { class: "buttons" }, button,
            h("button", { type: "button", class: "quiet", onclick: () => askBadge() }, say("signing.another-badge"))));
        closePanel();
        replace(asking, form);
        pin.focus();

        async function submit(event) {
          event.preventDefault();
          button.disabled = true;
          replace(fault, say("signing.making-key"));
          const right = await sign(badge, pin.value).catch(() => false);
          pin.value = "";
          button.disabled = false;
          if (right) return askBadge(say("signing.signed", { name }), "good");
          replace(fault, say("signing.does-not-fit", { name }));
          context.signal("ask", say("signing.does-not-fit", { name }));
          pin.focus();
        }
      }

      /** Sign with the key of badge and PIN, if it is one that this person has on the register. */
      async function sign(badge, pin) {
        const signer = await unlock(badge, pin);
        const keys = context.world.people.get(badge.person)?.keys ?? [];
        if (!keys.includes(encode(signer.publicKey))) return false;
        envelope = envelope ? await addSignature(envelope, signer) : await signEnvelope(members, [signer]);
        badge.secret.fill(0);
        signed.add(badge.person);
        // Nobody is told that they have signed before the phone has kept it; where it cannot, the signature counts until the page goes.
        await context.change({ signing: { members, envelope, signed: [...signed] } }).catch(() => null);
        context.signal("good", say("signing.signed", { name: personName(context.world, badge.person) }));
        draw();
        return true;
      }

      async function save(event) {
        const button = event.currentTarget;
        button.disabled = true;
        try {
          await photos.giveTo(members.id, members.photos ?? []);
          await outbox.add(envelope, act.sentences(members, context.world)[0]);
        } catch {
          button.disabled = false;
          askBadge(say("signing.not-saved"));
          return context.signal("bad", say("signing.not-saved"));
        }
        return context.done(members);
      }
      draw();
      askBadge();
    },
  };
}

/**
 * What everybody signs: the members with an id, the time, and by how much this phone's clock was found wrong. Signatures that were given
 * before a reload, or a look back at the review, still count while the entry says the same.
 */
function begin(members, kept) {
  if (kept) {
    const { id, at, offset, ...same } = kept.members;
    if (canonical(same) === canonical(members)) return kept;
  }
  const now = clock.now();
  const wrong = clock.offset();
  const fixed = { ...members, id: uuid7(clock.milliseconds()), at: dumpInstant(now), ...(wrong ? { offset: wrong } : {}) };
  return { members: fixed, envelope: null, signed: [] };
}

function endList(world, end, party, signed) {
  return h("section", { class: "end" }, h("h2", { class: "titled" }, say(`signing.end-${end}`, { role: word(party.role) })),
    h("ul", { class: "ticks" }, party.people.map((code) => h("li", { class: signed.has(code) ? "ticked" : "open" },
      h("span", { class: "thing" }, h("b", {}, personName(world, code))),
      h("span", { class: "tick-word" }, say(signed.has(code) ? "signing.has" : "signing.has-not"))))));
}
