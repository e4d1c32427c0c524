"""The report at the end of a night: what is out and what was found, under the headings by which an office follows it up.

The lines are those of the commands `outstanding` and `findings` for that election, all of them and no others. A line goes
when an entry on record settles it, and in no other way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from custody import store
from custody.domain.vocabulary import ItemKind
from custody.models.night import FollowUp
from custody.queries.findings import ListedFinding, Wanted, choose_findings
from custody.queries.moments import look_at
from custody.queries.outstanding import OutstandingItem, outstanding_at
from custody.queries.places import CurrentElection, get_current_election


class Heading(StrEnum):
    """In the order of the report."""

    OUTSTANDING = "outstanding"
    KEYS = "keys"
    DIFFERING = "differing"
    UNSIGNED = "unsigned"
    UNOPENED = "unopened"
    TIMES = "times"
    OTHER = "other"


_RULES: dict[Heading, tuple[str, ...]] = {
    Heading.OUTSTANDING: ("lost", "set-short", "short-delivery", "slow-transit", "unreturned"),
    Heading.KEYS: ("key-with-lock",),
    Heading.DIFFERING: (
        "checkins-differ",
        "contents-differ",
        "count-differs",
        "counter-not-zero",
        "opened-while-sealed",
        "seal-elsewhere",
        "seal-mismatch",
        "seal-not-intact",
        "seal-over-seal",
        "seal-reused",
        "seal-unaccounted",
        "seal-unknown",
        "seal-unread",
        "seal-void-used",
        "second-device",
        "unsealed-transit",
    ),
    Heading.UNSIGNED: (
        "end-unsigned",
        "key-not-valid",
        "lone-access",
        "lone-custodian",
        "same-affiliation",
        "same-person-both-ends",
        "signer-missing",
        "tape-signers",
    ),
    Heading.UNOPENED: ("memory-left-in", "not-read-in", "unopened"),
    Heading.TIMES: (
        "broken-pair",
        "clock-ahead",
        "custody-gap",
        "late-entry",
        "step-missing",
        "step-out-of-order",
        "two-places",
    ),
    Heading.OTHER: (
        "after-disposal",
        "amend-void",
        "amended-by-others",
        "disposed-early",
        "disposed-unchecked",
        "not-assigned",
        "not-on-register",
        "wrong-purpose",
    ),
}
HEADINGS: dict[str, Heading] = {rule: heading for heading, rules in _RULES.items() for rule in rules}
"""Under which heading the findings of a rule stand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportLine:
    """One line: an item that is not back, or an open finding. `key` names it for good; `who` follows it up, empty for nobody."""

    key: str
    heading: Heading
    who: str
    thing: OutstandingItem | None = None
    found: ListedFinding | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NightReport:
    """All lines of an election at a moment; the log as it stood then: lines, and the root over them (hex).

    `signed` is the size of the last checkpoint that the log signed, and when; `None` if it never did.
    """

    election: CurrentElection
    lines: Sequence[ReportLine]
    origin: str
    size: int
    root: str
    signed: tuple[int, int] | None


def get_report(log: store.LogHead, *, now: int) -> NightReport | None:
    """The report of the election that is on; `None` as long as nothing is on record for one."""
    election = get_current_election(log)
    if election is None:
        return None
    moment = look_at(log, now)
    who = dict(FollowUp.objects.filter(jurisdiction=log.jurisdiction, log=log.name).values_list("key", "who"))
    lines = [
        ReportLine(
            key=(key := item_line(each)),
            heading=Heading.KEYS if each.kind == ItemKind.KEY_SET else Heading.OUTSTANDING,
            who=who.get(key, ""),
            thing=each,
        )
        for each in outstanding_at(moment, election=election.code, site=None)
    ]
    lines += [
        ReportLine(
            key=each.finding.key,
            heading=HEADINGS[each.finding.rule],
            who=who.get(each.finding.key, ""),
            found=each,
        )
        for each in choose_findings(moment, Wanted(election=election.code))
    ]
    order = list(Heading)
    checkpoint = store.latest_checkpoint(log)
    return NightReport(
        election=election,
        lines=sorted(lines, key=lambda each: order.index(each.heading)),
        origin=log.origin,
        size=log.size,
        root=store.root_of(log, log.size).hex(),
        signed=(checkpoint.size, checkpoint.created) if checkpoint else None,
    )


def item_line(item: OutstandingItem) -> str:
    """The key of the line of an item that is not back. No finding's key begins so."""
    return f"item/{item.election}:{item.item}"
