/** Signed envelopes: DSSE v1.0.2, Ed25519 over the pre-authentication encoding of type and payload. */

import { decode, encode, hex, join } from "./base64.js";
import { canonicalBytes } from "./canonical.js";

export const ENTRY_TYPE = "application/vnd.custody.entry.v1+json";
export const SIGN_IN_TYPE = "application/vnd.custody.sign-in.v1+json";

/**
 * @typedef {{person: string, publicKey: Uint8Array, keyid: string, sign: (bytes: Uint8Array) => Promise<Uint8Array>}} Signer
 * @typedef {{payloadType: string, payload: string, signatures: {keyid: string, sig: string}[]}} Envelope
 */

/** What is signed (DSSE v1.0.2, "PAE"). */
export function pae(type, payload) {
  const text = new TextEncoder();
  const typed = text.encode(type);
  return join(text.encode(`DSSEv1 ${typed.length} `), typed, text.encode(` ${payload.length} `), payload);
}

/** The name of a key: SHA-256 of its 32 bytes, in hexadecimal. */
export async function keyid(publicKey) {
  return hex(new Uint8Array(await crypto.subtle.digest("SHA-256", publicKey)));
}

/**
 * The envelope of a payload with everybody's signature over the same bytes. Throws `TypeError` where the payload cannot be canonical.
 * @param {object} members @param {Signer[]} signers @param {string} [type] @returns {Promise<Envelope>}
 */
export async function signEnvelope(members, signers, type = ENTRY_TYPE) {
  let envelope = { payloadType: type, payload: encode(canonicalBytes(members)), signatures: [] };
  for (const signer of signers) envelope = await addSignature(envelope, signer);
  return envelope;
}

/** The same envelope with one more signature, or a key's signature made anew. Sorted by keyid, as the log keeps them. */
export async function addSignature(envelope, signer) {
  const signature = await signer.sign(pae(envelope.payloadType, decode(envelope.payload)));
  const others = envelope.signatures.filter((each) => each.keyid !== signer.keyid);
  const signatures = [...others, { keyid: signer.keyid, sig: encode(signature) }];
  return { ...envelope, signatures: signatures.sort((one, other) => (one.keyid < other.keyid ? -1 : 1)) };
}

/** The members that an envelope carries. */
export function membersOf(envelope) {
  return JSON.parse(new TextDecoder().decode(decode(envelope.payload)));
}
