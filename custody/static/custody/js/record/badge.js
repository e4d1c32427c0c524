/**
 * Badges: a secret of 128 bits that a person carries as a QR, and the key that it gives together with a PIN.
 *
 * The key exists only here, in the page, between the scan and the signature. It is made afresh each time: PBKDF2-HMAC-SHA256 with
 * 600,000 rounds (OWASP Password Storage Cheat Sheet) gives the Ed25519 seed. Nothing of it is kept, and it cannot be exported.
 */

import { decode, join } from "./base64.js";
import { keyid } from "./envelope.js";
import { SYMBOLS, checkCharacter, forgive } from "./labels.js";

const ROUNDS = 600_000;
const SALT = new TextEncoder().encode("custody-badge-v1");
const SECRET_BYTES = 16;
const SECRET_SYMBOLS = 26;
const FORM = /^\s*CB1:([^:\s]+):(.+)$/is;
/** RFC 8410: what stands before the 32 bytes of a seed in PKCS#8. */
const PKCS8_HEAD = Uint8Array.from([0x30, 0x2e, 2, 1, 0, 0x30, 5, 6, 3, 0x2b, 0x65, 0x70, 4, 0x22, 4, 0x20]);
const ALGORITHM = "Ed25519";

/** @typedef {{person: string, secret: Uint8Array}} Badge */

/** What was scanned or typed is no badge. `code`: `not-badge`, or `bad-check` for a slip of the hand. */
export class BadgeError extends Error {
  constructor(code) {
    super(code);
    this.code = code;
  }
}

/** @param {string} text as in the QR, or as typed: case, spaces and hyphens of the secret do not count. @returns {Badge} */
export function parseBadge(text) {
  const [, person, typed] = FORM.exec(text) ?? [];
  const plain = (typed ?? "").toUpperCase().replace(/[\s-]/g, "");
  const [symbols, check] = [forgive(plain.slice(0, SECRET_SYMBOLS)), plain.slice(SECRET_SYMBOLS)];
  const formed = symbols.length === SECRET_SYMBOLS && check.length === 1 && Array.from(symbols).every((each) => SYMBOLS.includes(each));
  if (!formed) throw new BadgeError("not-badge");
  const wanted = checkCharacter(symbols);
  if (check !== wanted && forgive(check) !== wanted) throw new BadgeError("bad-check");
  const number = Array.from(symbols).reduce((sum, each) => sum * 32n + BigInt(SYMBOLS.indexOf(each)), 0n);
  if (number >> BigInt(8 * SECRET_BYTES)) throw new BadgeError("not-badge");
  return { person: person.toUpperCase(), secret: bytesOf(number) };
}

/** Of a text that begins as a badge's does, whose badge it is: the secret must be neither shown nor sent. Any other text, as it is. */
export function withoutSecret(text) {
  return /^\s*CB1:([^:\s]*)/i.exec(text)?.[1] ?? text;
}

/** The text of a badge's QR. */
export function dumpBadge(badge) {
  const symbols = symbolsOf(badge.secret);
  return `CB1:${badge.person}:${symbols}${checkCharacter(symbols)}`;
}

/** The 27 characters in groups, for print and for typing. */
export function groupBadge(badge) {
  return dumpBadge(badge).split(":")[2].match(/.{1,5}/g).join("-");
}

/** A new secret, whose check character is one that cannot be mistaken for another. */
export function newSecret() {
  for (;;) {
    const secret = crypto.getRandomValues(new Uint8Array(SECRET_BYTES));
    if (SYMBOLS.includes(checkCharacter(symbolsOf(secret)))) return secret;
  }
}

/**
 * The signer of a badge with this PIN. Any PIN gives one: whether it is the person's shows when its public key is compared.
 * @param {Badge} badge @param {string} pin digits @returns {Promise<import("./envelope.js").Signer>}
 */
export async function unlock(badge, pin) {
  const seed = await seedOf(badge.secret, pin);
  const [key, publicKey] = await keysOf(seed);
  seed.fill(0);
  return {
    person: badge.person,
    publicKey,
    keyid: await keyid(publicKey),
    sign: async (bytes) => new Uint8Array(await crypto.subtle.sign(ALGORITHM, key, bytes)),
  };
}

/** The Ed25519 seed, 32 bytes. */
export async function seedOf(secret, pin) {
  const password = await crypto.subtle.importKey("raw", new TextEncoder().encode(pin), "PBKDF2", false, ["deriveBits"]);
  const how = { name: "PBKDF2", hash: "SHA-256", salt: join(SALT, secret), iterations: ROUNDS };
  return new Uint8Array(await crypto.subtle.deriveBits(how, password, 256));
}

/**
 * The private key (which cannot be exported) and the public key of a seed. The browser tells the public half of a private key
 * only in an export: so a second copy is made that may be exported, read, and let go.
 */
export async function keysOf(seed) {
  const pkcs8 = join(PKCS8_HEAD, seed);
  const key = await crypto.subtle.importKey("pkcs8", pkcs8, ALGORITHM, false, ["sign"]);
  const copy = await crypto.subtle.importKey("pkcs8", pkcs8, ALGORITHM, true, ["sign"]);
  pkcs8.fill(0);
  const { x } = await crypto.subtle.exportKey("jwk", copy);
  return [key, decode(x.replaceAll("-", "+").replaceAll("_", "/"))];
}

function symbolsOf(secret) {
  let number = secret.reduce((sum, byte) => sum * 256n + BigInt(byte), 0n);
  let symbols = "";
  for (let place = 0; place < SECRET_SYMBOLS; place += 1) {
    symbols = SYMBOLS[Number(number % 32n)] + symbols;
    number /= 32n;
  }
  return symbols;
}

function bytesOf(number) {
  const bytes = new Uint8Array(SECRET_BYTES);
  for (let place = SECRET_BYTES - 1; place >= 0; place -= 1) {
    bytes[place] = Number(number % 256n);
    number /= 256n;
  }
  return bytes;
}
