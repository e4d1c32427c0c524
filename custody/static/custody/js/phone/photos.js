/**
 * Photos on their way to the log, by their SHA-256: {sha256, bytes, entry?, problem?}. Without `entry` it belongs to an act in hand; with it,
 * it follows that entry once the entry is on record, and is let go of when the log has it. Sending twice does no harm.
 */

import { hex } from "../record/base64.js";
import { laterIn, problemIn, REFUSED } from "./answers.js";
import { read, write } from "./database.js";
import * as drafts from "./drafts.js";

const SECONDS_TO_ANSWER = 60;
/** Beside what is refused for good: the log knows no entry that names it. One such photo must not hold back the others. */
const UNNAMED = 403;

/** Keep a photo for the act in hand. Resolves to its name when it is on the disk; rejects, for instance, for want of space. */
export async function keep(bytes) {
  const sha256 = hex(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)));
  await write("photos", (store) => store.put({ sha256, bytes }));
  return sha256;
}

/** The bytes of a photo that is on this phone, or `null`. */
export async function bytesOf(sha256) {
  return (await read("photos", (store) => store.get(sha256)))?.bytes ?? null;
}

/** From now on they belong to an entry. Resolves when that is on the disk. */
export async function giveTo(entry, names) {
  if (names.length) await change((store, rows) => { for (const row of rows) if (names.includes(row.sha256)) store.put({ ...row, entry }); });
}

export const drop = (sha256) => write("photos", (store) => store.delete(sha256));

/** The entry is not to be sent any more, and so are its photos. */
export async function dropOf(entry) {
  await change((store, rows) => { for (const row of rows) if (row.entry === entry) store.delete(row.sha256); });
}

/** Let go of what was taken for an act that is not in hand any more. */
export async function tidy() {
  const wanted = (await drafts.getAll()).flatMap((draft) => draft.photos ?? []);
  await change((store, rows) => { for (const row of rows) if (!row.entry && !wanted.includes(row.sha256)) store.delete(row.sha256); });
}

/** Those that belong to an entry: `{waiting: [row], parked: [row]}`. */
export async function list() {
  const rows = (await read("photos", (store) => store.getAll())).filter((row) => row.entry);
  return { waiting: rows.filter((row) => !row.problem), parked: rows.filter((row) => row.problem) };
}

/** Let one that was refused wait once more. */
export async function retry(sha256) {
  await change((store, rows) => { for (const { problem, ...row } of rows) if (row.sha256 === sha256) store.put(row); });
}

/** One whose entry the log has; `items` are those of the outbox. */
export async function next(items) {
  const early = items.filter((item) => item.state !== "sent").map((item) => item.id);
  return (await list()).waiting.find((row) => !early.includes(row.entry)) ?? null;
}

/** One delivery: {} when nothing is left to do about it, or {later} in seconds (`null`: after the next pause). */
export async function deliver({ sha256, bytes, entry }) {
  try {
    const answer = await fetch(`/api/v1/photos/${sha256}?entry=${encodeURIComponent(entry)}`, {
      method: "PUT",
      headers: { "Content-Type": "image/jpeg" },
      body: bytes,
      credentials: "omit",
      redirect: "error",
      signal: AbortSignal.timeout(SECONDS_TO_ANSWER * 1000),
    });
    if (answer.ok) {
      if ((await answer.json()).sha256 !== sha256) return { later: null };
      await drop(sha256);
      return {};
    }
    if (![...REFUSED, UNNAMED].includes(answer.status)) return { later: laterIn(answer) };
    const problem = await problemIn(answer);
    await change((store, rows) => { for (const row of rows) if (row.sha256 === sha256) store.put({ ...row, problem }); });
    return {};
  } catch {
    return { later: null };  // no network, or an answer that broke off
  }
}

async function change(make) {
  await write("photos", (store) => {
    const asked = store.getAll();
    asked.onsuccess = () => make(store, asked.result);
  });
}
