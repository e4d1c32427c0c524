"""Proof files: all that shows one line to be in a log, in one text that is checked offline (C2SP tlog-proof v1).

    c2sp.org/tlog-proof@v1
    index 5                           which line
    vBoGQ7EuTS18d5GPROD095qDi2z57F…   the inclusion proof, a hash a line, from the leaf's sibling upwards
                                      a blank line, then a checkpoint word for word

The line itself is not in the file: whoever checks it holds the line and computes its leaf hash. The format allows a
line `extra` of data that nothing vouches for; it is read, kept, and never used.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from custody.errors import Unverified
from custody.ledger.base64 import dump_base64, parse_base64
from custody.ledger.checkpoint import DECIMAL, Checkpoint, parse_checkpoint, verify_checkpoint
from custody.ledger.merkle import HASH_BYTES, verify_inclusion

_HEADER: Final = "c2sp.org/tlog-proof@v1"
_MAX_HASHES: Final = 63
"""No tree of fewer than 2^63 leaves is higher."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """`hashes` as of `merkle.inclusion_proof`, for the size in `checkpoint`, which is the text of a checkpoint."""

    index: int
    hashes: tuple[bytes, ...]
    checkpoint: str
    extra: bytes | None = None


def dump_proof(proof: Proof) -> str:
    """The text of a proof file (customary suffix `.tlog-proof`)."""
    lines = [_HEADER]
    if proof.extra is not None:
        lines.append(f"extra {dump_base64(proof.extra)}")
    lines += [f"index {proof.index}", *map(dump_base64, proof.hashes), "", proof.checkpoint]
    return "\n".join(lines)


def parse_proof(text: str) -> Proof:
    """The inverse of `dump_proof`. Raises `Unverified`: `not-proof`, or as `parse_checkpoint`. Nothing is verified."""
    failed = Unverified("not-proof", "Not a proof file: header, index, hashes, a blank line and a checkpoint.")
    above, blank, checkpoint = text.partition("\n\n")
    header, *lines = above.split("\n")
    if not blank or header != _HEADER:
        raise failed
    try:
        extra = parse_base64(lines.pop(0).removeprefix("extra ")) if lines[0].startswith("extra ") else None
        word, _, index = lines.pop(0).partition(" ")
        hashes = tuple(map(parse_base64, lines))
    except (IndexError, ValueError):
        raise failed from None
    if word != "index" or not DECIMAL.fullmatch(index) or len(hashes) > _MAX_HASHES:
        raise failed
    if any(len(one) != HASH_BYTES for one in hashes):
        raise failed
    parse_checkpoint(checkpoint)
    return Proof(index=int(index), hashes=hashes, checkpoint=checkpoint, extra=extra)


def verify_proof(text: str, leaf: bytes, vkey: str) -> Checkpoint:
    """The checkpoint under which the line with leaf hash `leaf` is shown to be in the log of this vkey.

    Raises `Unverified`: as `parse_proof`, as `verify_checkpoint`, or `bad-inclusion`.
    """
    proof = parse_proof(text)
    checkpoint = verify_checkpoint(proof.checkpoint, vkey)
    verify_inclusion(proof.index, checkpoint.size, leaf, proof.hashes, checkpoint.root)
    return checkpoint
