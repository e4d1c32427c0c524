/**
 * The outbox: signed entries on their way to the log. They leave in order, one at a time, and each is let go of only against its
 * receipt. Sending twice does no harm: the log knows an entry by its bytes. When no entry waits, photos follow (`photos.js`).
 *
 * An item is {id, place, envelope, summary, state, problem?, receipt?}. `state`: `waiting`; `parked`, refused for good and out of
 * the way of the others; `sent`, kept until a pocket register has it.
 */

import { membersOf } from "../record/envelope.js";
import { parseInstant } from "../record/instants.js";
import * as clock from "./clock.js";
import { read, write } from "./database.js";
import { laterIn, problemIn, REFUSED } from "./answers.js";
import * as photos from "./photos.js";

const ADDRESS = "/api/v1/entries/";
const LOCK = "custody-outbox";
const SECONDS_TO_ANSWER = 20;
const PAUSES = [2, 5, 10, 20, 30];

const listeners = new Set();
const channel = new BroadcastChannel("custody-outbox");
channel.onmessage = () => tell();

let failures = 0;
let timer = null;
let round = null;
let quietUntil = 0;

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
 * The same entry again (a further signature) takes the place of the one that is there.
 */
export async function add(envelope, summary) {
  const { id } = membersOf(envelope);
  await change((store, items) => {
    const last = Math.max(0, ...items.map((item) => item.place));
    const place = items.find((item) => item.id === id)?.place ?? last + 1;
    store.put({ id, place, envelope, summary, state: "waiting" });
  });
  navigator.storage?.persist?.();
  failures = 0;
  // A round that is under way may have looked for the last time.
  Promise.allSettled([round]).then(send);
}

/** Let an entry that was refused wait once more, for what was wrong may have been put right: a key, the log. */
export async function retryParked(id) {
  await change((store, items) => {
    for (const { problem, ...item } of parked(items, id)) store.put({ ...item, state: "waiting" });
  });
  await send();
}

/** Throw away an entry that was refused. What still waits is never thrown away. */
export async function removeParked(id) {
  await change((store, items) => { for (const item of parked(items, id)) store.delete(item.id); });
  await photos.dropOf(id);
}

const parked = (items, id) => items.filter((item) => item.id === id && item.state === "parked");

/** Forget what a pocket register has: the entries with a number below `head`, the number of the log's lines then. */
export async function forgetBefore(log, head) {
  await forgetSent((receipt) => receipt.log === log && receipt.seq < head);
}

/** Forget what is on record, where its receipt says so. */
export async function forgetSent(isKnown = () => true) {
  await change((store, items) => {
    for (const item of items) if (item.state === "sent" && isKnown(item.receipt)) store.delete(item.id);
  });
}

/** Change the outbox in one piece, seen as it is then. Resolves when that is on the disk. */
async function change(make) {
  await write("outbox", (store) => {
    const asked = store.getAll();
    asked.onsuccess = () => make(store, asked.result);
  });
  changed();
}

/** What is not on record, as a file: a line of JSON each, as the command `record` reads them. */
export async function asFile() {
  const items = (await list()).filter((item) => item.state !== "sent");
  return new Blob(items.map((item) => `${JSON.stringify(item.envelope)}\n`), { type: "application/x-ndjson" });
}

/**
 * Send what waits, in order, until it is all on record or cannot go on. One page of the phone sends at a time; who asks meanwhile
 * shares its outcome, or, in another page, looks again soon. Resolves to whether nothing waits any more.
 */
export function send() {
  round ??= sendAll().finally(() => { round = null; });
  return round;
}

async function sendAll() {
  clearTimeout(timer);
  const pause = await navigator.locks.request(LOCK, { ifAvailable: true }, sendInOrder).catch(() => PAUSES.at(-1));
  if (pause) timer = setTimeout(send, pause * 1000);
  return !pause;
}

/** One delivery after another. Gives 0 when nothing waits any more, else the seconds until there is hope again. */
async function sendInOrder(lock) {
  for (;;) {
    const items = await list();
    const next = items.find((item) => item.state === "waiting");
    const photo = next ? null : await photos.next(items);
    if (!next && !photo) return 0;
    if (!lock) return PAUSES[0];
    const quiet = (quietUntil - performance.now()) / 1000;
    if (quiet > 0) return quiet;
    const { later, ...outcome } = next ? await deliver(next) : await photos.deliver(photo);
    if (later) quietUntil = performance.now() + later * 1000;
    if (later !== undefined) return later ?? PAUSES[Math.min(failures++, PAUSES.length - 1)];
    failures = 0;
    if (next) await settle(next, outcome);
    else changed();
  }
}

/** Keep the outcome, unless the item was replaced meanwhile: then the newer one still has to go. */
async function settle({ id, envelope }, outcome) {
  const sent = JSON.stringify(envelope);
  await change((store, items) => {
    const same = items.find((item) => item.id === id && JSON.stringify(item.envelope) === sent);
    if (same) store.put({ ...same, ...outcome });
  });
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
      redirect: "error",
      signal: AbortSignal.timeout(SECONDS_TO_ANSWER * 1000),
    });
    if (answer.status === 200 || answer.status === 201) {
      const receipt = await answer.json();
      if (!isReceiptOf(receipt, item)) return { later: null };
      // A receipt given again tells the time of the first one.
      if (answer.status === 201) await clock.compare(parseInstant(receipt.received), asked);
      return { state: "sent", receipt };
    }
    if (REFUSED.includes(answer.status)) return { state: "parked", problem: await problemIn(answer) };
    return { later: laterIn(answer) };
  } catch {
    return { later: null };  // no network, or an answer that broke off
  }
}

function isReceiptOf(receipt, item) {
  const { id, log } = membersOf(item.envelope);
  return receipt?.id === id && receipt.log === log && Number.isSafeInteger(receipt.seq) && /^[0-9a-f]{64}$/.test(receipt.leaf);
}

/** Something changed here: let this page and the others look again. */
export function changed() {
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
