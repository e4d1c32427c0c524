/** Putting seals on, reading them, taking them off. */

import { heading, say, word } from "../words.js";
import { choiceStep } from "./choice.js";
import { heldHere, inOrder, pollsClosed, rolesHere, sealsOn, siteOf } from "./here.js";
import { numbersStep } from "./numbers.js";
import { peopleStep } from "./people.js";
import { readingsOf, readingsStep } from "./readings.js";
import { itemText, partyText, readingText } from "./shown.js";
import { thingsStep } from "./things.js";

const REASONS = {
  warehouse: ["replace_seal", "service", "audit", "emergency"],
  polling_place: ["open_polls", "close_polls", "service", "replace_seal", "emergency"],
  count_center: ["count", "recount", "audit", "replace_seal", "emergency"],
};
export const ALL_REASONS = ["open_polls", "close_polls", "service", "count", "audit", "recount", "replace_seal", "emergency"];

const who = peopleStep({ end: "by", heading: () => say("further.who-does-this"), roles: (_, world) => [...rolesHere(world), "technician"] });

export const applySeals = {
  name: "apply-seals",
  steps: [
    who,
    thingsStep({ heading: () => say("further.what-is-sealed"), offered: (_, world) => sealable(world) }),
    numbersStep({ wanted: points }),
  ],
  start: () => ({ items: [], seals: [] }),
  payload: (draft, world) => ({ kind: "seal", site: world.site, seals: draft.seals.filter((seal) => draft.items.includes(seal.item)), by: draft.parties.by }),
  sentences: (members, world) => [
    say("further.says-seal", { ...about(members, world), count: members.seals.length }),
    ...members.seals.map((seal) => say("further.says-number", { number: seal.number, point: seal.point, thing: itemText(world, seal.item) })),
  ],
  after: (members, world) => [pollsClosed(world) ? { href: "/at-work/hand-over/", words: say("further.next-hand-over") } : { href: "/at-work/apply-seals/", words: say("further.more-seals") }],
};

export const readSeals = {
  name: "read-seals",
  steps: [who, thingsStep({ heading: () => say("further.whose-seals-read"), offered: (_, world) => sealed(world) }), atLeastOne(readingsStep({ wanted: seals }))],
  start: () => ({ items: [], readings: [] }),
  payload: (draft, world) => ({ kind: "inspect", site: world.site, seals: readingsOf(draft, draft.items), by: draft.parties.by }),
  sentences: (members, world) => [say("further.says-inspect", { ...about(members, world), count: members.seals.length }), ...readings(members, world)],
  after: () => [{ href: "/at-work/steps/", words: say("further.next-steps") }],
};

export const removeSeals = {
  name: "remove-seals",
  steps: [
    who,
    choiceStep({ key: "reason", heading: () => say("further.why-off"), options: (_, world) => reasons(world) }),
    thingsStep({ heading: () => say("further.whose-seals-off"), offered: (_, world) => sealed(world) }),
    atLeastOne(readingsStep({ wanted: seals, heading: () => say("further.read-then-off") })),
  ],
  start: (world) => ({ items: [], readings: [], reason: reasons(world)[pollsClosed(world) ? 1 : 0].value }),
  payload: (draft, world) => ({ kind: "unseal", site: world.site, seals: readingsOf(draft, draft.items), reason: draft.reason, by: draft.parties.by }),
  sentences: (members, world) => [
    say("further.says-unseal", { ...about(members, world), count: members.seals.length, reason: word(members.reason) }),
    ...readings(members, world),
  ],
  after: () => [{ href: "/at-work/unpack/", words: say("further.next-unpack") }],
};

function sealable(world) {
  return heldHere(world).filter((code) => world.items.get(code).seal_points.length);
}

function sealed(world) {
  return heldHere(world).filter((code) => sealsOn(world, code).length);
}

/** Every point of the things: those without a seal first. */
function points(draft, world) {
  const all = inOrder(world, draft.items).flatMap((code) => (world.items.get(code)?.seal_points ?? []).map((point) => ({ item: code, point })));
  const has = ({ item, point }) => Boolean(world.items.get(item).seals[point]);
  return [...all.filter((seal) => !has(seal)), ...all.filter(has)];
}

function seals(draft, world) {
  return inOrder(world, draft.items).flatMap((code) => sealsOn(world, code));
}

function reasons(world) {
  const usual = REASONS[siteOf(world).kind] ?? [];
  return [...usual, ...ALL_REASONS.filter((reason) => !usual.includes(reason))].map((value) => ({ value, words: heading(value) }));
}

/** An entry of readings has one at least. */
function atLeastOne(step) {
  return { ...step, needed: () => true, lacking: (draft) => (readingsOf(draft, draft.items).length ? null : say("further.one-seal")) };
}

function about(members, world) {
  return { people: partyText(world, members.by), place: siteOf(world).name };
}

function readings(members, world) {
  return members.seals.map((seal) => readingText(world, seal));
}
