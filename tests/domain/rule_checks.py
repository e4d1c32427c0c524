"""What the tests of rules share: the findings of one rule, worked out in order and in a shuffled order, which must agree."""

from __future__ import annotations

from typing import Any

from custody.domain.book import Book, work_out
from custody.domain.findings import Finding, Severity
from custody.domain.judge import merge_findings
from custody.messages import render
from tests.world import ELECTION, Deed, World, findings_of
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


def of_entry(rule: str, deed: Deed, *scope: str, severity: Severity, variant: str = "", **more: Any) -> Finding:
    """What a rule says of one entry, made in the warehouse unless told otherwise."""
    message = f"{rule}.{variant}" if variant else rule
    place: dict[str, Any] = {"at": deed.at, "election": ELECTION, "site": "WH", "entries": (deed.id,)}
    return Finding(rule=rule, scope=(deed.id, *scope), severity=severity, message=message, **(place | more))


def what(finding: Finding) -> str:
    return render(finding)[0]
