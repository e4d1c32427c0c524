"""A correct day with one slip in it: an act that was not done, or was written down otherwise. The twin is the day without it."""

from __future__ import annotations

import copy
from collections.abc import Callable, Sequence
from typing import Any

from tests.world import Deed, World

PLACE = "P01"
Slip = Callable[[dict[str, Any]], dict[str, Any] | None]
"""What becomes of a payload: another one, or `None` for what never came on record."""


class SlipWorld(World):
    """A world of one place in which every act passes through a slip before it is written down."""

    def __init__(self, slip: Slip | None = None) -> None:
        super().__init__(places=1)
        self.slip = slip
        self.slipped = 0

    def write(self, payload: dict[str, Any], *, signers: Sequence[str], received: int) -> Deed:
        changed = self.slip(copy.deepcopy(payload)) if self.slip else payload
        self.slipped += changed != payload
        deed = super().write(payload if changed is None else changed, signers=signers, received=received)
        if changed is None:
            self.log.pop()
        return deed


def day(slip: Slip | None = None, *, until: str = "fetch_scanner") -> SlipWorld:
    """The day of one place up to a phase. A slip that met nothing is a mistake of the test."""
    world = SlipWorld(slip)
    world.until(PLACE, until)
    assert slip is None or world.slipped > 0
    world.slip = None
    return world


def fits(payload: dict[str, Any], members: dict[str, Any]) -> bool:
    return all(payload.get(name) == value for name, value in members.items())


def without(*acts: dict[str, Any]) -> Slip:
    """Acts with these members were not done."""
    return lambda payload: None if any(fits(payload, each) for each in acts) else payload


def figures(subject: str, changed: dict[str, int | None], *, of: str = "") -> Slip:
    """Counts of this subject that give the figure `of` say something else; `None`: they say nothing of it."""

    def slip(payload: dict[str, Any]) -> dict[str, Any]:
        if payload["kind"] == "count" and payload["subject"] == subject and (not of or of in payload["figures"]):
            told = payload["figures"] | changed
            payload["figures"] = {name: value for name, value in told.items() if value is not None}
        return payload

    return slip


def both(*slips: Slip) -> Slip:
    def slip(payload: dict[str, Any]) -> dict[str, Any] | None:
        told: dict[str, Any] | None = payload
        for each in slips:
            told = each(told) if told is not None else None
        return told

    return slip


def deed_of(world: World, kind: str, **members: Any) -> Deed:
    """The first act on record with these members."""
    return next(deed for deed in world.log if fits(deed.payload, {"kind": kind, **members}))
