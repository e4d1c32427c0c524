/**
 * The time. A phone's clock may be wrong: each time the server is heard its time is compared with the phone's, and from then on
 * entries carry the time put right, with the seconds by which it was put right (`offset`, positive where the phone is fast).
 */

import * as settings from "./settings.js";

const NAME = "clock";
/** Less than this is the way of the answer through the network, not a wrong clock. */
const SECONDS_THAT_COUNT = 3;
const SECONDS_TO_TELL = 60;

let wrong = (await settings.get(NAME).catch(() => null)) ?? 0;

/** Milliseconds since 1970, put right. */
export function milliseconds() {
  return Date.now() - wrong * 1000;
}

/** Unix seconds, put right. */
export function now() {
  return Math.floor(milliseconds() / 1000);
}

/** By how many seconds this phone's clock was found wrong; 0 where it is right, or was never compared. */
export function offset() {
  return wrong;
}

/**
 * Take note of the server's time. An answer took some time to come: what it says is compared with the middle of the wait.
 * @param {number} server Unix seconds @param {number} asked milliseconds when the question left, by this phone's clock
 */
export async function compare(server, asked) {
  const middle = (asked + Date.now()) / 2000;
  const found = Math.round(middle - server);
  const next = Math.abs(found) < SECONDS_THAT_COUNT ? 0 : found;
  if (Math.abs(next - wrong) < SECONDS_THAT_COUNT && next !== 0) return;
  if (next === wrong) return;
  wrong = next;
  await settings.put(NAME, wrong);
}

/** Whether the clock is so far off that its owner should be told. */
export function isFarOff() {
  return Math.abs(wrong) >= SECONDS_TO_TELL;
}
