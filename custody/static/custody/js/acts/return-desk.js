/** The return desk: one place's things come in, are ticked against all that it owes, and what is short is said at once. */

import { h, redraw, replace } from "../dom.js";
import { withContents } from "../phone/world.js";
import { say } from "../words.js";
import { handoffPayload, handoffSentences, looksWrong, sealsToRead } from "./handoff.js";
import { inOrder, rolesHere, routes, siteOf } from "./here.js";
import { peopleStep, setParty } from "./people.js";
import { photosStep } from "./photos.js";
import { readingsStep } from "./readings.js";
import { routeChoice } from "./routes.js";
import { itemLine, itemText, partyText } from "./shown.js";
import { thingsStep } from "./things.js";

const SECONDS_BETWEEN_LOOKS = 15;
/** What the count waits for comes first. */
const FIRST = ["memory_device", "results_tape", "transfer_case", "ballot_container"];

export const returnDesk = {
  name: "return-desk",
  steps: [
    placeStep(),
    expectedStep(),
    shortStep(),
    peopleStep({
      end: "release",
      heading: () => say("acts.release-far"),
      roles: (draft, world) => [draft.parties.release?.role ?? routes(world, "receive")[0].role],
      near: false,
      choice: routeChoice("receive"),
    }),
    peopleStep({ end: "receive", heading: () => say("acts.receive-near"), roles: (_, world) => rolesHere(world) }),
    readingsStep({ wanted: sealsToRead }),
    photosStep({ needed: looksWrong }),
  ],
  start: () => ({ items: [], readings: [], purpose: "return", from: null, expected: [] }),
  payload: handoffPayload,
  sentences: handoffSentences,
  left: (draft, world) => ({ words: say("desk.left"), codes: short(draft, world) }),
  after: (members) => [
    { href: "/at-work/return-desk/", words: say("desk.next-car") },
    { href: `/receipts/${members.id}/`, words: say("desk.receipt") },
  ],
};

/** What each place owes: what must be back tonight by policy, and whatever else is on its way here. */
function owedByPlace(world) {
  const places = new Map();
  for (const item of world.items.values()) {
    const tonight = (world.policy.items[item.kind]?.returned ?? true) || (item.holder && !item.holder.site);
    if (!item.owed || item.owed === world.site || !tonight) continue;
    places.set(item.owed, [...(places.get(item.owed) ?? []), item]);
  }
  return places;
}

/** What a place owes, without what lies in something that it owes as well. */
function expectedOf(world, place) {
  const owed = (owedByPlace(world).get(place) ?? []).map((item) => item.code);
  return inDeskOrder(world, owed.filter((code) => !owed.includes(outermost(world, code)) || outermost(world, code) === code));
}

function outermost(world, code) {
  let around = code;
  for (let inside = world.items.get(code)?.container; inside; inside = world.items.get(inside)?.container) around = inside;
  return around;
}

/** Whatever holds the memory device, then tapes, then the rest. */
function inDeskOrder(world, codes) {
  const rank = (code) => Math.min(...withContents(world, [code]).map((each) => {
    const place = FIRST.indexOf(world.items.get(each)?.kind);
    return place < 0 ? FIRST.length : place;
  }));
  const ordered = inOrder(world, codes);
  return ordered.sort((one, other) => rank(one) - rank(other) || ordered.indexOf(one) - ordered.indexOf(other));
}

/** Taken in since the list was opened, at another desk or by another phone. */
function isIn(draft, world, code) {
  const item = world.items.get(code);
  return draft.expected.includes(code) && item?.owed !== draft.from && item?.holder?.site === world.site;
}

function short(draft, world) {
  return draft.expected.filter((code) => !draft.items.includes(code) && !isIn(draft, world, code));
}

