/** Findings about seals that can be seen coming: not read, read otherwise, not whole, put on over another, or things going bare. */

import { around, found, outermost } from "../phone/world.js";
import { inside, isSealed, kindOf, siteKind, wantsSeal } from "./views.js";

const CONTAINERS = ["ballot_container", "transfer_case", "envelope", "supply_kit", "scanner"];

export function sealUnread(members, world) {
  if (members.kind !== "handoff") return [];
  const read = new Set((members.seals ?? []).map(({ item, point }) => `${item}\n${point}`));
  const unread = members.items.filter((code) => !world.items.get(code)?.container)
    .flatMap((code) => Object.keys(world.items.get(code)?.seals ?? {}).map((point) => ({ item: code, point })))
    .filter(({ item, point }) => !read.has(`${item}\n${point}`));
  return unread.length ? [{ rule: "seal-unread", severity: "notice", items: unread.map((each) => each.item), parameters: { count: unread.length } }] : [];
}

/** A reading that is not what is on record at its point: one finding a point. */
export function sealMismatch(members, world) {
  if (members.kind === "seal") return [];
  return (members.seals ?? []).filter(({ item, point, number }) => number && number !== world.items.get(item)?.seals[point])
    .map(({ item }) => ({ rule: "seal-mismatch", severity: "critical", items: [item], parameters: {} }));
}

export function sealNotIntact(members, world) {
  if (members.kind === "seal") return [];
  return (members.seals ?? []).filter(({ item, point, state, number }) => state !== "intact" && (world.items.get(item)?.seals[point] || (number && state !== "missing")))
    .map(({ item, state }) => ({ rule: "seal-not-intact", severity: "critical", items: [item], parameters: {}, state }));
}

/** A seal goes on where another is in place and was not recorded as taken off. */
export function sealOverSeal(members, world) {
  if (members.kind !== "seal") return [];
  return members.seals.filter(({ item, point, number }) => {
    const before = world.items.get(item)?.seals[point];
    return before && before !== number;
  }).map(({ item }) => ({ rule: "seal-over-seal", severity: "critical", items: [item], parameters: {} }));
}

/** A number that is in place somewhere else is put on a second time. */
export function sealReused(members, world) {
  if (members.kind !== "seal") return [];
  const places = new Map([...world.items.values()].flatMap((item) => Object.entries(item.seals).map(([point, number]) => [number, `${item.code}\n${point}`])));
  return members.seals.filter(({ item, point, number }) => places.has(number) && places.get(number) !== `${item}\n${point}`)
    .map(({ item }) => ({ rule: "seal-reused", severity: "critical", items: [item], parameters: {} }));
}

export function sealUnknown(members, world) {
  if (members.kind !== "seal") return [];
  const inLot = (number) => world.lots.some((lot) => number.startsWith(lot.prefix) && fits(number.slice(lot.prefix.length), lot));
  return members.seals.filter(({ number }) => !inLot(number))
    .map(({ item }) => ({ rule: "seal-unknown", severity: "warning", items: [item], parameters: {} }));
}

function fits(digits, lot) {
  return /^\d+$/.test(digits) && digits.length === lot.width && Number(digits) >= lot.first && Number(digits) <= lot.last;
}

/** Something goes on the way back, or into storage, that policy wants sealed and is not. */
export function unsealedTransit(members, world) {
  if (members.kind !== "handoff") return [];
  const leaves = siteKind(world, members.release.site) === "polling_place";
  const back = ["return", "store"].includes(members.purpose) || (leaves && (members.receive.role === "courier" || members.purpose === "transfer"));
  if (!back) return [];
  // What a reading shows to be missing was missing before: it is the record's own world that is looked at, but for the contents.
  const seen = found(world, { ...members, seals: [] });
  const bare = new Set();
  for (const top of members.items) {
    for (const code of [top, ...inside(seen, top)]) if (isBare(seen, code)) bare.add(outermost(seen, code));
  }
  return bare.size ? [{ rule: "unsealed-transit", severity: "critical", items: [...bare], parameters: { count: bare.size } }] : [];
}

/** Bare: it should be sealed and is not. An empty container may travel open, and so may a device that no scanner had. */
function isBare(world, code) {
  if (!wantsSeal(world, code) || isSealed(world, code)) return false;
  const kind = kindOf(world, code);
  if (kind === "memory_device") return around(world, code).length > 0 || cameOutOfScanner(world, code);
  return !CONTAINERS.includes(kind) || inside(world, code).length > 0;
}

function cameOutOfScanner(world, code) {
  return world.steps.some((done) => done.step === "memory_removed" && done.items.includes(code));
}
