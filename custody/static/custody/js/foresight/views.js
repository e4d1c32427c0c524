/** What the rules ask of an item in the world of the phone, by the policy in force: controlled, sealed, by whom held. */

import { around, outermost, withContents } from "../phone/world.js";

export const kindOf = (world, code) => world.items.get(code)?.kind ?? "";

/** Everything in a container, nested, without itself. */
export const inside = (world, code) => withContents(world, [code]).slice(1);

/** Whether an item takes two people: by its kind, or (envelopes) since it holds what does. */
export function isControlled(world, code) {
  const when = world.policy.items[kindOf(world, code)]?.controlled;
  return when === "yes" || (when === "by_contents" && inside(world, code).some((each) => world.policy.items[kindOf(world, each)]?.controlled === "yes"));
}

export const holdsControlled = (world, code) => withContents(world, [code]).some((each) => isControlled(world, each));

export function wantsSeal(world, code) {
  const when = world.policy.items[kindOf(world, code)]?.sealed;
  return when === "yes" || (when === "by_contents" && isControlled(world, code));
}

/** Whether every seal point of an item has a seal in place, and it has at least one. */
export function hasOwnSeals(world, code) {
  const { seal_points: points = [], seals = {} } = world.items.get(code) ?? {};
  return points.length > 0 && points.every((point) => seals[point]);
}

export const isSealed = (world, code) => [code, ...around(world, code)].some((each) => hasOwnSeals(world, each));

/** Whoever holds an item, or the container around it; `null` where nobody is on record. */
export function holdingOf(world, code) {
  return world.items.get(outermost(world, code))?.holder ?? world.items.get(code)?.holder ?? null;
}

const DESKS = ["warehouse_clerk", "receiving_clerk", "vault_custodian"];

/** The people of a holding; at a desk all who are assigned to it, since shifts change. */
export function holdersOf(world, code) {
  const holding = holdingOf(world, code);
  if (!holding || !DESKS.includes(holding.role)) return holding?.people ?? null;
  const shift = [...world.people.values()].filter(({ roles }) =>
    roles.some(({ role, site }) => role === holding.role && (!site || site === holding.site)));
  return [...holding.people, ...shift.map((person) => person.code)];
}

export function siteKind(world, code) {
  return world.sites.find((site) => site.code === code)?.kind ?? null;
}

/** The parties of an entry with the name of their end. */
export function ends(members) {
  return ["release", "receive", "by"].filter((end) => members[end]).map((end) => [end, members[end]]);
}

/** The items that an entry moves or names as container, without its readings. */
export function movedItems(members) {
  return [...new Set([...(members.container ? [members.container] : []), ...(members.items ?? [])])];
}
