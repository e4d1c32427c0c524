"""Who held a thing when it was handled: rules about holders, purposes, times, and what was reported lost.

A holder is whoever last received the thing or the outermost container around it, by any handoff on record, signed or not.
The rules compare names with names: they say that the record has a gap, never why.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import assert_never

from custody.domain.acts import Act
from custody.domain.entries import (
    Access,
    Amend,
    Count,
    Dispose,
    Entry,
    Handoff,
    Hold,
    Incident,
    Inspect,
    Pack,
    Register,
    Resolve,
    Seal,
    Step,
    Unpack,
    Unseal,
)
from custody.domain.entry_findings import entry_finding
from custody.domain.findings import Finding, Severity
from custody.domain.parties import Party
from custody.domain.scopes import ItemLife
from custody.domain.vocabulary import DESK_ROLES, Purpose, Role, UnsealReason


def custody_gap(act: Act) -> Iterator[Finding]:
    """The people who hand over, pack, unpack, seal, unseal or dispose of a thing share nobody with its holders.

    Of what nobody held on record yet there is no finding. A technician at service is excepted: see `_in_service`.
    Source: common practice, no published source.
    """
    party, codes = _handled(act.entry)
    if party is None:
        return
    people = set(party.people)
    apart: list[str] = []
    for code in dict.fromkeys(codes):
        holders = act.found.holders(code, act.entry.election)
        if holders and people.isdisjoint(holders) and not _in_service(act, party, code):
            apart.append(code)
    if not apart:
        return
    held = (act.found.holding(code) for code in apart)
    holders_named = {person for holding in held if holding is not None for person in holding.people}
    yield entry_finding(
        act,
        "custody-gap",
        Severity.CRITICAL,
        variant="handoff" if isinstance(act.entry, Handoff) else "",
        items=apart,
        people=people | holders_named,
        doers=sorted(people),
        holders=sorted(holders_named),
    )


def _handled(entry: Entry) -> tuple[Party | None, tuple[str, ...]]:
    """Who handles which things by this entry, as far as only a holder may."""
    match entry:
        case Handoff():
            return entry.release, entry.items
        case Pack() | Unpack():
            return entry.by, (entry.container, *entry.items)
        case Seal() | Unseal():
            return entry.by, tuple(reading.item for reading in entry.seals)
        case Dispose():
            return entry.by, entry.items
        case Register() | Inspect() | Count() | Step() | Access() | Incident() | Hold() | Amend() | Resolve():
            return None, ()
        case _:
            assert_never(entry)


def _in_service(act: Act, party: Party, code: str) -> bool:
    """Whether a technician handles what he has in service: the thing that he unsealed for it, and what is in that.

    Service lasts from his unseal with that reason until his seal after which no point of the thing is open, both
    included; what he packs into it is in it.
    """
    entry = act.entry
    if party.role is not Role.TECHNICIAN or not isinstance(entry, Pack | Unpack | Seal | Unseal):
        return False
    within = [code, *act.found.around(code)]
    if isinstance(entry, Pack | Unpack):
        within += [entry.container, *act.found.around(entry.container)]
    if isinstance(entry, Unseal) and entry.reason is UnsealReason.SERVICE:
        opened = {reading.item for reading in entry.seals}
        return not opened.isdisjoint(within)
    return any(not set(party.people).isdisjoint(act.found.item(each).service) for each in within)


def broken_pair(act: Act) -> Iterator[Finding]:
    """A controlled thing is handed over by some of its holders and not by others: one of the pair left on the way.

    A `relieve` is how one leaves on record, and is no finding itself. What a desk holds (`DESK_ROLES`) is held by
    everybody assigned there, shift after shift, and is passed over. Source: common practice, no published source; the
    pair itself is Colorado Election Rules, Rule 20.
    """
    entry = act.entry
    if not isinstance(entry, Handoff) or entry.purpose is Purpose.RELIEVE:
        return
    releasing = set(entry.release.people)
    items: list[str] = []
    left: set[str] = set()
    for code in dict.fromkeys(entry.items):
        holding = act.found.holding(code)
        if holding is None or holding.role in DESK_ROLES:
            continue
        absent = set(holding.people) - releasing
        if absent and not releasing.isdisjoint(holding.people) and act.found.is_or_holds_controlled(code):
            items.append(code)
            left |= absent
    if items:
        yield entry_finding(act, "broken-pair", Severity.WARNING, items=items, people=left)


def wrong_purpose(act: Act) -> Iterator[Finding]:
    """The roles at the two ends are none that policy's routes join for this purpose."""
    entry = act.entry
    if not isinstance(entry, Handoff):
        return
    giver, taker = entry.release.role, entry.receive.role
    if not act.policy.route_fits(entry.purpose, giver, taker):
        yield entry_finding(
            act,
            "wrong-purpose",
            Severity.NOTICE,
            purpose=entry.purpose.value,
            giver=giver.value,
            taker=taker.value,
        )


def late_entry(act: Act) -> Iterator[Finding]:
    """An entry reached the log longer after its time than policy allows, and is no transcription of a paper form."""
    hours = act.policy.late_entry_hours
    if act.entry.paper is None and act.recorded.received - act.recorded.time > hours * 3600:
        yield entry_finding(act, "late-entry", Severity.NOTICE, hours=hours)


def clock_ahead(act: Act) -> Iterator[Finding]:
    """An entry says a time, as amended, that lies further after its receipt than policy allows."""
    minutes = act.policy.clock_minutes_ahead
    if act.entry.at - act.recorded.received > minutes * 60:
        yield entry_finding(act, "clock-ahead", Severity.WARNING, minutes=minutes)


def lost(life: ItemLife) -> Iterator[Finding]:
    """A thing was reported lost, and no `found` and no handoff that names it has come after: standing until one does."""
    report = life.state.lost
    if report is None:
        return
    yield Finding(
        rule="lost",
        scope=(life.code,),
        severity=Severity.CRITICAL,
        at=report.since.time,
        election=report.election,
        site=report.site,
        entries=(report.since.entry,),
        items=(life.code,),
        message="lost",
        params={"items": [life.code]},
        began=report.since,
        cleared=report.ended,
    )


CUSTODY_ENTRY_RULES = (custody_gap, broken_pair, wrong_purpose, late_entry, clock_ahead)
CUSTODY_ITEM_RULES = (lost,)
