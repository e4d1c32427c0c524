"""Findings as rows: written for the scopes that a book looked at, settled, and journalled when they prove not to be so."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, cast

from django.db import connection

from custody import store
from custody.domain.book import Book
from custody.domain.findings import Finding
from custody.domain.judge import Settled, settle
from custody.domain.state_codec import dump_state, load_dataclass
from custody.domain.states import Moment, SettlementState
from custody.domain.views import settlement_key
from custody.projections.reading import query_in
from custody.projections.writing import execute_many, insert_rows

COLUMNS = ("scope", "status", "settled_by", "settled_at", "referred_by", "body")
"""What `stored_finding` takes of a row."""


Where = tuple[str, str]
"""The scope and the key of a finding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredFinding:
    """A finding as the table has it: the scope that gave it, what it says, how it stands on everything on record."""

    scope: str
    finding: Finding
    settled: Settled


def write_findings(
    log: store.LogHead, book: Book, *, arrival: Moment | None, now: int, fresh: Iterable[str] = ()
) -> None:
    """The rows of every scope that the book looked at, and of findings that somebody settled or a later act cleared.

    `arrival` is the entry whose arrival led to this, `now` when; a finding that was on show by then and is gone is journalled.
    `fresh` names entries that were on no record before, whose findings cannot be there yet.
    """
    scopes = book.findings.keys() - {f"entry:{each}" for each in fresh}
    old = {(each.scope, each.finding.key): each for each in _rows(log, "scope", scopes)}
    new = {(scope, finding.key): finding for scope, findings in book.findings.items() for finding in findings}
    said = {key.partition(":")[2] for key in _touched(book) if key.startswith("finding:")}
    elsewhere = said - {key for _, key in new}
    for each in _rows(log, "key", elsewhere):
        if each.scope not in book.findings:
            old[each.scope, each.finding.key] = each
            new[each.scope, each.finding.key] = each.finding
    settled = _settled(book, old, new, said)
    gone = [where for where in old if where not in new]
    changed = [
        (where, finding)
        for where, finding in new.items()
        if where not in old or (old[where].finding, old[where].settled) != (finding, settled[where])
    ]
    stale = [*gone, *(where for where, _ in changed if where in old)]
    execute_many(
        "DELETE FROM custody_findingrow WHERE log_id = %s AND scope = %s AND key = %s",
        [(log.id, *where) for where in stale],
    )
    insert_rows(
        "INSERT INTO custody_findingrow (log_id, scope, key, rule, severity, at, election, site, status, settled_by,"
        " settled_at, referred_by, body) VALUES {}",
        [finding_row(log, where[0], finding, settled[where]) for where, finding in changed],
    )
    _journal(log, [old[where] for where in gone], {key for _, key in new}, arrival=arrival, now=now)


def _settled(
    book: Book, old: Mapping[Where, StoredFinding], new: Mapping[Where, Finding], said: set[str]
) -> dict[Where, Settled]:
    """How each finding stands: as before where neither the finding nor what was said of it has changed."""
    kept = {
        where: old[where].settled
        for where, finding in new.items()
        if finding.key not in said and where in old and old[where].finding == finding
    }
    others = {where: finding for where, finding in new.items() if where not in kept}
    return kept | dict(zip(others, settle_findings(book, others.values()), strict=True))


def _touched(book: Book) -> Iterator[str]:
    """The keys that the entries which were applied touch: who settled something may count now, or no longer."""
    yield from (key for key, _ in book.tracks.written)
    for entry_id in book.worked:
        if (place := book.places[entry_id]) is not None:
            yield from place.keys


def settle_findings(book: Book, findings: Iterable[Finding]) -> list[Settled]:
    """How each finding stands, in their order. Two of one key rest on entries of their own, and may stand differently."""
    findings = list(findings)
    book.tracks.prepare_last(settlement_key(finding.key) for finding in findings)
    return [
        settle(
            finding,
            cast(SettlementState, book.tracks.last(settlement_key(finding.key))),
            book.register,
            book.signed,
        )
        for finding in findings
    ]


def _journal(
    log: store.LogHead, gone: list[StoredFinding], standing: set[str], *, arrival: Moment | None, now: int
) -> None:
    insert_rows(
        "INSERT INTO custody_withdrawn (log_id, key, withdrawn_by, withdrawn_at, body) VALUES {}",
        [
            (log.id, each.finding.key, arrival.entry if arrival else "", now, dump_state(each.finding))
            for each in gone
            if each.finding.shown_from <= now and each.finding.key not in standing
        ],
    )


def read_latest_findings(log: store.LogHead, election: str, *, until: int, most: int) -> list[StoredFinding]:
    """The rows of the `most` keys whose open rows arose last, no later than `until`, in one election."""
    sql = (
        "SELECT key FROM custody_findingrow WHERE log_id = %s AND status = 'open' AND at <= %s AND election = %s"
        " GROUP BY key ORDER BY MAX(at) DESC, key LIMIT %s"
    )
    with connection.cursor() as cursor:
        cursor.execute(sql, [log.id, until, election, most])
        keys = [key for (key,) in cursor.fetchall()]
    return [each for each in _rows(log, "key", keys) if each.finding.shown_from <= until]


def _rows(log: store.LogHead, column: str, wanted: Iterable[str]) -> list[StoredFinding]:
    sql = f"SELECT {', '.join(COLUMNS)} FROM custody_findingrow WHERE log_id = %s AND {column} IN ({{}})"  # noqa: S608
    return [stored_finding(row) for row in query_in(sql, (log.id,), wanted)]


def stored_finding(row: tuple[Any, ...]) -> StoredFinding:
    scope, status, settled_by, settled_at, referred_by, body = row
    by = Moment(settled_at, settled_by) if settled_by and status != "open" else None
    referred = Moment(settled_at, referred_by) if referred_by else None
    finding: Finding = load_dataclass(Finding, body)
    return StoredFinding(scope=scope, finding=finding, settled=Settled(status=status, by=by, referred=referred))


def finding_row(log: store.LogHead, scope: str, finding: Finding, settled: Settled) -> tuple[Any, ...]:
    moment = settled.by or settled.referred
    return (
        log.id,
        scope,
        finding.key,
        finding.rule,
        finding.severity.value,
        finding.at,
        finding.election,
        finding.site or "",
        settled.status,
        settled.by.entry if settled.by else "",
        moment.time if moment else None,
        settled.referred.entry if settled.referred else "",
        dump_state(finding),
    )
