/** Instants as a payload writes them: RFC 3339, UTC, whole seconds, `Z`. In the program they are Unix seconds. */

const FORM = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/;

/** @param {number} seconds */
export function dumpInstant(seconds) {
  return new Date(seconds * 1000).toISOString().replace(/\.\d+Z$/, "Z");
}

/** @returns {number} Unix seconds. Throws a `RangeError` for any other text. */
export function parseInstant(text) {
  const seconds = FORM.test(text) ? Date.parse(text) / 1000 : NaN;
  if (Number.isNaN(seconds) || dumpInstant(seconds) !== text) throw new RangeError(`not an instant: ${text}`);
  return seconds;
}
