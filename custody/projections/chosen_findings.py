"""Findings as they are asked for: chosen in the database, by key, and told apart in full here.

Several rows may have one key, and are one finding that names what any of them names. So a row says no more than that its
key may be wanted; all rows of such a key are read, and `Wanted.fits` is asked of what they come to.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Q

from custody import store
from custody.domain.findings import Finding
from custody.domain.judge import Settled
from custody.domain.state_codec import load_dataclass
from custody.domain.states import Moment
from custody.models.derived import FindingRow, Withdrawn
from custody.projections.findings import COLUMNS, StoredFinding, stored_finding
from custody.projections.reading import CHUNK

OPEN = frozenset({"open"})
WITHDRAWN = frozenset({"withdrawn"})
EVERYTHING = frozenset({"open", "resolved", "cleared", "withdrawn"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which findings are asked for; what is `None` is not asked about. `site` is where it arose.

    `place` is that, or the polling place that its items came from.
    """

    key: str | None = None
    election: str | None = None
    site: str | None = None
    place: str | None = None
    rule: str | None = None
    severity: str | None = None
    item: str | None = None
    person: str | None = None
    entry: str | None = None
    seal: str | None = None
    statuses: frozenset[str] = OPEN

    def fits(self, finding: Finding, status: str) -> bool:
        return (
            status in self.statuses
            and self.key in (None, finding.key)
            and self.election in (None, finding.election)
            and self.site in (None, finding.site)
            and self.place in (None, finding.site, finding.origin)
            and self.rule in (None, finding.rule)
            and self.severity in (None, finding.severity.value)
            and self.item in (None, *finding.items)
            and self.person in (None, *finding.people)
            and self.entry in (None, *finding.entries)
            and self.seal in (None, *finding.seals)
        )

    def named(self) -> Iterator[Q]:
        """For each code that a finding must name: the rows whose text has it somewhere, as JSON quotes it."""
        for code in filter(None, (self.place, self.item, self.person, self.entry, self.seal)):
            yield Q(body__contains=json.dumps(code, ensure_ascii=False))


def read_findings(log: store.LogHead, wanted: Wanted, *, until: int) -> list[StoredFinding]:
    """All rows of every key that may be wanted, of those that arise no later than `until`."""
    rows = FindingRow.objects.filter(log_id=log.id, at__lte=until)
    chosen = rows
    if wanted.key is not None:
        chosen = chosen.filter(key=wanted.key)
    if wanted.rule is not None:
        chosen = chosen.filter(rule=wanted.rule)
    for criterion in _columns(wanted):
        chosen = chosen.filter(key__in=rows.filter(criterion).values("key"))
    found = (stored_finding(row) for row in chosen.values_list(*COLUMNS).iterator())
    return [each for each in found if each.finding.shown_from <= until]


def _columns(wanted: Wanted) -> Iterator[Q]:
    """What the rows of one key may differ in: one condition each, since no single row has to meet all of them."""
    if wanted.statuses != EVERYTHING:
        yield Q(status__in=sorted(wanted.statuses))
    for name in ("election", "site", "severity"):
        if (value := getattr(wanted, name)) is not None:
            yield Q(**{name: value})
    yield from wanted.named()


def read_withdrawn(log: store.LogHead, wanted: Wanted, *, until: int) -> dict[str, tuple[Finding, Settled]]:
    """By key, what the journal has of findings that may be wanted and would have arisen no later than `until`.

    Of a finding that was withdrawn more than once the last time counts.
    """
    rows = Withdrawn.objects.filter(log_id=log.id)
    chosen = rows
    if wanted.key is not None:
        chosen = chosen.filter(key=wanted.key)
    if wanted.rule is not None:
        chosen = chosen.filter(key__startswith=f"{wanted.rule}/")
    for criterion in wanted.named():
        chosen = chosen.filter(key__in=rows.filter(criterion).values("key"))
    found: dict[str, tuple[Finding, Settled]] = {}
    for entry, time, body in chosen.order_by("id").values_list("withdrawn_by", "withdrawn_at", "body").iterator():
        finding: Finding = load_dataclass(Finding, body)
        if finding.shown_from <= until:
            found[finding.key] = (finding, Settled(status="withdrawn", by=Moment(time, entry) if entry else None))
    return found


def read_standing(log: store.LogHead, keys: list[str], *, until: int) -> set[str]:
    """Those of these keys under which there is a finding that arises no later than `until`."""
    found: set[str] = set()
    for start in range(0, len(keys), CHUNK):
        rows = FindingRow.objects.filter(log_id=log.id, at__lte=until, key__in=keys[start : start + CHUNK])
        stored = (stored_finding(row) for row in rows.values_list(*COLUMNS))
        found.update(each.finding.key for each in stored if each.finding.shown_from <= until)
    return found


def list_chosen_rules(log: store.LogHead) -> list[str]:
    """The rules that ever found anything, by code."""
    rows = FindingRow.objects.filter(log_id=log.id)
    return sorted(rows.values_list("rule", flat=True).distinct())


def list_chosen_sites(log: store.LogHead) -> list[str]:
    """The places where anything was found, by code."""
    rows = FindingRow.objects.filter(log_id=log.id).exclude(site="")
    return sorted(rows.values_list("site", flat=True).distinct())
