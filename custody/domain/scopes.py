"""What the rules look at beyond a single entry: a journey, a polling place's day, an item's life."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from custody.domain.policy import Policy
from custody.domain.recorded import Position
from custody.domain.register import Election, Register
from custody.domain.seal_states import LooseMove, LooseVoid, NumberState
from custody.domain.states import ItemState, Moment, PlaceEvent


@dataclass(frozen=True, slots=True, kw_only=True)
class Journey:
    """The things that one entry put on the way back, each with its state after everything on record."""

    start: Moment
    election: str
    place: str
    site: str | None  # of that entry
    items: Mapping[str, ItemState]
    controlled: frozenset[str]  # of these items, as they set out: controlled, by kind or by contents
    register: Register


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceDay:
    """One polling place in one election: the entries that touch it, in custody order, and its items as they are now."""

    election: Election
    site: str
    events: Sequence[tuple[Position, PlaceEvent]]
    items: Mapping[str, ItemState]
    register: Register

    def policy(self, instant: int) -> Policy:
        return self.register.policies.at(instant)


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemLife:
    """One item with its state after everything on record."""

    code: str
    state: ItemState
    register: Register


@dataclass(frozen=True, slots=True, kw_only=True)
class SealStock:
    """The seal numbers issued to a polling place in an election, and what became of each."""

    election: Election
    site: str
    numbers: Mapping[str, NumberState]
    moves: Mapping[str, tuple[LooseMove, ...]]  # loose handoffs that cover the number, in custody order
    voids: Mapping[str, tuple[LooseVoid, ...]]
    register: Register
