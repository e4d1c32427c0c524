"""Checkpoints: what a log says of itself at a size, as a signed note (C2SP tlog-checkpoint v1).

    custody.example/ALDER/main        origin: which log
    8                                 size: how many lines
    XcnaeacGWamtVZy3Ad7ZoqudgjqtL0lg… root: base64 of the Merkle root over them
                                      then a blank line, the log's signature, and those of witnesses

Whoever keeps a checkpoint can later prove that a line was changed or a tail cut off. One that does not verify proves
nothing at all, so a size or root is to be used after `verify_checkpoint` only.

The log signs with an Ed25519 key whose name is the origin. The standard only recommends that; here it is a must,
since otherwise two logs that share a key could pass for each other.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from custody.errors import Unverified
from custody.ledger.base64 import dump_base64, parse_base64
from custody.ledger.merkle import HASH_BYTES
from custody.ledger.notes import (
    KeyType,
    Note,
    NoteSignature,
    Verifier,
    cosign_note,
    cosigned_at,
    dump_note,
    parse_note,
    sign_note,
    verify_note,
    vkey,
)
from custody.ledger.signing import Signer

__all__ = [
    "Checkpoint",
    "Verifier",
    "cosign_checkpoint",
    "dump_checkpoint",
    "parse_checkpoint",
    "verify_checkpoint",
    "verify_cosignature",
    "vkey",
]

DECIMAL: Final = re.compile(r"0|[1-9][0-9]{0,18}", re.ASCII)
"""A count in ASCII without leading zeroes; at most 19 digits, as many as 2^63 has."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Checkpoint:
    """A log's statement. `root` is 32 bytes; `extensions` are further lines, opaque; `note` has the signatures."""

    origin: str
    size: int
    root: bytes
    extensions: tuple[str, ...]
    note: Note

    @property
    def signatures(self) -> tuple[NoteSignature, ...]:
        return self.note.signatures


def dump_checkpoint(origin: str, size: int, root: bytes, signer: Signer) -> str:
    """The text of a checkpoint signed by the log's key. Raises `ValueError` for an origin that cannot be a key's name.

    A log must never sign two that contradict each other; seeing to that is the caller's business.
    """
    if size < 0 or len(root) != HASH_BYTES:
        raise ValueError("a checkpoint has a size of at least 0 and a root of 32 bytes")
    text = f"{origin}\n{size}\n{dump_base64(root)}\n"
    return dump_note(Note(text=text, signatures=(sign_note(text, origin, signer),)))


def cosign_checkpoint(text: str, name: str, signer: Signer, at: int) -> str:
    """The checkpoint with a witness's cosignature, made at the instant `at`, below it. Verify it first."""
    note = parse_checkpoint(text).note
    return dump_note(Note(text=note.text, signatures=(*note.signatures, cosign_note(note.text, name, signer, at))))


def parse_checkpoint(text: str) -> Checkpoint:
    """What a checkpoint says, unverified. Raises `Unverified`: `not-note`; `not-checkpoint` for another text."""
    note = parse_note(text)
    failed = Unverified("not-checkpoint", "Not a checkpoint: origin, size and root, each on a line.")
    origin, *rest = note.text.removesuffix("\n").split("\n")
    if not origin or len(rest) < 2 or not all(rest) or not DECIMAL.fullmatch(rest[0]):
        raise failed
    try:
        root = parse_base64(rest[1])
    except ValueError:
        raise failed from None
    if len(root) != HASH_BYTES:
        raise failed
    return Checkpoint(origin=origin, size=int(rest[0]), root=root, extensions=tuple(rest[2:]), note=note)


def verify_checkpoint(text: str, vkey: str) -> Checkpoint:
    """What a checkpoint says, once it is shown that the log of this vkey said it.

    Raises `Unverified`: `not-vkey`, `not-note`, `not-checkpoint`, `other-origin` when it speaks of another log than
    the key's, `no-signature`, `bad-signature`.
    """
    verifier = Verifier.parse(vkey)
    if verifier.type is not KeyType.ED25519:
        raise Unverified("not-vkey", "A log signs with a plain Ed25519 key; this is the key of a witness.")
    checkpoint = parse_checkpoint(text)
    if checkpoint.origin != verifier.name:
        detail = f"The checkpoint is of {checkpoint.origin}, the key of {verifier.name}."
        raise Unverified("other-origin", detail, origin=checkpoint.origin, name=verifier.name)
    verify_note(checkpoint.note, verifier)
    return checkpoint


def verify_cosignature(text: str, vkey: str) -> int:
    """The latest instant at which the witness of this vkey says that it saw the checkpoint.

    Raises `Unverified`: `not-vkey` (also for the key of a log), `not-note`, `not-checkpoint`, `no-signature`,
    `bad-signature`.
    """
    verifier = Verifier.parse(vkey)
    if verifier.type is not KeyType.COSIGNATURE:
        raise Unverified("not-vkey", "A witness has a cosignature key; this is the key of a log.")
    note = parse_checkpoint(text).note
    verify_note(note, verifier)
    own = (verifier.name, verifier.key_id)
    return max(cosigned_at(one) for one in note.signatures if (one.name, one.key_id) == own)
