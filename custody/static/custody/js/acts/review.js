/** What the record will say and what it will find, before anybody signs; a note, and watchers who are present. */

import { foresee } from "../foresight/findings.js";
import { h, redraw, replace } from "../dom.js";
import { say } from "../words.js";
import { peopleFor, personName } from "./here.js";
import { itemLine } from "./shown.js";

/** The members of an entry but for those that are fixed when signing begins. */
export function membersOf(act, draft, world) {
  const note = draft.note.normalize("NFC").trim();
  return {
    v: 1,
    log: world.log,
    election: world.election,
    ...act.payload(draft, world),
    ...(note ? { note } : {}),
    ...(draft.photos?.length ? { photos: draft.photos } : {}),
    ...(draft.observers.length ? { observers: draft.observers } : {}),
  };
}

export function reviewStep(act) {
  return {
    id: "review",
    heading: () => say("acts.review"),
    onward: () => say("acts.to-signing"),
    show(host, context) {
      const says = h("div");
      const left = h("div");
      const finds = h("div");
      const note = h("textarea", { id: "note", rows: 3, maxlength: 2000, "aria-describedby": "note-caution", onchange: () => context.change({ note: note.value }) }, context.draft.note);
      replace(host, says, finds, left,
        h("details", { class: "aside", open: Boolean(context.draft.note) }, h("summary", {}, say("acts.note")),
          h("p", { class: "field" }, h("label", { for: "note" }, say("acts.note-label")), note),
          h("p", { class: "soft", id: "note-caution" }, say("acts.note-stays"))),
        observers(context));
      function draw() {
        const members = membersOf(act, context.draft, context.world);
        replace(says, h("section", {}, h("h2", { class: "titled" }, say("acts.record-will-say")),
          h("ul", { class: "says" }, [...act.sentences(members, context.world), ...withPhotos(members)].map((text) => h("li", {}, text)))));
        replace(left, leftOver(act, context));
        replace(finds, findings(foresee(members, context.world, act.target?.(context.draft))), heeds(act.heeds?.(context.draft, context.world) ?? []));
      }
      draw();
      return draw;
    },
  };
}

function withPhotos({ photos = [] }) {
  return photos.length ? [say("photos.says", { count: photos.length })] : [];
}

/** What was on the list and was not scanned: it may be short, or it may stay. */
function leftOver(act, context) {
  const { words, codes } = act.left?.(context.draft, context.world) ?? { codes: [] };
  if (!codes.length) return null;
  return h("section", {}, h("h2", { class: "titled" }, words),
    h("ul", { class: "ticks" }, codes.map((code) => h("li", { class: "open" }, itemLine(context.world, code)))));
}

function findings(found) {
  const title = h("h2", { class: "titled" }, say("acts.record-will-find"));
  if (!found.length) return h("section", {}, title, h("p", { class: "good-word" }, say("acts.finds-nothing")));
  return h("section", {}, title, h("p", {}, say("acts.finds-how")),
    h("ul", { class: "finds" }, found.map(({ rule, severity, words }) => h("li", { "data-rule": rule },
      h("span", { class: `tag ${severity}` }, say(`acts.finds-${severity}`)), " ", words))));
}

function heeds(texts) {
  if (!texts.length) return null;
  return h("section", {}, h("h2", { class: "titled" }, say("acts.heed")), h("ul", { class: "says heeds" }, texts.map((text) => h("li", {}, text))));
}

function observers(context) {
  const host = h("details", { class: "aside", open: context.draft.observers.length > 0 });
  const draw = () => {
    const chosen = context.draft.observers;
    const known = peopleFor(context.world, ["observer"]);
    const codes = [...new Set([...known.map((person) => person.code), ...chosen])];
    host.hidden = !codes.length;
    redraw(host, h("summary", {}, say("acts.observers")), h("p", {}, say("acts.observers-how")), h("fieldset", { class: "choices" },
      h("legend", { class: "visually-hidden" }, say("acts.observers")), codes.map((code) => {
        const box = h("input", { type: "checkbox", "data-key": code, checked: chosen.includes(code), onchange: () => {
          context.change({ observers: box.checked ? [...chosen, code] : chosen.filter((each) => each !== code) });
          draw();
        } });
        return h("label", { class: "choice" }, box, h("span", {}, h("b", {}, personName(context.world, code))));
      })));
  };
  draw();
  return host;
}
