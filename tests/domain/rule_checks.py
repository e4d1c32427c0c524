"""What the tests of rules share: the findings of one rule, worked out in order and in a shuffled order, which must agree."""

from __future__ import annotations

from custody.domain.book import Book, work_out
from custody.domain.findings import Finding
from custody.domain.judge import merge_findings
from tests.world import World, findings_of
from tests.world_random import chance


def found(world: World, *rules: str, now: int | None = None) -> list[Finding]:
    """The findings of these rules at `now` (else: when every limit has passed), whatever the order of arrival."""
    in_order = findings_of(world, now)
    entries = [each for each in world.recorded() if now is None or each.time <= now]
    chance(len(entries)).shuffle(entries)
    book = Book(world.register)
    for each in entries:
        work_out(book, book.take([each]))
    merged = merge_findings(each for listed in book.findings.values() for each in listed)
    assert [each for each in merged if now is None or each.shown_from <= now] == in_order
    return [each for each in in_order if each.rule in rules]


def keys(world: World, *rules: str, now: int | None = None) -> list[str]:
    """The keys of those findings."""
    return [finding.key for finding in found(world, *rules, now=now)]


def one(world: World, rule: str, now: int | None = None) -> Finding:
    """The only finding of a rule."""
    (finding,) = found(world, rule, now=now)
    return finding
