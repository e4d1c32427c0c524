/** Instants as a clock on the wall of a time zone shows them: `2026-11-03T20:50:00`, and back. */

/** @param {number} seconds Unix seconds @param {string} zone as the time zone database names it */
export function toLocal(seconds, zone) {
  const format = { timeZone: zone, hourCycle: "h23", year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit" };
  const parts = Object.fromEntries(new Intl.DateTimeFormat("en", format).formatToParts(new Date(seconds * 1000)).map(({ type, value }) => [type, value]));
  return `${parts.year}-${parts.month}-${parts.day}T${parts.hour}:${parts.minute}:${parts.second}`;
}

/** The instant that such a clock showed so: of a time that came twice the later one; `null` where there was none. Seconds may be left out. */
export function fromLocal(text, zone) {
  const whole = /T\d\d:\d\d$/.test(text) ? `${text}:00` : text;
  const asIfUtc = Date.parse(`${whole}Z`) / 1000;
  if (Number.isNaN(asIfUtc)) return null;
  // Whatever the clock is off by at that time, it is so half a day before or after.
  const offsets = [-1, 0, 1].map((side) => asIfUtc + side * 43_200).map((near) => Date.parse(`${toLocal(near, zone)}Z`) / 1000 - near);
  const found = offsets.map((offset) => asIfUtc - offset).filter((seconds) => toLocal(seconds, zone) === whole);
  return found.length ? Math.max(...found) : null;
}
