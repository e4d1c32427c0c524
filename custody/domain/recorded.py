"""An entry on record: what was signed, when it reached the log, whose signatures it carries, and what amendments made of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from custody.domain.entries import Entry, Handoff
from custody.domain.register import Key, Register

Position = tuple[int, str]
"""Custody order: `(time, id)`. The sequence number of the log has no part in it."""


class Moment(NamedTuple):
    """An entry and its time, as in "since" or "ended by"."""

    time: int
    entry: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """One signature as the log holds it: the key, and when the first line that has it was received."""

    keyid: str
    received: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """One entry on record. `signed` is the entry as its signers saw it, `entry` the same with its amendments applied.

    `received` and `seq` are those of its first line; `signatures` is the union over all its lines, sorted by key.
    """

    signed: Entry
    entry: Entry
    seq: int
    received: int
    signatures: tuple[Signed, ...]
    amended_by: tuple[str, ...] = field(default=())

    @property
    def id(self) -> str:
        return self.signed.id

    @property
    def time(self) -> int:
        """When it happened: the earlier of `at` as amended and the time of receipt (record format 1, section 5)."""
        return min(self.entry.at, self.received)

    @property
    def position(self) -> Position:
        return (self.time, self.signed.id)

    def amended(self, entry: Entry, amended_by: tuple[str, ...]) -> Recorded:
        """The same record seen through its amendments."""
        return replace(self, entry=entry, amended_by=amended_by)


def record_entry(entry: Entry, *, seq: int, received: int, signatures: Iterable[Signed]) -> Recorded:
    """An entry as the log first has it, not yet amended."""
    ordered = tuple(sorted(signatures, key=lambda each: each.keyid))
    return Recorded(signed=entry, entry=entry, seq=seq, received=received, signatures=ordered)


def key_fault(key: Key, signature: Signed, at: int, late_seconds: int) -> bool:
    """Whether a signature does not count: made outside the key's time, or received too long after it was revoked."""
    if key.valid_from is not None and at < key.valid_from:
        return True
    if key.valid_until is not None and at >= key.valid_until:
        return True
    if key.revoked_at is None:
        return False
    return at >= key.revoked_at or signature.received > key.revoked_at + late_seconds


def signers(recorded: Recorded, register: Register) -> frozenset[str]:
    """The people whose signature counts: their key was valid when they signed, as the entry says it."""
    at = recorded.signed.at
    late_seconds = register.policies.at(recorded.time).late_entry_hours * 3600
    return frozenset(
        key.person
        for signature in recorded.signatures
        if (key := register.keys.get(signature.keyid)) is not None and not key_fault(key, signature, at, late_seconds)
    )


def is_received(recorded: Recorded, signed_by: frozenset[str]) -> bool:
    """Whether the receiving end of a handoff is shown to have taken it.

    Somebody named at that end signed, or there is a paper form with a photo, and the signature of a transcriber who is not
    named at the releasing end.
    """
    entry = recorded.entry
    assert isinstance(entry, Handoff)
    if signed_by.intersection(entry.receive.people):
        return True
    return (
        entry.paper is not None
        and bool(entry.photos)
        and entry.transcriber in signed_by
        and entry.transcriber not in entry.release.people
    )
