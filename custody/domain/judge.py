"""How findings stand at a moment: open, resolved or cleared; and which of them are waiting for a phone that has no network."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from custody.domain.entries import ends, people_of
from custody.domain.findings import Finding
from custody.domain.recorded import Recorded
from custody.domain.register import Register
from custody.domain.states import Moment, Resolution, SettlementState
from custody.domain.vocabulary import Outcome

Status = Literal["open", "resolved", "cleared", "withdrawn"]

WAITING_RULES = frozenset(
    {
        "custody-gap",
        "broken-pair",
        "seal-mismatch",
        "seal-unread",
        "unsealed-transit",
        "contents-differ",
        "step-missing",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """How a finding stands: its status, the entry that made it so, and whether it was referred to somebody."""

    status: Status
    by: Moment | None = None
    referred: Moment | None = None


def settle(
    finding: Finding,
    settlement: SettlementState,
    register: Register,
    lookup: Callable[[str], Recorded | None],
) -> Settled:
    """The status of a finding, given everything that was said to settle it. `lookup` gives entries on record.

    A `resolve` counts when somebody signed it who is assigned one of policy's roles and is named in none of the entries that
    the finding rests on; of several the last counts, and `referred` leaves the finding open. For a standing finding it counts
    when it came after the state began, until that state ends. What put its cause right is known to the finding itself,
    or, where only the later entry shows it (a seal read again under its old number), to `settlement`.
    """
    if (cleared := finding.cleared or settlement.cleared) is not None:
        return Settled(status="cleared", by=cleared)
    if not settlement.resolutions:  # the usual case, in which nobody needs to be looked up
        return Settled(status="open")
    people = involved(finding, lookup)
    last: Resolution | None = None
    for said in settlement.resolutions:
        if finding.began is not None and said.by <= finding.began:
            continue
        if any(_may_resolve(person, said, register) for person in said.people if person not in people):
            last = said
    if last is None:
        return Settled(status="open")
    if last.outcome == Outcome.REFERRED:
        return Settled(status="open", referred=last.by)
    return Settled(status="resolved", by=last.by)


def involved(finding: Finding, lookup: Callable[[str], Recorded | None]) -> frozenset[str]:
    """The people who have a part in what a finding rests on, and so cannot settle it. `lookup` gives entries on record."""
    people: set[str] = set()
    for entry_id in finding.entries:
        if (recorded := lookup(entry_id)) is not None:
            people |= people_of(recorded.entry)
    if not finding.entries and finding.began is not None and (recorded := lookup(finding.began.entry)) is not None:
        people.update(person for _, party in ends(recorded.entry) for person in party.people)
    return frozenset(people)


def _may_resolve(person: str, said: Resolution, register: Register) -> bool:
    roles = register.policies.at(said.by.time).resolve_roles
    return any(role in roles for role, _ in register.roles.get((said.election, person), ()))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceClock:
    """What `waiting` needs of a polling place: when its polls closed, the last entry made there, the return deadline."""

    closed: int
    last_here: int | None
    deadline: int


def is_waiting(finding: Finding, settled: Settled, clocks: Mapping[tuple[str, str], PlaceClock], now: int) -> bool:
    """Whether an open finding most likely waits for entries from a place whose phone is offline."""
    if settled.status != "open" or finding.rule not in WAITING_RULES or finding.origin is None:
        return False
    clock = clocks.get((finding.election, finding.origin))
    if clock is None or now > clock.deadline:
        return False
    since = finding.at if finding.rule == "step-missing" else clock.closed
    return clock.last_here is None or clock.last_here <= since


def finding_order(finding: Finding) -> tuple[Any, ...]:
    """By time and key, and among findings of one key and time always in the same order, whatever was looked at first."""
    where = (finding.site or "", finding.origin or "")
    named = (finding.items, finding.people, finding.seals)
    return (finding.at, finding.key, finding.entries, *where, *named, finding.message)


def merge_findings(findings: Iterable[Finding]) -> list[Finding]:
    """One finding a key: where several scopes gave the same key, the earliest, naming what any of them names.

    It rests on the entry at which it arose; that the same was found again later adds nothing to that. Of two places that
    both give it at one limit, as for a device that both had at work, the first by its code is named.
    """
    merged: dict[str, Finding] = {}
    for finding in sorted(findings, key=finding_order):
        known = merged.get(finding.key)
        if known is None:
            merged[finding.key] = finding
            continue
        merged[finding.key] = replace(
            known,
            items=_union(known.items, finding.items),
            people=_union(known.people, finding.people),
            seals=_union(known.seals, finding.seals),
        )
    return list(merged.values())


def _union(one: tuple[str, ...], other: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(sorted({*one, *other}))
