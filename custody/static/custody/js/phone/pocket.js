/** The pocket register: what a phone needs to know about a place to work there without a network. */

import * as clock from "./clock.js";
import { read, write } from "./database.js";
import * as outbox from "./outbox.js";
import * as settings from "./settings.js";

const CHOSEN = "site";

/** The pocket register could not be had. `status`: that of the answer, or 0 without one. */
export class PocketError extends Error {
  constructor(status) {
    super(`no pocket register: ${status}`);
    this.status = status;
  }
}

/** Fetch and keep a place's pocket register, and let it be the one that is worked with. Throws `PocketError`. */
export async function load(site) {
  const asked = Date.now();
  const answer = await fetch(`/api/v1/sites/${encodeURIComponent(site)}/pocket/`, { cache: "no-store" }).catch(() => null);
  if (!answer?.ok) throw new PocketError(answer?.status ?? 0);
  const pocket = await answer.json().catch(() => { throw new PocketError(0); });
  await write("pockets", (store) => store.put(pocket));
  await choose(site);
  await clock.compare(Date.parse(pocket.now) / 1000, asked);
  await outbox.forgetBefore(pocket.log, pocket.head);
  return pocket;
}

/** The pocket register of the place that was chosen, or `null`. */
export async function current() {
  const site = await settings.get(CHOSEN);
  return (site && (await read("pockets", (store) => store.get(site)))) || null;
}

export const choose = (site) => settings.put(CHOSEN, site);

/** Forget every place. */
export async function forget() {
  await write("pockets", (store) => store.clear());
  await settings.clearAll();
}
