"""What the replay knows of seals: what is in place at a point, what a reading may bring back, where a number went.

A seal is known by its number; whose make it is, often only by its lot. Like all states these are values, worked out
again from the log at any time. How an entry changes them is in `replay_seals.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from custody.domain.recorded import Moment
from custody.domain.vocabulary import Role


class SealOn(NamedTuple):
    """A seal in place: its number and the entry that put it on record there, at which site."""

    number: str
    maker: str | None
    since: Moment
    site: str | None
    election: str


class Doubt(NamedTuple):
    """What a point held before a reading that the record did not expect.

    `seal` was in place before the reading of `since`; when it is read again, the keys in `findings` are cleared: that
    reading was wrong. `numbers` are those that it showed. Where no seal was in place there is nothing to return to.
    """

    seal: SealOn | None
    since: Moment
    findings: tuple[str, ...]
    numbers: tuple[str, ...]


class Point(NamedTuple):
    """A seal point: the seal in place, and the doubts since the last seal or unseal entry at it, the latest last."""

    seal: SealOn | None = None
    doubts: tuple[Doubt, ...] = ()


class Application(NamedTuple):
    """A seal number put on: by which entry, of which maker as far as known, and where."""

    since: Moment
    maker: str | None
    item: str
    point: str


class NumberRead(NamedTuple):
    """A number read at a point where the record had another, or none."""

    since: Moment
    item: str
    point: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberState:
    """What happened to one seal number: where it was put on, and where it was read though not put on there.

    A reading that turned out to be wrong is taken out again: the number was never there.
    """

    applied: tuple[Application, ...] = ()
    read: tuple[NumberRead, ...] = ()


class LooseMove(NamedTuple):
    """A run of loose seals handed over: its numbers, and who received it where."""

    first: int
    last: int
    by: Moment
    election: str
    role: Role
    site: str | None


class LooseVoid(NamedTuple):
    """A run of seals reported void."""

    first: int
    last: int
    by: Moment


@dataclass(frozen=True, slots=True, kw_only=True)
class LooseState:
    """Loose seals of one block of a thousand numbers: handed over and reported void, in custody order."""

    moves: tuple[LooseMove, ...] = ()
    voids: tuple[LooseVoid, ...] = ()
