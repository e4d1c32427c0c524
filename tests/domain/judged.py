"""Findings as they stand, the same from whatever order of arrival: every test that asks here tests that too."""

from __future__ import annotations

import random

from custody.domain.book import Book, derive, work_out
from custody.domain.findings import Finding
from custody.domain.judge import Settled, merge_findings, settle
from custody.domain.states import ItemState, SettlementState
from custody.domain.views import item_key, settlement_key
from tests.world_acts import Acts

Standing = dict[str, tuple[Finding, Settled]]


def standing(world: Acts) -> Standing:
    """Every finding by its key, with its status, when every limit has passed."""
    recorded = world.recorded()
    found = _standing(derive(recorded, world.register))
    shuffled = random.Random(len(recorded)).sample(recorded, len(recorded))  # noqa: S311
    for arrivals in (recorded, recorded[::-1], shuffled):
        book = Book(world.register)
        for each in arrivals:
            work_out(book, book.take([each]))
        assert _standing(book) == found
    return found


def _standing(book: Book) -> Standing:
    listed = merge_findings(each for found in book.findings.values() for each in found)
    standing = {}
    for finding in listed:
        settlement = book.tracks.last(settlement_key(finding.key))
        assert isinstance(settlement, SettlementState)
        standing[finding.key] = (finding, settle(finding, settlement, book.register, book.signed))
    return standing


def findings(world: Acts, *rules: str) -> list[Finding]:
    """The findings of these rules, in the order of time and key."""
    return [finding for finding, _ in standing(world).values() if finding.rule in rules]


def keys(world: Acts, *rules: str) -> list[str]:
    return [finding.key for finding in findings(world, *rules)]


def statuses(world: Acts, *rules: str) -> dict[str, tuple[str, str | None]]:
    """For each finding of these rules its status, and the id of the entry that made it so."""
    return {
        key: (settled.status, settled.by.entry if settled.by else None)
        for key, (finding, settled) in standing(world).items()
        if finding.rule in rules
    }


def item_now(world: Acts, code: str) -> ItemState:
    """An item's state after everything on record."""
    state = derive(world.recorded(), world.register).tracks.last(item_key(code))
    assert isinstance(state, ItemState)
    return state
