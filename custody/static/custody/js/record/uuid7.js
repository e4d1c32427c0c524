/** UUID version 7 (RFC 9562 section 5.7): 48 bits of Unix milliseconds, then chance. */

import { hex } from "./base64.js";

/** @param {number} milliseconds since 1970 */
export function uuid7(milliseconds) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  let rest = Math.floor(milliseconds);
  for (let place = 5; place >= 0; place -= 1) {
    bytes[place] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  return hex(bytes).replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
