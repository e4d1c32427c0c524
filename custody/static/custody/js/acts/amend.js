/** Putting an entry right that is on record: what was wrong, how it should read, and why. The entry is asked of the record, once. */

import { h, redraw, replace } from "../dom.js";
import { ask } from "../phone/record.js";
import { canonical } from "../record/canonical.js";
import { say } from "../words.js";
import { FIGURES } from "./count.js";
import { rolesHere } from "./here.js";
import { CATEGORIES } from "./incident.js";
import { peopleStep } from "./people.js";
import { photosStep } from "./photos.js";
import { ALL_REASONS } from "./sealing.js";
import { OUTCOMES } from "./settle.js";
import { partyText } from "./shown.js";
import { AT_COUNT, DAY } from "./steps.js";
import { plain, textStep } from "./text.js";
import * as values from "./values.js";

const PURPOSES = (world) => [...new Set([...Object.keys(world.policy.routes), "relieve", "audit"])];
const METHODS = ["destroyed", "released"];

const anyText = values.text();
/** What can be put right here, by kind of entry; beside what every entry has. Parties, kind and election never can be (format 1, section 4). */
const OF_EVERY = { at: values.moment, site: values.site, note: values.text({ optional: true }) };
export const OF_KIND = {
  register: { items: values.items },
  handoff: { items: values.items, loose_seals: values.runs, seals: values.readings, purpose: values.oneOf(PURPOSES) },
  seal: { seals: values.readings },
  unseal: { seals: values.readings, reason: values.oneOf(() => ALL_REASONS) },
  inspect: { seals: values.readings },
  pack: { container: values.code, items: values.items },
  unpack: { container: values.code, items: values.items },
  count: { subject: values.code, figures: values.figures(FIGURES) },
  step: { step: values.oneOf(() => [...DAY, ...AT_COUNT]), items: values.items },
  access: { purpose: anyText },
  incident: { category: values.oneOf(() => CATEGORIES), items: values.items, loose_seals: values.runs },
  hold: { reason: anyText },
  amend: { reason: anyText },
  resolve: { outcome: values.oneOf(() => OUTCOMES), reason: anyText },
  dispose: { items: values.items, method: values.oneOf(() => METHODS) },
};
/** In the order in which they are asked for. */
const MEMBERS = ["at", "site", "step", "category", "purpose", "method", "outcome", "container", "subject", "items", "seals", "loose_seals", "figures", "reason", "note"];

function editorsOf({ kind, seals }) {
  const { seals: readings, ...others } = { ...OF_EVERY, ...OF_KIND[kind] };
  return { ...others, ...(readings && seals?.length ? { seals: readings } : {}) };
}

export const amend = {
  name: "amend",
  isFor: (draft, asked) => !asked.get("entry") || asked.get("entry") === draft.entry,
  target: (draft) => draft.about,
  steps: [
    entryStep(),
    wrongStep(),
    ...MEMBERS.map(valueStep),
    textStep({ key: "reason", heading: () => say("amending.why"), label: () => say("amending.why-label"), needed: () => say("amending.why-needed") }),
    photosStep(),
    peopleStep({ end: "by", heading: () => say("amending.who"), roles: (draft, world) => rolesOf(draft.about.members, world) }),
  ],
  start: (_, asked) => ({ entry: asked.get("entry"), about: null, wrong: [], held: {}, reason: "" }),
  payload(draft, world) {
    const { members } = draft.about;
    return { kind: "amend", election: members.election, amends: draft.entry, replaces: replacesOf(draft, world), reason: plain(draft.reason), by: draft.parties.by };
  },
  sentences,
  heeds: () => [say("amending.both-stay")],
  after: (members) => [{ href: `/entries/${members.amends}/`, words: say("amending.see-it") }],
};

/** Those who answered for the entry come first. */
function rolesOf(members, world) {
  const there = ["by", "receive", "release"].map((end) => members[end]?.role).filter(Boolean);
  return [...new Set([...there, ...rolesHere(world), "official"])];
}

function readMember(draft, world, name) {
  const { members } = draft.about;
  return editorsOf(members)[name].read(draft.held[name], { entry: members, world, value: members[name] });
}

function replacesOf(draft, world) {
  return Object.fromEntries(draft.wrong.map((name) => [name, readMember(draft, world, name).value]));
}

