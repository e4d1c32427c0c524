"""The end of a thing's life: not before its time, not unlooked at, and not after it.

Retention is counted in calendar months from election day (52 U.S.C. 20701: 22 months after a federal election); local law
may ask for more, which is policy. A legal hold stops disposal whatever the date.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from custody.domain.acts import Act
from custody.domain.entries import Dispose, Handoff, Pack, Seal, Unpack, Unseal
from custody.domain.entry_findings import entry_finding
from custody.domain.findings import Finding, Severity
from custody.domain.instants import add_months, local_date
from custody.domain.register import Election
from custody.domain.states import HeldBack
from custody.domain.vocabulary import ItemKind


def retention_date(election: Election, months: int) -> date:
    """The first day on which what was used in an election may go: as many calendar months after election day."""
    return add_months(date.fromisoformat(election.date), months)


def disposed_early(act: Act) -> Iterator[Finding]:
    """Controlled things or envelopes are disposed of before their retention date, or while a legal hold is in place.

    What the record has inside them counts, named or not: whoever destroys a bag destroys what is in it. The date is the
    latest of the elections that a thing was named in before (of none: the election of this entry), by the calendar of
    that election's time zone; the day itself is allowed. A hold that names a thing, or a container around it, protects
    it whatever its kind. Source: 52 U.S.C. 20701; holds: common practice, no published source.
    """
    entry = act.entry
    if not isinstance(entry, Dispose):
        return
    early: dict[str, date] = {}
    held: dict[str, str] = {}
    holds = [hold for hold in act.was.holds().holds if not hold.over]
    codes = dict.fromkeys([*act.found.with_contents(entry.items), *act.was.with_contents(entry.items)])
    for code in codes:
        kept = _is_kept(act, code)
        elections = act.was.item(code).elections or (entry.election,)
        if kept and (until := _kept_until(act, elections)) is not None:
            early[code] = until
        around = {code, *act.was.around(code)}
        for hold in holds:
            named = around.intersection(hold.items).difference(hold.lifted)
            if code not in hold.lifted and (named or (kept and _covers_all(hold, elections))):
                held[code] = hold.by.entry
    if not early and not held:
        return
    params: dict[str, Any] = {}
    if early:
        params |= {"until": max(early.values()).isoformat(), "early": sorted(early)}
    if held:
        params |= {"held": sorted(held), "holds": sorted(set(held.values()))}
    variant = "hold" if not early else "both" if held else ""
    items = [*early, *held]
    yield entry_finding(act, "disposed-early", Severity.CRITICAL, variant=variant, items=items, **params)


def _is_kept(act: Act, code: str) -> bool:
    """Whether a thing is of those that must be kept, by what it is and what the record had in it."""
    return act.was.kind(code) is ItemKind.ENVELOPE or act.was.is_controlled(code)


def _covers_all(hold: HeldBack, elections: Iterable[str]) -> bool:
    return not hold.items and hold.election in elections


def _kept_until(act: Act, elections: Iterable[str]) -> date | None:
    """The latest retention date of these elections that has not come yet; elections on no register have none."""
    known = (act.register.elections[each] for each in elections if each in act.register.elections)
    dates = ((each, retention_date(each, act.policy.retention_months)) for each in known)
    return max((until for each, until in dates if local_date(act.recorded.time, each.timezone) < until), default=None)


def disposed_unchecked(act: Act) -> Iterator[Finding]:
    """A ballot container is disposed of and was not shown empty since somebody last sealed, unsealed, packed or counted it.

    Source: common practice, no published source.
    """
    if not isinstance(act.entry, Dispose):
        return
    items = [
        code
        for code in dict.fromkeys(act.entry.items)
        if act.found.kind(code) is ItemKind.BALLOT_CONTAINER and not act.found.item(code).shown_empty
    ]
    if items:
        yield entry_finding(act, "disposed-unchecked", Severity.WARNING, items=items)


def after_disposal(act: Act) -> Iterator[Finding]:
    """An entry hands over, packs, unpacks, seals or unseals a thing that the record has as destroyed.

    Source: common practice, no published source.
    """
    entry = act.entry
    match entry:
        case Handoff():
            codes = act.found.with_contents(entry.items)
        case Pack() | Unpack():
            codes = [entry.container, *act.found.with_contents(entry.items)]
        case Seal() | Unseal():
            codes = [reading.item for reading in entry.seals]
        case _:
            return
    items = [code for code in codes if act.was.item(code).destroyed is not None]
    if items:
        yield entry_finding(act, "after-disposal", Severity.CRITICAL, items=items)


DISPOSAL_ENTRY_RULES = (disposed_early, disposed_unchecked, after_disposal)