function placeStep() {
  return {
    id: "from",
    heading: () => say("desk.which-place"),
    lacking: (draft) => (draft.from ? null : say("desk.choose-place")),
    show(host, context) {
      const [panel, note, list] = [h("div"), h("p", { class: "note", role: "status", hidden: true }), h("div")];
      replace(host, panel, note, list);
      const told = (kind, text) => {
        note.hidden = false;
        replace(note, text);
        context.signal(kind, text);
      };
      function choose(place) {
        const { world } = context;
        const expected = expectedOf(world, place);
        if (!expected.length) return told("ask", say("desk.all-in", { place: siteOf(world, place).name }));
        context.change({ from: place, expected, items: [], readings: [], purpose: "return" });
        const holder = expected.map((code) => world.items.get(code).holder).find((held) => held && held.site !== world.site);
        if (holder) setParty(context, "release", holder.role, holder.people);
        context.next();
      }
      function scanned(found) {
        if (found.type === "site") return choose(found.code);
        if (found.type === "seal" || found.type === "unknown") return told("ask", say(found.type === "seal" ? "acts.that-is-a-seal" : "acts.not-a-label"));
        const things = [...context.world.items.values()];
        const owed = found.type === "item" ? things.filter((item) => item.code === found.code && item.owed)
          : found.type === "badge" ? things.filter((item) => item.owed && item.holder?.people.includes(found.badge.person)) : [];
        const places = new Set(owed.map((item) => item.owed));
        if (places.size === 1) return choose([...places][0]);
        if (places.size) return told("ask", say("desk.several-places"));
        return told("ask", say(found.type === "badge" ? "desk.owed-with-nobody" : "desk.owed-by-nobody"));
      }
      function draw() {
        const { world } = context;
        const places = [...owedByPlace(world)].map(([code, items]) => ({ ...siteOf(world, code), items }));
        places.sort((one, other) => one.name.localeCompare(other.name));
        redraw(list, places.length ? h("ul", { class: "places" }, places.map(({ code, name, items }) => h("li", {},
          h("button", { type: "button", class: "quiet", "data-key": code, onclick: () => choose(code) },
            h("b", {}, name), h("span", { class: "soft" }, say("desk.owes", { count: items.length }), " ", carrier(world, items))))))
          : h("p", { class: "empty" }, say("desk.nothing-owed")));
      }
      draw();
      context.scans(scanned, { ask: "item", host: panel });
      return watch(host, context, draw);
    },
  };
}

function carrier(world, items) {
  const holder = items.map((item) => item.holder).find((held) => held && !held.site);
  return holder ? say("desk.with", { people: partyText(world, holder) }) : null;
}

function expectedStep() {
  const things = thingsStep({
    heading: (draft, world) => say("desk.what-has-come", { place: siteOf(world, draft.from).name }),
    offered: (draft) => draft.expected,
    order: inDeskOrder,
    already: isIn,
    odd: ofAnother,
  });
  return { ...things, show: (host, context) => watch(host, context, things.show(host, context), () => leaveToOthers(context)) };
}

/** Cars of two places may unload side by side, and their boxes have the same names. */
function ofAnother(draft, world, code) {
  const { owed } = world.items.get(code) ?? {};
  return owed && owed !== draft.from && owed !== world.site ? say("desk.of-another-place", { place: siteOf(world, owed).name }) : null;
}

/** Two desks may have one place in hand: what another has taken in meanwhile is not taken in twice. */
function leaveToOthers(context) {
  const { draft, world } = context;
  const theirs = draft.items.filter((code) => isIn(draft, world, code));
  if (!theirs.length) return;
  context.change({ items: draft.items.filter((code) => !theirs.includes(code)) });
  context.signal("ask", say("desk.taken-elsewhere", { things: theirs.map((code) => itemText(world, code)).join("; ") }));
}

/** Look at the record every few seconds as long as the step is shown. Without a network all stays as it was. */
function watch(host, context, refresh, changed = () => {}) {
  const shown = host.firstChild;
  const timer = setInterval(async () => {
    if (host.firstChild !== shown || !host.isConnected) return void clearInterval(timer);
    await context.renew();
    changed();
  }, SECONDS_BETWEEN_LOOKS * 1000);
  return refresh;
}

function shortStep() {
  return {
    id: "short",
    heading: (draft, world) => say("desk.short", { count: short(draft, world).length }),
    needed: (draft, world) => short(draft, world).length > 0,
    onward: () => say("desk.go-on-short"),
    quiet: () => true,
    show(host, context) {
      const draw = () => {
        const { draft, world } = context;
        const codes = short(draft, world);
        redraw(host,
          withContents(world, codes).some((code) => world.items.get(code)?.kind === "memory_device") ? h("p", { class: "last bad" }, say("desk.memory-short")) : null,
          h("p", { class: "lead" }, say("desk.ask-now")),
          h("ul", { class: "ticks" }, codes.map((code) => h("li", { class: "short" }, itemLine(world, code), h("span", { class: "tick-word" },
            h("b", {}, say("desk.not-here")), " ", heldLast(world, code), " ", say(`missing.look-${(world.items.get(code)?.kind ?? "supply_kit").replaceAll("_", "-")}`))))),
          h("p", {}, h("button", { type: "button", "data-key": "again", onclick: () => context.goTo("things") }, say("desk.look-again"))));
      };
      draw();
      return draw;
    },
  };
}

function heldLast(world, code) {
  const { holder } = world.items.get(code) ?? {};
  return say(holder ? "desk.held-by" : "desk.held-by-nobody", { people: holder ? partyText(world, holder) : "" });
}