function sentences(members, world) {
  const shown = Object.entries(members.replaces).flatMap(([name, value]) => {
    const editor = Object.values(OF_KIND).find((each) => name in each && each[name] !== anyText)?.[name] ?? OF_EVERY[name] ?? anyText;
    return [editor.show(value, world)].flat().map((text) => say("amending.says-member", { member: say(`amending.member-${name}`), value: text }));
  });
  return [say("amending.says", { people: partyText(world, members.by) }), ...shown, say("amending.says-why", { reason: members.reason })];
}

function entryStep() {
  return {
    id: "entry",
    heading: () => say("amending.which"),
    lacking: (draft) => (draft.about ? null : say(draft.entry ? "amending.not-fetched" : "amending.none-chosen")),
    show(host, context) {
      const { entry } = context.draft;
      if (!entry) return void replace(host, h("p", {}, say("amending.none-chosen")));
      const [body, said] = [h("div"), h("div", { role: "status" })];
      replace(host, body, said);
      const draw = () => context.draft.about && redraw(body, told(context.draft.about, context.world));
      draw();
      fetchIt();

      async function fetchIt() {
        if (context.draft.about) return;
        replace(said, h("p", {}, say("amending.asking")));
        const { document, status } = await ask(`/entries/${encodeURIComponent(entry)}/`);
        if (!host.isConnected) return;
        if (document) {
          context.change({ about: { members: document.members, signers: document.signers.filter((each) => each.counts).map((each) => each.person) } });
          draw();
          return void replace(said);
        }
        const words = status === 404 ? "amending.not-there" : status === 0 ? "amending.no-network" : "amending.not-allowed";
        replace(said, h("p", { class: "last ask" }, say(words)), status === 404 ? null : h("button", { type: "button", class: "quiet", onclick: fetchIt }, say("amending.ask-again")));
      }
    },
  };
}

/** What the entry says now, as far as it can be put right here. */
function told({ members }, world) {
  const editors = editorsOf(members);
  const rows = MEMBERS.filter((name) => name in editors && members[name] !== undefined);
  return [h("p", {}, h("b", {}, say(`amending.kind-${members.kind}`))), h("dl", { class: "facts" }, rows.map((name) => h("div", {},
    h("dt", {}, say(`amending.member-${name}`)), h("dd", {}, oneOrSeveral(editors[name].show(members[name], world))))))];
}

const oneOrSeveral = (shown) => (Array.isArray(shown) ? h("ul", {}, shown.map((text) => h("li", {}, text))) : shown);

function wrongStep() {
  return {
    id: "wrong",
    heading: () => say("amending.what-was-wrong"),
    lacking: (draft) => (draft.wrong.length ? null : say("further.choose-one")),
    show(host, context) {
      const { members } = context.draft.about;
      const editors = editorsOf(members);
      const take = (name, isWrong) => {
        const { wrong, held } = context.draft;
        const begun = name in held ? held : { ...held, [name]: editors[name].begin(members[name], context.world) };
        context.change({ wrong: isWrong ? [...wrong, name] : wrong.filter((each) => each !== name), held: begun });
      };
      replace(host, h("fieldset", { class: "choices" }, h("legend", {}, say("amending.choose-wrong")), MEMBERS.filter((name) => name in editors).map((name) => {
        const box = h("input", { type: "checkbox", "data-key": name, checked: context.draft.wrong.includes(name), onchange: () => take(name, box.checked) });
        return h("label", { class: "choice" }, box, h("span", {}, h("b", {}, say(`amending.member-${name}`))));
      })), h("p", { class: "soft" }, say("amending.never")));
    },
  };
}

function valueStep(name) {
  return {
    id: `new-${name}`,
    heading: () => say("amending.how-it-should-read", { member: say(`amending.member-${name}`) }),
    needed: (draft) => draft.wrong.includes(name),
    lacking(draft, world) {
      const { value, lacking } = readMember(draft, world, name);
      const now = draft.about.members[name] ?? (Array.isArray(value) ? [] : "");
      return lacking ?? (canonical([value]) === canonical([now]) ? say("amending.same") : null);
    },
    show(host, context) {
      const { about, held } = context.draft;
      const editor = editorsOf(about.members)[name];
      const fields = h("div", { class: "values" });
      const now = about.members[name];
      const shown = now === undefined ? say("amending.nothing") : editor.show(now, context.world);
      const [said, listed] = Array.isArray(shown) ? ["", oneOrSeveral(shown)] : [shown, null];
      replace(host, h("div", {}, h("p", {}, say("amending.on-record", { value: said })), listed), fields);
      editor.draw(fields, { name, held: held[name], world: context.world, entry: about.members, change: (value) => context.change({ held: { ...context.draft.held, [name]: value } }) });
    },
  };
}
