/** JPEG files (ITU-T T.81, annex B): what browsers write beside the picture is taken off again. */

import { join } from "./base64.js";

const [START, SCAN] = [0xd8, 0xda];
/** Segments that a picture needs, or that say how dense and of which colours it is (ITU-T T.871; ICC.1 annex B.4; Adobe's APP14). */
const KEPT = { 0xe0: "JFIF\0", 0xe2: "ICC_PROFILE\0", 0xee: "Adobe" };

/**
 * The same picture without Exif, comments and all else that applications put before it: some browsers write such things, too.
 * @param {Uint8Array} bytes @returns {Uint8Array} Throws `TypeError` where these are not the bytes of a JPEG.
 */
export function bare(bytes) {
  if (bytes[0] !== 0xff || bytes[1] !== START) throw new TypeError("no JPEG");
  const parts = [bytes.subarray(0, 2)];
  let at = 2;
  while (bytes[at] === 0xff && bytes[at + 1] !== SCAN) {
    const length = bytes[at + 2] * 256 + bytes[at + 3];
    if (!(length >= 2)) throw new TypeError("no JPEG");
    const segment = bytes.subarray(at, at + 2 + length);
    if (isKept(segment)) parts.push(segment);
    at += 2 + length;
  }
  if (bytes[at] !== 0xff) throw new TypeError("no JPEG");
  parts.push(bytes.subarray(at));
  return join(...parts);
}

function isKept(segment) {
  const marker = segment[1];
  if (marker === 0xfe) return false;
  if (marker < 0xe0 || marker > 0xef) return true;
  const begins = KEPT[marker];
  return begins !== undefined && Array.from(begins).every((letter, at) => segment[4 + at] === letter.charCodeAt(0));
}
