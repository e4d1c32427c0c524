/** Reading figures and writing them down: of a scanner, of a container, or of the place. */

import { heading, say, word } from "../words.js";
import { figuresStep } from "./figures.js";
import { contentsOf, heldHere, inOrder, rolesHere, siteOf } from "./here.js";
import { oneThingStep } from "./one.js";
import { peopleStep } from "./people.js";
import { itemText, partyText } from "./shown.js";

const COUNTED = ["scanner", "ballot_container", "envelope", "transfer_case"];
const OF_KIND = { scanner: ["public_counter", "protective_counter"] };
const OF_CONTAINER = ["ballots_in_container"];
const OF_PLACE = [
  "ballots_received", "ballots_cast", "ballots_spoiled", "ballots_unused", "ballots_provisional", "ballots_auxiliary",
  "public_counter", "voters_checked_in", "containers_sealed",
];
export const FIGURES = [...new Set([...OF_PLACE, ...OF_KIND.scanner, ...OF_CONTAINER])];

export const count = {
  name: "count",
  steps: [
    peopleStep({ end: "by", heading: () => say("further.who-does-this"), roles: (_, world) => rolesHere(world) }),
    oneThingStep({
      key: "subject",
      heading: () => say("further.what-is-counted"),
      offered: (_, world) => countable(world),
      begin: () => ({ figures: {} }),
      place: (_, world) => ({ code: world.site, words: say("further.the-place", { place: siteOf(world).name }) }),
    }),
    figuresStep({ figures: (draft, world) => figuresOf(world, draft.subject), sums }),
  ],
  start: () => ({ subject: null, figures: {} }),
  payload: (draft, world) => ({ kind: "count", site: world.site, subject: draft.subject, figures: draft.figures, by: draft.parties.by }),
  sentences: (members, world) => [
    say("further.says-count", {
      people: partyText(world, members.by), place: siteOf(world).name,
      subject: members.subject === world.site ? siteOf(world).name : itemText(world, members.subject),
    }),
    ...Object.entries(members.figures).map(([figure, value]) => say("further.says-figure", { figure: heading(figure), value })),
    ...sums(members.figures),
  ],
  after: () => [{ href: "/work/steps/", words: say("further.next-steps") }],
};

function countable(world) {
  const here = heldHere(world);
  return inOrder(world, [...here, ...here.flatMap((code) => contentsOf(world, code))].filter((code) => COUNTED.includes(world.items.get(code).kind)))
    .sort((one, other) => (world.items.get(other).kind === "scanner") - (world.items.get(one).kind === "scanner"));
}

function figuresOf(world, subject) {
  if (subject === world.site) return OF_PLACE;
  return OF_KIND[world.items.get(subject)?.kind] ?? OF_CONTAINER;
}

/** Plain sums of the ballot account, to look at: what they mean is for the record's rules. */
function sums({ ballots_received: received, ballots_unused: unused, ballots_cast: cast, ballots_spoiled: spoiled, ballots_provisional: provisional = 0, ballots_auxiliary: auxiliary = 0 }) {
  if (![received, unused].every(Number.isSafeInteger)) return [];
  const used = received - unused;
  const lines = [say("further.sum-used", { received, unused, used })];
  if (![cast, spoiled].every(Number.isSafeInteger)) return lines;
  const accounted = cast + spoiled + provisional + auxiliary;
  return [...lines, say("further.sum-accounted", { parts: [cast, spoiled, provisional, auxiliary].join(" + "), accounted, words: ["ballots_cast", "ballots_spoiled", "ballots_provisional", "ballots_auxiliary"].map(word).join(", ") }),
    accounted === used ? say("further.sum-equal") : say("further.sum-differs", { difference: Math.abs(accounted - used) })];
}
