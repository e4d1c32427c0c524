/**
 * The world as this phone knows it: the pocket register, with what was done on this phone since on top. It is the small sister of
 * the log's replay (format 1): holders, containers, seals in place, what is owed, the steps done. It judges nothing.
 */

import { membersOf } from "../record/envelope.js";
import * as pocket from "./pocket.js";

/**
 * @typedef {{role: string, people: string[], site?: string}} Party
 * @typedef {{code: string, kind: string, description: string, tag: string, seal_points: string[], opens: string[],
 *   holder: Party | null, container: string | null, seals: Record<string, string>, owed: string | null}} Item
 */

const TAKES_BACK = ["receiving_clerk", "vault_custodian"];
const OWED_BY_USE = ["register", "pack", "unpack", "seal", "unseal", "inspect", "count", "step"];

/** The world of a pocket register. Nothing of it is shared with the pocket. */
export function makeWorld(kept) {
  const { items, people, ...rest } = structuredClone(kept);
  const byCode = (rows) => new Map(rows.map((row) => [row.code, row]));
  return { ...rest, items: byCode(items), people: byCode(people) };
}

/** The world that the phone keeps, with everything in the outbox that the pocket register does not have yet; or `null`. */
export async function getWorld() {
  const { pocket: kept, items } = await pocket.currentWithOutbox();
  if (!kept) return null;
  const pending = items.filter((item) => item.state === "waiting" || (item.state === "sent" && item.receipt.seq >= kept.head));
  const entries = pending.map((item) => membersOf(item.envelope)).filter((members) => members.log === kept.log);
  const order = (one, other) => one.at.localeCompare(other.at) || (one.id < other.id ? -1 : 1);
  return entries.sort(order).reduce(apply, makeWorld(kept));
}

/** The world as an entry finds it: seals as they were read, and nothing in a container that it shows to be elsewhere. */
export function found(world, members) {
  const next = { ...world, items: new Map(Array.from(world.items, ([code, item]) => [code, { ...item, seals: { ...item.seals } }])) };
  if (members.kind !== "seal") readSeals(next, members.seals ?? []);
  takeOutFirst(next, members);
  return next;
}

/** The world after an entry. */
export function apply(world, members) {
  const next = found(world, members);
  ACTS[members.kind]?.(next, members);
  noteOwed(next, members);
  return next;
}

const ACTS = {
  register(world, { items, by }) {
    for (const code of withContents(world, items)) if (!itemOf(world, code).holder) itemOf(world, code).holder = by;
  },
  handoff(world, { items, receive }) {
    for (const code of withContents(world, items)) itemOf(world, code).holder = receive;
  },
  seal(world, { seals }) {
    for (const { item, point, number } of seals) itemOf(world, item).seals[point] = number;
  },
  unseal(world, { seals }) {
    for (const { item, point } of seals) delete itemOf(world, item).seals[point];
  },
  pack(world, { container, items }) {
    for (const code of items) if (code !== container && !around(world, container).includes(code)) itemOf(world, code).container = container;
  },
  unpack(world, { container, items }) {
    const holder = itemOf(world, outermost(world, container)).holder;
    for (const code of items) Object.assign(itemOf(world, code), { container: null, holder: holder ?? itemOf(world, code).holder });
  },
  step(world, { step, at, items = [], site }) {
    if (site === world.site) world.steps = [...world.steps, { step, at, items }];
  },
  incident(world, { category, items, by }) {
    if (category === "found") for (const code of withContents(world, items)) itemOf(world, code).holder = by;
  },
};

/** What is handed over or packed on its own is no longer in a container that stays behind; what was shown empty holds nothing. */
function takeOutFirst(world, members) {
  const { kind, step, items = [], container } = members;
  if (kind === "handoff" || kind === "pack" || kind === "dispose") {
    for (const code of items) {
      const inside = itemOf(world, code).container;
      if (inside && inside !== container && !around(world, code).some((each) => items.includes(each))) takeOut(world, code);
    }
  }
  if (kind === "dispose" || (kind === "step" && step === "shown_empty")) {
    for (const code of items) for (const inner of contents(world, code)) if (!items.includes(inner)) takeOut(world, inner);
  }
}

function takeOut(world, code) {
  const item = itemOf(world, code);
  item.holder ??= itemOf(world, outermost(world, code)).holder;
  item.container = null;
}

/** A number that was read is the one in place; of two readings of one point the one that the record has. */
function readSeals(world, readings) {
  const points = Map.groupBy(readings, ({ item, point }) => `${item}\n${point}`);
  for (const listed of points.values()) {
    const { item, point } = listed[0];
    const { seals } = itemOf(world, item);
    const telling = listed.filter((each) => each.state !== "unreadable");
    const shows = (each) => (each.state === "missing" ? !seals[point] : each.number === seals[point]);
    const counted = telling.find(shows) ?? telling.at(-1);
    if (counted?.state === "missing") delete seals[point];
    else if (counted?.number) seals[point] = counted.number;
  }
}

function noteOwed(world, members) {
  const { kind, site, items = [], container, subject, seals = [], receive, purpose } = members;
  if (kind === "handoff") {
    const moved = withContents(world, items);
    const back = TAKES_BACK.includes(receive.role);
    for (const code of moved) {
      const item = itemOf(world, code);
      const kit = purpose === "issue" ? Object.keys(world.kits).find((place) => world.kits[place].includes(code)) : null;
      if (back || (receive.role === "warehouse_clerk" && world.policy.items[item.kind]?.controlled !== "yes")) item.owed = null;
      else if (isPollingPlace(world, receive.site)) item.owed ??= receive.site;
      else if (kit) item.owed ??= kit;
    }
  } else if (OWED_BY_USE.includes(kind) && isPollingPlace(world, site)) {
    const named = [...items, container, subject, ...seals.map((seal) => seal.item)].filter((code) => world.items.has(code));
    for (const code of withContents(world, named)) itemOf(world, code).owed ??= site;
  }
}

function isPollingPlace(world, code) {
  return world.sites.some((site) => site.code === code && site.kind === "polling_place");
}

/** An item of the world; one that the pocket register does not have is entered as what it is: a code. */
function itemOf(world, code) {
  if (!world.items.has(code)) {
    world.items.set(code, { code, kind: "", description: "", tag: "", seal_points: [], opens: [], holder: null, container: null, seals: {}, owed: null });
  }
  return world.items.get(code);
}

/** What lies directly in a container. */
export function contents(world, container) {
  return [...world.items.values()].filter((item) => item.container === container).map((item) => item.code);
}

/** The containers around an item, the nearest first. */
export function around(world, code) {
  const chain = [];
  for (let next = world.items.get(code)?.container; next && !chain.includes(next); next = world.items.get(next)?.container) chain.push(next);
  return chain;
}

/** The outermost container around an item, or the item itself. */
export function outermost(world, code) {
  return around(world, code).at(-1) ?? code;
}

/** Items and all that lies in them, once each. */
export function withContents(world, codes) {
  const all = new Set(codes);
  for (const code of all) for (const inner of contents(world, code)) all.add(inner);
  return [...all];
}
