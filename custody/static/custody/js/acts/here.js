/** What can be known about this place, its people and its things from the world that is kept on the phone. */

import { contents } from "../phone/world.js";

/** Who answers at a kind of place, and for which purposes things come and go there, the most usual first. */
const ROLES_HERE = {
  warehouse: ["warehouse_clerk"],
  polling_place: ["poll_chief", "poll_worker"],
  receiving_station: ["receiving_clerk"],
  vault: ["vault_custodian"],
  count_center: ["receiving_clerk"],
  drop_box: ["courier"],
};
const GOES_OUT = {
  warehouse: ["issue", "transfer", "store"],
  polling_place: ["relieve", "return"],
  receiving_station: ["transfer", "store"],
  vault: ["retrieve", "transfer"],
  count_center: ["transfer", "store"],
  drop_box: ["return"],
};
const COMES_IN = {
  warehouse: ["return", "transfer", "retrieve"],
  polling_place: ["deliver", "issue", "relieve"],
  receiving_station: ["return", "transfer", "retrieve"],
  vault: ["store", "transfer", "return"],
  count_center: ["transfer", "retrieve", "return"],
  drop_box: ["deliver"],
};
const KINDS = ["ballot_container", "transfer_case", "memory_device", "results_tape", "envelope", "ballot_stock", "scanner",
  "pollbook", "key_set", "supply_kit"];

export function siteOf(world, code = world.site) {
  return world.sites.find((site) => site.code === code) ?? { code, name: code, kind: "polling_place" };
}

export function rolesHere(world) {
  return ROLES_HERE[siteOf(world).kind];
}

/** Whether the polls have closed here, by the steps on record. */
export function pollsClosed(world) {
  return world.steps.some((done) => done.step === "polls_closed");
}

/**
 * What a handoff at this place may be, the most likely first: `{purpose, role}`, the role being that of the other end.
 * Policy says which roles a purpose joins; kind of place and time say what is usual. Anything else that policy allows comes after.
 * @param {"release" | "receive"} here the end that stands at this place
 */
export function routes(world, here) {
  const kind = siteOf(world).kind;
  const usual = [...(here === "release" ? GOES_OUT : COMES_IN)[kind]];
  if (here === "release" && pollsClosed(world)) usual.sort((one, other) => (other === "return") - (one === "return"));
  const [near, far] = here === "release" ? ["from", "to"] : ["to", "from"];
  const found = [];
  for (const role of rolesHere(world)) {
    for (const [purpose, ends] of Object.entries(world.policy.routes)) {
      if (ends[near].includes(role)) found.push(...ends[far].map((other) => ({ purpose, role: other })));
    }
    found.push({ purpose: "relieve", role }, { purpose: "audit", role: "auditor" });
  }
  const place = ({ purpose }) => (usual.includes(purpose) ? usual.indexOf(purpose) : usual.length);
  const once = found.filter((each, at) => found.findIndex((other) => same(each, other)) === at);
  return once.sort((one, other) => place(one) - place(other) || likely(one, kind) - likely(other, kind));
}

function same(one, other) {
  return one.purpose === other.purpose && one.role === other.role;
}

/** Couriers carry; only to and from the warehouse does a chief come in person as often. */
function likely({ role }, kind) {
  return { courier: 0, poll_chief: kind === "warehouse" ? 1 : 2, receiving_clerk: 1 }[role] ?? 3;
}

/** People assigned to one of these roles, here or nowhere in particular; by role, then by name. */
export function peopleFor(world, roles) {
  const atHome = (each) => roles.includes(each.role) && (!each.site || each.site === world.site || !rolesHere(world).includes(each.role));
  return [...world.people.values()].filter((person) => person.roles.some(atHome))
    .sort((one, other) => rank(one, roles) - rank(other, roles) || nameOf(one).localeCompare(nameOf(other)));
}

function rank(person, roles) {
  return Math.min(...person.roles.map((each) => roles.indexOf(each.role)).filter((place) => place >= 0));
}

function nameOf(person) {
  return person.name || person.code;
}

export function personName(world, code) {
  const person = world.people.get(code);
  return person ? nameOf(person) : code;
}

/** Whether a role stands at one place, so that its party names the site. */
export function standsAtSite(role) {
  return !["courier", "technician", "official", "auditor", "observer"].includes(role);
}

/** Things at the top of a list first as a desk sorts them: what is controlled before what is not. */
export function inOrder(world, codes) {
  const place = (code) => KINDS.indexOf(world.items.get(code)?.kind);
  return [...new Set(codes)].sort((one, other) => place(one) - place(other) || one.localeCompare(other));
}

export function contentsOf(world, container) {
  return inOrder(world, contents(world, container));
}

/** What a party has in its hands, without what lies inside something else. */
export function heldBy(world, isHolder) {
  const held = [...world.items.values()].filter((item) => item.holder && !item.container && isHolder(item.holder));
  return inOrder(world, held.map((item) => item.code));
}

/** Everybody who has something in their hands, as far as this phone knows. */
export function holders(world) {
  return new Set([...world.items.values()].flatMap((item) => item.holder?.people ?? []));
}

export function heldHere(world) {
  return heldBy(world, (holder) => holder.site === world.site);
}

/** What this place owes and has not handed over, of the kinds that must be back on election night: at hand, or in nobody's. */
export function stillOwed(world) {
  const here = (item) => !item.holder || item.holder.site === world.site;
  const tonight = (item) => world.policy.items[item.kind]?.returned ?? true;
  const owed = [...world.items.values()].filter((item) => item.owed === world.site && here(item) && tonight(item));
  return inOrder(world, owed.map((item) => item.code));
}

/** The seals in place on a thing, as `{item, point}`, in the order of its seal points. */
export function sealsOn(world, code) {
  const { seals = {}, seal_points: points = [] } = world.items.get(code) ?? {};
  const there = Object.keys(seals);
  return [...points.filter((point) => there.includes(point)), ...there.filter((point) => !points.includes(point))]
    .map((point) => ({ item: code, point }));
}
