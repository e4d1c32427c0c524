/**
 * Canonical JSON (RFC 8785), for the values that a payload may hold: strings in NFC, whole numbers within ±(2^53 − 1), booleans,
 * lists and objects with ASCII member names. Anything else throws a `TypeError` that names the place, as in `seals[2].number`.
 */

const UNPAIRED = /[\uD800-\uDBFF](?![\uDC00-\uDFFF])|(?<![\uD800-\uDBFF])[\uDC00-\uDFFF]/;
// eslint-disable-next-line no-control-regex
const ASCII = /^[\x00-\x7F]*$/;

/**
 * The canonical text. `JSON.stringify` writes strings and whole numbers as RFC 8785 section 3.2.2 wants them, which is
 * defined by it; members are sorted by UTF-16 code units (3.2.3), as `sort` does by itself.
 */
export function canonical(value, path = "") {
  switch (typeof value) {
    case "string":
      if (UNPAIRED.test(value)) throw wrong(path, "text with half a character");
      if (value.normalize("NFC") !== value) throw wrong(path, "text that is not in the form NFC");
      return JSON.stringify(value);
    case "number":
      if (!Number.isSafeInteger(value)) throw wrong(path, "a number that is not whole, or too large");
      return JSON.stringify(value);
    case "boolean":
      return String(value);
    case "object":
      return Array.isArray(value) ? list(value, path) : members(value, path);
    default:
      throw wrong(path, typeof value);
  }
}

export function canonicalBytes(value) {
  return new TextEncoder().encode(canonical(value));
}

function list(values, path) {
  return `[${Array.from(values, (value, index) => canonical(value, `${path}[${index}]`)).join(",")}]`;
}

function members(value, path) {
  const plain = value !== null && [Object.prototype, null].includes(Object.getPrototypeOf(value));
  if (!plain) throw wrong(path, value === null ? "null" : "an object of its own kind");
  const written = Object.keys(value).sort().map((name) => {
    const place = path ? `${path}.${name}` : name;
    if (!ASCII.test(name)) throw wrong(place, "a member name that is not ASCII");
    return `${JSON.stringify(name)}:${canonical(value[name], place)}`;
  });
  return `{${written.join(",")}}`;
}

function wrong(path, what) {
  return new TypeError(`${path || "the payload"}: ${what}`);
}
