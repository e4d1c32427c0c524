/** The pocket register: what a phone needs to know about a place to work there without a network. */

import * as clock from "./clock.js";
import { read, readTogether, write } from "./database.js";
import * as drafts from "./drafts.js";
import * as outbox from "./outbox.js";
import * as photos from "./photos.js";
import * as settings from "./settings.js";

const CHOSEN = "site";
const SECONDS_TO_ANSWER = 30;

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
  const signal = AbortSignal.timeout(SECONDS_TO_ANSWER * 1000);
  const answer = await fetch(`/api/v1/sites/${encodeURIComponent(site)}/pocket/`, { cache: "no-store", signal }).catch(() => null);
  if (!answer?.ok) throw new PocketError(answer?.status ?? 0);
  const pocket = await answer.json().catch(() => null);
  if (pocket?.site !== site) throw new PocketError(0);
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

/** The same and all that the outbox holds, as of one instant: what leaves the outbox since a new pocket register has it is in one of them. */
export async function currentWithOutbox() {
  const { pocket = null, items } = await readTogether(["settings", "pockets", "outbox"], (store, answer) => {
    store("outbox").getAll().onsuccess = ({ target }) => { answer.items = target.result; };
    store("settings").get(CHOSEN).onsuccess = ({ target: chosen }) => {
      if (chosen.result) store("pockets").get(chosen.result).onsuccess = ({ target }) => { answer.pocket = target.result; };
    };
  });
  return { pocket, items };
}

export const choose = (site) => settings.put(CHOSEN, site);

/** Whoever worked here has gone: forget places, acts in hand and what is on record. What was not sent yet stays, and the clock. */
export async function forget() {
  await write("pockets", (store) => store.clear());
  await drafts.clearAll();
  await photos.tidy();
  await outbox.forgetSent();
  await settings.clearAll();
  await clock.keep();
}
