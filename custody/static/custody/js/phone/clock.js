/**
 * The time. A phone's clock may be wrong: each time the server tells its own, the two are compared, and from then on entries carry
 * the time put right, with the seconds by which it was put right (`offset`, positive where the phone is fast).
 */

import * as settings from "./settings.js";

const NAME = "clock";
/** Less than this no clock is wrong: the server tells whole seconds. */
const SECONDS_THAT_COUNT = 2;
const SECONDS_TO_TELL = 60;

let wrong = (await settings.get(NAME).catch(() => null)) ?? 0;
const channel = new BroadcastChannel("custody-clock");
channel.onmessage = ({ data }) => { wrong = data; };

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
 * Take note of the server's time. An answer took some time to come: what it says is compared with the middle of the wait, and what
 * fits within the wait is no news.
 * @param {number} server Unix seconds @param {number} asked milliseconds when the question left, by this phone's clock
 */
export async function compare(server, asked) {
  const answered = Date.now();
  const found = Math.round((asked + answered) / 2000 - server);
  const doubt = SECONDS_THAT_COUNT + (answered - asked) / 2000;
  if (Math.abs(found - wrong) < doubt) return;
  wrong = Math.abs(found) < doubt ? 0 : found;
  channel.postMessage(wrong);
  await keep();
}

/** Write down what was found, for the pages that come after this one. */
export const keep = () => settings.put(NAME, wrong);

/** Whether the clock is so far off that its owner should be told. */
export function isFarOff() {
  return Math.abs(wrong) >= SECONDS_TO_TELL;
}
