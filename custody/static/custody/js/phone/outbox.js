/**
 * The outbox: signed entries on their way to the log. They leave in order, one at a time, and each is let go of only against its
 * receipt. Sending twice does no harm: the log knows an entry by its bytes.
 *
 * An item is {id, place, envelope, summary, state, problem?, receipt?}. `state`: `waiting`; `parked`, refused for good and out of
 * the way of the others; `sent`, kept until a pocket register has it.
 */

import { membersOf } from "../record/envelope.js";
import { parseInstant } from "../record/instants.js";
import * as clock from "./clock.js";
import { read, write } from "./database.js";

const ADDRESS = "/api/v1/entries/";
const LOCK = "custody-outbox";
const SECONDS_TO_ANSWER = 30;
const PAUSES = [2, 5, 15, 30, 60];

const listeners = new Set();
const channel = new BroadcastChannel("custody-outbox");
channel.onmessage = () => tell();

let failures = 0;
let timer = null;

/** Hear of every change of the outbox, in this page or another. Returns what ends it. */
export function onChange(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** Everything in it, in order. */
export async function list() {
  const items = await read("outbox", (store) => store.getAll());
  return items.sort((one, other) => one.place - other.place);
}

/** How many are not on record yet: `{waiting, parked}`. */
export async function count() {
  const items = await list();
  const of = (state) => items.filter((item) => item.state === state).length;
  return { waiting: of("waiting"), parked: of("parked") };
}

/**
 * Keep an envelope. When this resolves it is on the disk; when it rejects, nothing was kept, and the error says why.
 * The same entry again (a further signature) takes the place of the one that waits.
 */
export async function add(envelope, summary) {
  const { id } = membersOf(envelope);
  const items = await list();
  const place = items.find((item) => item.id === id)?.place ?? (items.at(-1)?.place ?? 0) + 1;
  await write("outbox", (store) => store.put({ id, place, envelope, summary, state: "waiting" }));
  navigator.storage?.persist?.();
  changed();
  soon(0);
}

/** Throw away an entry that was refused. What still waits is never thrown away. */
export async function removeParked(id) {
  await write("outbox", (store) => {
    const asked = store.get(id);
    asked.onsuccess = () => { if (asked.result?.state === "parked") store.delete(id); };
    return asked;
  });
  changed();
}

/** Forget what a pocket register has: the entries with a number below `head`, the number of the log's lines then. */
export async function forgetBefore(log, head) {
  const known = (await list()).filter((item) => item.state === "sent" && item.receipt.log === log && item.receipt.seq < head);
  if (!known.length) return;
  await write("outbox", (store) => { for (const item of known) store.delete(item.id); });
  changed();
}

/** What is not on record, as a file: a line of JSON each, as the command `record` reads them. */
export async function asFile() {
  const items = (await list()).filter((item) => item.state !== "sent");
  return new Blob(items.map((item) => `${JSON.stringify(item.envelope)}\n`), { type: "application/x-ndjson" });
}

/**
 * Send what waits, in order, until it is all on record or cannot go on. Only one page of the phone sends at a time; a second
 * one that is asked meanwhile leaves it to the first. Resolves to whether nothing waits any more.
 */
export function send() {
  return navigator.locks.request(LOCK, { ifAvailable: true }, async (lock) => {
    if (!lock) return false;
    clearTimeout(timer);
    for (;;) {
      const next = (await list()).find((item) => item.state === "waiting");
      if (!next) {
        failures = 0;
        return true;
      }
      const outcome = await deliver(next);
      if (outcome.later !== undefined) {
        soon(outcome.later ?? PAUSES[Math.min(failures++, PAUSES.length - 1)]);
        return false;
      }
      failures = 0;
      await settle(next, outcome);
    }
  });
}

/** Keep the outcome, unless the item was replaced meanwhile: then the newer one still has to go. */
async function settle(item, outcome) {
  await write("outbox", (store) => {
    const asked = store.get(item.id);
    asked.onsuccess = () => {
      const same = asked.result && JSON.stringify(asked.result.envelope) === JSON.stringify(item.envelope);
      if (same) store.put({ ...asked.result, ...outcome });
    };
    return asked;
  });
  changed();
}

/** One delivery: {state: "sent", receipt}, {state: "parked", problem}, or {later} in seconds (`null`: after the next pause). */
async function deliver(item) {
  const asked = Date.now();
  try {
    const answer = await fetch(ADDRESS, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(item.envelope),
      credentials: "omit",
      signal: AbortSignal.timeout(SECONDS_TO_ANSWER * 1000),
    });
    if (answer.status === 200 || answer.status === 201) {
      const receipt = await answer.json();
      if (!isReceiptOf(receipt, item)) return { later: null };
      // A receipt given again tells the time of the first one.
      if (answer.status === 201) await clock.compare(parseInstant(receipt.received), asked);
      return { state: "sent", receipt };
    }
    if ([400, 409, 413, 422].includes(answer.status)) return { state: "parked", problem: await problemIn(answer) };
    return { later: Number(answer.headers.get("Retry-After")) || null };
  } catch {
    return { later: null };  // no network, or an answer that broke off
  }
}

function isReceiptOf(receipt, item) {
  const { id, log } = membersOf(item.envelope);
  return receipt?.id === id && receipt.log === log && Number.isSafeInteger(receipt.seq) && /^[0-9a-f]{64}$/.test(receipt.leaf);
}

/** Why it was refused (RFC 9457). An answer of that status that is no such document did not come from the log: it throws. */
async function problemIn(answer) {
  const problem = await answer.json();
  if (typeof problem?.code !== "string") throw new TypeError("no problem document");
  return problem;
}

function soon(seconds) {
  clearTimeout(timer);
  timer = setTimeout(send, seconds * 1000);
}

function changed() {
  channel.postMessage("changed");
  tell();
}

function tell() {
  for (const listener of listeners) listener();
}

/** Send whenever there is hope: now, when the network comes back, when the page is looked at again. */
export function keepSending() {
  addEventListener("online", () => send());
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
  return send();
}
