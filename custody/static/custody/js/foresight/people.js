/** Findings about people that can be seen coming: too few of them, all of one party, the same at both ends, in no such role. */

import { ends, holdersOf, holdsControlled, isControlled, kindOf, movedItems, siteKind } from "./views.js";
import { withContents } from "../phone/world.js";

const MOVES = ["handoff", "pack", "unpack", "dispose"];
const COUNTERS = ["public_counter", "protective_counter"];

/** How many people policy asks of each party, and for which things; `null` where one will do. */
export function peopleAsked(members, world) {
  const { kind, step, subject, figures = {}, items = [], seals = [] } = members;
  const controlled = (codes) => [...new Set(codes)].filter((code) => holdsControlled(world, code)).sort();
  if (kind === "step") {
    const number = world.policy.people.steps[step];
    return number ? { number, items: controlled(items) } : null;
  }
  if (kind === "count") {
    const readsCounters = kindOf(world, subject) === "scanner" && Object.keys(figures).every((figure) => COUNTERS.includes(figure));
    return isControlled(world, subject) && !readsCounters ? { number: mostAsked(members, world, [subject]), items: [subject] } : null;
  }
  const codes = MOVES.includes(kind) ? movedItems(members) : kind === "seal" || kind === "unseal" ? seals.map((seal) => seal.item) : [];
  const found = controlled(codes);
  return found.length ? { number: mostAsked(members, world, found), items: found } : null;
}

/** An exception for one kind of thing does not cover another beside it. */
function mostAsked(members, world, codes) {
  const kinds = new Set(withContents(world, codes).filter((code) => isControlled(world, code)).map((code) => kindOf(world, code)));
  const place = siteKind(world, members.site);
  const { controlled, exceptions } = world.policy.people;
  const asked = Array.from(kinds, (kind) => exceptions.find((each) =>
    each.kind === kind && each.act === members.kind && each.site_kind === place)?.number ?? controlled);
  return Math.max(...asked);
}

export function loneCustodian(members, world) {
  const asked = peopleAsked(members, world);
  if (!asked) return [];
  return ends(members).filter(([, party]) => party.people.length > 0 && party.people.length < asked.number)
    .map(([end]) => ({ rule: "lone-custodian", severity: "critical", end, parameters: { count: asked.number } }));
}

export function sameAffiliation(members, world) {
  const mustDiffer = (party) => {
    const { courier, seal } = world.policy.people.differ_in_affiliation;
    if (members.kind === "seal" && members.seals.some((each) => seal.includes(kindOf(world, each.item)))) return true;
    return party.role === "courier" && courier && Boolean(peopleAsked(members, world)?.items.length);
  };
  return ends(members).filter(([, party]) => {
    const affiliations = new Set(party.people.map((code) => world.people.get(code)?.affiliation ?? ""));
    return party.people.length > 1 && affiliations.size === 1 && !affiliations.has("") && mustDiffer(party);
  }).map(([end]) => ({ rule: "same-affiliation", severity: "warning", end, parameters: {} }));
}

/** One person at both ends vouches for what they gave themselves; a relief in which each end has somebody of its own is none. */
export function samePersonBothEnds({ release, receive, purpose }) {
  if (!release || !receive) return [];
  const both = release.people.filter((code) => receive.people.includes(code));
  const apart = [release, receive].every(({ people }) => people.some((code) => !both.includes(code)));
  return both.length && !(purpose === "relieve" && apart)
    ? [{ rule: "same-person-both-ends", severity: "critical", people: both, parameters: {} }] : [];
}

/** Nobody of a party has its role: at a polling place, or at none in particular; elsewhere at any. */
export function notAssigned(members, world) {
  return ends(members).filter(([, party]) => {
    const people = party.people.map((code) => world.people.get(code)?.roles ?? []);
    const here = siteKind(world, party.site) === "polling_place" ? ["", party.site] : null;
    const fits = people.some((roles) => roles.some(({ role, site = "" }) => role === party.role && (!here || here.includes(site))));
    return !fits || people.some((roles) => roles.length === 0);
  }).map(([end, party]) => ({ rule: "not-assigned", severity: "warning", end, parameters: {}, role: party.role }));
}

/** Whoever hands over, packs, unpacks, seals or unseals a thing shares nobody with its holders. */
export function custodyGap(members, world) {
  const party = members.kind === "handoff" ? members.release : members.by;
  const codes = { seal: true, unseal: true }[members.kind] ? members.seals.map((seal) => seal.item)
    : MOVES.includes(members.kind) ? movedItems(members) : [];
  const technician = party?.role === "technician" && members.kind !== "handoff";
  const apart = technician ? [] : [...new Set(codes)].filter((code) => {
    const holders = holdersOf(world, code);
    return holders && !party.people.some((person) => holders.includes(person));
  });
  return apart.length ? [{ rule: "custody-gap", severity: "critical", items: apart, parameters: { count: apart.length } }] : [];
}

/** What the register does not have. The pocket register knows only what belongs here, so that the words ask rather than say. */
export function notOnRegister(members, world) {
  const codes = [...movedItems(members), ...(members.seals ?? []).map((seal) => seal.item)];
  const unknown = [...new Set(codes)].filter((code) => !kindOf(world, code));
  return unknown.length ? [{ rule: "not-on-register", severity: "warning", items: unknown, parameters: { count: unknown.length } }] : [];
}
