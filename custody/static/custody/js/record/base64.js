/** Bytes as text and back: base64 with padding (RFC 4648 section 4), and hexadecimal. */

/** @param {Uint8Array} bytes */
export function encode(bytes) {
  let text = "";
  for (const byte of bytes) text += String.fromCharCode(byte);
  return btoa(text);
}

/** Throws a `DOMException` for what is not base64. */
export function decode(text) {
  return Uint8Array.from(atob(text), (character) => character.charCodeAt(0));
}

/** @param {Uint8Array} bytes */
export function hex(bytes) {
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Two or more runs of bytes as one. */
export function join(...parts) {
  const joined = new Uint8Array(parts.reduce((length, part) => length + part.length, 0));
  let end = 0;
  for (const part of parts) {
    joined.set(part, end);
    end += part.length;
  }
  return joined;
}
