/** Putting things into a container, and taking them out. */

import { say } from "../words.js";
import { contentsOf, heldHere, inOrder, pollsClosed, rolesHere, siteOf } from "./here.js";
import { oneThingStep } from "./one.js";
import { peopleStep } from "./people.js";
import { byKind, itemText, partyText } from "./shown.js";
import { thingsStep } from "./things.js";

const CONTAINERS = ["ballot_container", "transfer_case", "envelope", "supply_kit", "scanner"];

const who = peopleStep({ end: "by", heading: () => say("further.who-does-this"), roles: (_, world) => [...rolesHere(world), "technician"] });
const isContainer = (world, code) => CONTAINERS.includes(world.items.get(code)?.kind);
const unfit = (world, code) => (world.items.has(code) && !isContainer(world, code) ? say("further.no-container", { thing: itemText(world, code) }) : null);

export const pack = {
  name: "pack",
  steps: [
    who,
    oneThingStep({ key: "container", heading: () => say("further.into-what"), offered: (_, world) => containersHere(world), unfit }),
    thingsStep({ heading: (draft, world) => say("further.what-goes-in", { container: itemText(world, draft.container) }), offered: looseHere }),
  ],
  start: () => ({ items: [], container: null }),
  payload: (draft, world) => ({ kind: "pack", site: world.site, container: draft.container, items: draft.items, by: draft.parties.by }),
  sentences: (members, world) => says("further.says-pack", members, world),
  after: () => [{ href: "/at-work/apply-seals/", words: say("further.next-seal") }],
};

export const unpack = {
  name: "unpack",
  steps: [
    who,
    oneThingStep({ key: "container", heading: () => say("further.out-of-what"), offered: (_, world) => containersHere(world).filter((code) => contentsOf(world, code).length), unfit }),
    thingsStep({ heading: (draft, world) => say("further.what-comes-out", { container: itemText(world, draft.container) }), offered: (draft, world) => contentsOf(world, draft.container) }),
  ],
  start: () => ({ items: [], container: null }),
  payload: (draft, world) => ({ kind: "unpack", site: world.site, container: draft.container, items: draft.items, by: draft.parties.by }),
  sentences: (members, world) => says("further.says-unpack", members, world),
  left: (draft, world) => ({ words: say("further.stays-in"), codes: contentsOf(world, draft.container).filter((code) => !draft.items.includes(code)) }),
  after: (_, world) => [pollsClosed(world) ? { href: "/at-work/pack/", words: say("further.next-pack") } : { href: "/at-work/steps/", words: say("further.next-steps") }],
};

function containersHere(world) {
  const here = heldHere(world);
  const nested = here.flatMap((code) => contentsOf(world, code));
  return inOrder(world, [...here, ...nested].filter((code) => isContainer(world, code)));
}

function looseHere(draft, world) {
  return heldHere(world).filter((code) => code !== draft.container && world.items.get(code).kind !== "scanner");
}

function says(id, members, world) {
  const words = { people: partyText(world, members.by), place: siteOf(world).name, container: itemText(world, members.container), count: members.items.length };
  return [say(id, words), ...byKind(world, members.items).map((group) => say("acts.says-things", group))];
}
