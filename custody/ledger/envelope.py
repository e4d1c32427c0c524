"""Envelopes: a payload with its signatures, by DSSE (Dead Simple Signing Envelope, protocol v1.0.2).

DSSE signs the pre-authentication encoding (PAE) of payload type and payload bytes, so that a signature for one type
of payload is worth nothing for another, and nobody has to agree on a spelling of JSON before the signature is
checked: the bytes that arrived are believed first, then parsed.

Stricter than DSSE where it leaves a choice, since the log keeps what it accepts for ever: no unknown members, base64
in the standard alphabet with padding and without stray bits, a key id with every signature, no key twice, and every
signature must verify, not just one. Not a judge of who should have signed: that is for the rules.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from custody.errors import Refused, Unverified
from custody.ledger.base64 import dump_base64, parse_base64
from custody.ledger.signing import Signer, check_public_key, keyid, verify_signature

PAYLOAD_TYPE: Final = "application/vnd.custody.entry.v1+json"
MAX_BYTES: Final = 65_535
"""Largest envelope in bytes: a line of the log must fit the 16-bit length of a C2SP tlog-tiles entry."""

_ENVELOPE: Final = frozenset({"payload", "payloadType", "signatures"})
_SIGNATURE: Final = frozenset({"keyid", "sig"})
_KEYID: Final = re.compile(r"[0-9a-f]{64}", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """One signature: `keyid` as of `signing.keyid`, `sig` the raw bytes."""

    keyid: str
    sig: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """A signed payload. `signatures` are sorted by key id, at least one, no key id twice."""

    payload_type: str
    payload: bytes
    signatures: tuple[Signature, ...]


def pae(payload_type: str, payload: bytes) -> bytes:
    """The bytes that are signed, `DSSEv1 SP len(type) SP type SP len(payload) SP payload`; lengths are in bytes."""
    kind = payload_type.encode("utf-8")
    return b"DSSEv1 %d %b %d %b" % (len(kind), kind, len(payload), payload)


def parse_envelope_bytes(data: bytes, *, payload_type: str = PAYLOAD_TYPE) -> Envelope:
    """An envelope from the bytes of its JSON, in any spelling, member names not doubled.

    Raises `Refused`: `too-large` over 65,535 bytes, `not-envelope` when it is not JSON, else as `parse_envelope`.
    """
    if len(data) > MAX_BYTES:
        raise Refused("too-large", f"The envelope has {len(data)} bytes; {MAX_BYTES} is the most.", limit=MAX_BYTES)
    try:
        value = json.loads(data.decode("utf-8"), object_pairs_hook=_without_doubles)
    except (ValueError, RecursionError):
        raise Refused("not-envelope", "The bytes are not JSON in UTF-8, or a member stands twice.") from None
    return parse_envelope(value, payload_type=payload_type)


def parse_envelope(value: object, *, payload_type: str = PAYLOAD_TYPE) -> Envelope:
    """An envelope from decoded JSON: `{"payloadType", "payload", "signatures": [{"keyid", "sig"}, …]}`, in any order.

    Raises `Refused`: `not-envelope` for another form (the same key twice is one), `unknown-type` for a payload of
    another type than `payload_type`, `no-signature` for an empty list. Checks no signature.
    """
    members = _members(value, _ENVELOPE, "")
    kind, listed = members["payloadType"], members["signatures"]
    if type(kind) is not str or type(listed) is not list:
        raise Refused("not-envelope", "payloadType must be a string, signatures a list.", path="")
    if kind != payload_type:
        raise Refused("unknown-type", f"The payload is not of type {payload_type}.", path="payloadType")
    payload = _bytes(members, "payload", "")
    if not listed:
        raise Refused("no-signature", "The envelope holds no signature.", path="signatures")
    signatures: dict[str, Signature] = {}
    for one in listed:
        path = f"signatures[{len(signatures)}]"
        parts = _members(one, _SIGNATURE, path)
        key = parts["keyid"]
        if type(key) is not str or not _KEYID.fullmatch(key):
            raise Refused("not-envelope", "A key id is 64 lower-case hex digits.", path=f"{path}.keyid")
        if key in signatures:
            raise Refused("not-envelope", "Two signatures are of the same key.", path=f"{path}.keyid", keyid=key)
        signatures[key] = Signature(keyid=key, sig=_bytes(parts, "sig", path))
    ordered = tuple(signatures[key] for key in sorted(signatures))
    return Envelope(payload_type=kind, payload=payload, signatures=ordered)


def dump_envelope(envelope: Envelope) -> dict[str, Any]:
    """The envelope as a value for JSON, the inverse of `parse_envelope`; signatures sorted by key id."""
    return {
        "payload": dump_base64(envelope.payload),
        "payloadType": envelope.payload_type,
        "signatures": [{"keyid": one.keyid, "sig": dump_base64(one.sig)} for one in envelope.signatures],
    }


def sign_envelope(payload: bytes, signers: Iterable[Signer], *, payload_type: str = PAYLOAD_TYPE) -> Envelope:
    """An envelope signed by each signer. Raises `ValueError` without a signer, or with the same one twice."""
    message = pae(payload_type, payload)
    signatures = [Signature(keyid=signer.keyid, sig=signer.sign(message)) for signer in signers]
    if not signatures or len({one.keyid for one in signatures}) != len(signatures):
        raise ValueError("an envelope is signed by at least one key, and by each key once")
    ordered = tuple(sorted(signatures, key=lambda one: one.keyid))
    return Envelope(payload_type=payload_type, payload=payload, signatures=ordered)


def verify_envelope(envelope: Envelope, keys: Mapping[str, bytes]) -> None:
    """Check every signature with the public key that `keys` holds under its key id.

    Raises `Refused`, naming the `keyid`: `unknown-key` when there is none, or when the id is not the SHA-256 of the
    key (one key under two ids would count as two people), `weak-key`, `bad-signature`.
    """
    message = pae(envelope.payload_type, envelope.payload)
    for one in envelope.signatures:
        public_key = keys.get(one.keyid)
        if public_key is None or keyid(public_key) != one.keyid:
            raise Refused(
                "unknown-key", "A signature was made with a key that nobody on the register holds.", keyid=one.keyid
            )
        check_public_key(public_key)
        try:
            verify_signature(public_key, message, one.sig)
        except Unverified:
            raise Refused("bad-signature", "A signature does not verify.", keyid=one.keyid) from None


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) != len(pairs):
        raise ValueError("a member stands twice")
    return members


def _members(value: object, names: frozenset[str], path: str) -> dict[str, Any]:
    if type(value) is not dict or value.keys() != names:
        where = f"{path} of the envelope" if path else "The envelope"
        raise Refused("not-envelope", f"{where} must be an object of exactly {', '.join(sorted(names))}.", path=path)
    return value


def _bytes(members: dict[str, Any], name: str, path: str) -> bytes:
    try:
        return parse_base64(members[name])
    except ValueError:
        where = f"{path}.{name}" if path else name
        raise Refused("not-envelope", f"{where} is not base64 in the standard alphabet, padded.", path=where) from None
