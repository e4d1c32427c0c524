/** The steps of opening and closing, in their order: what is done, and what comes next. */

import { parseInstant } from "../record/instants.js";
import { heading, say, word } from "../words.js";
import { choiceStep } from "./choice.js";
import { contentsOf, heldHere, inOrder, rolesHere, siteOf } from "./here.js";
import { peopleStep } from "./people.js";
import { itemText, partyText } from "./shown.js";
import { thingsStep } from "./things.js";

export const DAY = [
  "seals_verified", "keys_tried", "bin_empty", "auxiliary_bin_empty", "zero_tape_signed", "polls_opened",
  "auxiliary_bin_opened", "auxiliary_bin_cleared", "polls_closed", "results_tape_signed", "memory_removed", "bin_emptied", "unit_locked", "shown_empty",
];
export const AT_COUNT = ["results_read_in", "shown_empty"];
/** What a step is done with, by kind of thing. */
const WITH = {
  zero_tape_signed: ["results_tape", "scanner"],
  results_tape_signed: ["results_tape", "scanner"],
  memory_removed: ["memory_device", "scanner"],
  results_read_in: ["memory_device"],
  keys_tried: ["key_set"],
  shown_empty: ["ballot_container", "transfer_case", "envelope", "supply_kit"],
  seals_verified: [],
};
const NAMES_THINGS = ["results_read_in", "shown_empty"];

export const steps = {
  name: "steps",
  steps: [
    choiceStep({ key: "done", heading: () => say("further.which-step"), options: (_, world) => listed(world) }),
    peopleStep({ end: "by", heading: (draft) => say("further.who-did", { step: heading(draft.done) }), roles: (_, world) => rolesHere(world) }),
    thingsStep({
      heading: (draft) => say("further.with-what", { step: heading(draft.done) }),
      offered: (draft, world) => involved(draft.done, world),
      lacking: (draft) => (NAMES_THINGS.includes(draft.done) && !draft.items.length ? say("acts.scan-something") : null),
    }),
  ],
  start: (world) => ({ items: [], done: next(world) }),
  payload: (draft, world) => ({ kind: "step", site: world.site, step: draft.done, by: draft.parties.by, ...(draft.items.length ? { items: draft.items } : {}) }),
  sentences: (members, world) => [
    say("further.says-step", { people: partyText(world, members.by), place: siteOf(world).name, step: heading(members.step) }),
    members.items ? say("further.says-with", { things: members.items.map((code) => itemText(world, code)).join("; ") }) : null,
  ].filter(Boolean),
  after: (_, world) => [next(world) ? { href: "/work/steps/", words: say("further.next-step", { step: word(next(world)) }) } : { href: "/work/hand-over/", words: say("further.next-hand-over") }],
};

function stepsAt(world) {
  return ["count_center", "receiving_station"].includes(siteOf(world).kind) ? AT_COUNT : DAY;
}

/** What policy asks for next, in the order of the day; `null` where nothing is open. */
function next(world) {
  if (stepsAt(world) === AT_COUNT) return AT_COUNT[0];
  const { before_open: before, after_close: after } = world.policy.steps;
  const order = [...before, "polls_opened", "polls_closed", ...after];
  return order.sort((one, other) => DAY.indexOf(one) - DAY.indexOf(other)).find((step) => !last(world, step)) ?? null;
}

function last(world, step) {
  return world.steps.findLast((done) => done.step === step);
}

/** What comes next on top, then what is still asked for, what may happen, and what is done. */
function listed(world) {
  const coming = next(world);
  const { before_open: before, after_close: after } = world.policy.steps;
  const asked = [...before, ...after, "polls_opened", "polls_closed"];
  const rank = (step) => (step === coming ? 0 : last(world, step) ? 3 : asked.includes(step) ? 1 : 2);
  return [...stepsAt(world)].sort((one, other) => rank(one) - rank(other)).map((value) => {
    const done = last(world, value);
    const people = world.policy.people.steps[value] ?? 1;
    const open = ["further.is-next", "further.still-to-do", "further.when-it-happens"].map((id) => say(id))[rank(value)];
    const more = done ? say("further.done-at", { time: clockTime(world, done.at) })
      : [open, people > 1 ? say("further.takes", { count: people }) : ""].filter(Boolean).join(" · ");
    return { value, words: heading(value), more, done: Boolean(done) };
  });
}

function involved(step, world) {
  const kinds = WITH[step] ?? ["scanner"];
  const here = heldHere(world);
  return inOrder(world, [...here, ...here.flatMap((code) => contentsOf(world, code))].filter((code) => kinds.includes(world.items.get(code).kind)));
}

function clockTime(world, at) {
  const format = { timeZone: world.timezone, hour: "2-digit", minute: "2-digit", hourCycle: "h23", timeZoneName: "short" };
  return new Intl.DateTimeFormat(document.documentElement.lang || "en", format).format(new Date(parseInstant(at) * 1000));
}
