/** Handing over and receiving: one entry, seen from either end. */

import { say, word } from "../words.js";
import { contentsOf, heldBy, heldHere, inOrder, personName, pollsClosed, rolesHere, routes, sealsOn, siteOf, stillOwed } from "./here.js";
import { peopleStep } from "./people.js";
import { photosStep } from "./photos.js";
import { readingsOf, readingsStep } from "./readings.js";
import { routeChoice } from "./routes.js";
import { byKind, itemText, partyText } from "./shown.js";
import { thingsStep } from "./things.js";

const MANY_HERE = 60;

export const handOver = handoff({ name: "hand-over", near: "release", offered: offeredOut });
export const receive = handoff({ name: "receive", near: "receive", offered: offeredIn });

function handoff({ name, near, offered }) {
  const far = near === "release" ? "receive" : "release";
  const nearStep = peopleStep({ end: near, heading: () => say(`acts.${near}-near`), roles: (_, world) => rolesHere(world) });
  const farStep = peopleStep({
    end: far,
    heading: () => say(`acts.${far}-far`),
    roles: (draft, world) => [draft.parties[far]?.role ?? routes(world, near)[0].role],
    near: false,
    choice: routeChoice(near),
  });
  return {
    name,
    steps: [
      ...(near === "release" ? [nearStep, farStep] : [farStep, nearStep]),
      thingsStep({ heading: () => say(`acts.things-${near}`), offered, kits: true, loose: true }),
      readingsStep({ wanted: sealsToRead }),
      ...(near === "receive" ? [photosStep({ needed: looksWrong })] : []),
    ],
    start: (world) => ({ items: [], readings: [], loose: [], purpose: routes(world, near)[0].purpose }),
    payload: handoffPayload,
    sentences: handoffSentences,
    left: (draft, world) => ({ words: say(`acts.left-${near}`), codes: offered(draft, world).filter((code) => !draft.items.includes(code)) }),
    after: (members, world) => after(near, world),
  };
}

/** The entry's own members. */
export function handoffPayload(draft, world) {
  return {
    kind: "handoff",
    site: world.site,
    items: draft.items,
    release: draft.parties.release,
    receive: draft.parties.receive,
    purpose: draft.purpose,
    ...given("seals", readingsOf(draft, draft.items)),
    ...given("loose_seals", draft.loose),
  };
}

function given(name, list) {
  return list?.length ? { [name]: list } : {};
}

function isKit(world, site) {
  return (code) => (world.kits?.[site] ?? []).includes(code);
}

/** What is here to be handed over: all of it, or at a place with very much, the kit whose list was opened. */
function offeredOut(draft, world) {
  const here = heldHere(world);
  if (draft.kit) return here.filter(isKit(world, draft.kit));
  return here.length > MANY_HERE ? [] : here;
}

/** What the others carry, and of a place whose list was opened, all that it owes. */
function offeredIn(draft, world) {
  const people = draft.parties.release?.people ?? [];
  const carried = heldBy(world, (holder) => holder.people.some((code) => people.includes(code)));
  if (!draft.kit) return carried;
  const owed = [...world.items.values()].filter((item) => item.owed === draft.kit && !item.container).map((item) => item.code);
  return inOrder(world, [...carried, ...owed]);
}

/** Each seal in place on a thing that is handed over. What lies inside something else is covered by the seals around it. */
export function sealsToRead(draft, world) {
  return inOrder(world, draft.items).filter((code) => !world.items.get(code)?.container).flatMap((code) => sealsOn(world, code));
}

/** Whether something came in a state that a picture shows better than words. */
export function looksWrong(draft) {
  return readingsOf(draft, draft.items).some((seal) => seal.state !== "intact");
}

/** What the record will say. */
export function handoffSentences(members, world) {
  const { release, receive: taker, items, purpose } = members;
  const words = { giver: partyText(world, release), taker: partyText(world, taker), place: siteOf(world).name, purpose: word(purpose) };
  const inside = items.flatMap((code) => contentsOf(world, code));
  const bad = (members.seals ?? []).filter((seal) => seal.state !== "intact");
  return [
    say("acts.says-handoff", { ...words, count: items.length }),
    say("acts.says-purpose", words),
    ...byKind(world, items).map((words) => say("acts.says-things", words)),
    inside.length ? say("acts.says-inside", { things: inside.map((code) => itemText(world, code)).join("; ") }) : null,
    members.loose_seals ? say("acts.says-loose", { runs: members.loose_seals.join(", ") }) : null,
    members.seals ? say("acts.says-seals", { count: members.seals.length }) : null,
    ...bad.map((seal) => say("acts.says-seal-state", { point: seal.point, thing: itemText(world, seal.item), state: word(seal.state) })),
    members.observers ? say("acts.says-observers", { people: members.observers.map((code) => personName(world, code)).join(", ") }) : null,
  ].filter(Boolean);
}

function after(near, world) {
  const leaving = near === "release" && siteOf(world).kind === "polling_place" && pollsClosed(world);
  if (leaving && stillOwed(world).length) return [{ href: "/work/missing/", words: say("acts.still-missing") }];
  return [{ href: `/work/${near === "release" ? "hand-over" : "receive"}/`, words: say(`acts.another-${near}`) }];
}
