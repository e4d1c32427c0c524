"""Rules about seals as they are read: the number found is the number last put on at that point, whole and holding.

A difference is reported as what it is, a difference: a digit misread at midnight looks the same as a seal exchanged.
The replay says what a reading came to (`Act.reads`); these rules turn that into findings. Numbers that are put on are in
`seal_numbers.py`, those that were issued to a polling place and never seen again in `seal_stock.py`.

Source: seal position and number on record, tug and twist are common practice of the trade, no published source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from custody.domain.acts import Act, PointRead, origin_of
from custody.domain.entries import Handoff, readings
from custody.domain.entry_findings import entry_finding
from custody.domain.findings import Finding, Severity
from custody.domain.vocabulary import CONTAINER_KINDS, ItemKind, Purpose, Role, SealState


def seal_mismatch(act: Act) -> Iterator[Finding]:
    """A reading shows a number that is not the one in place, or a number where the record has no seal. One per point.

    Readings of one point in one entry that differ from one another are one mismatch. It clears when a later reading
    shows the number in place before it again, with no seal or unseal entry between; the replay keeps that clearing.
    """
    for read in act.reads:
        if read.mismatch:
            yield entry_finding(
                act,
                "seal-mismatch",
                Severity.CRITICAL,
                more_scope=(read.item, read.point),
                variant=_mismatch_variant(act, read),
                items=[read.item],
                seals=[*read.numbers, *filter(None, [read.expected])],
                item=read.item,
                point=read.point,
                expected=read.expected or "",
                numbers=list(read.numbers),
            )


def _mismatch_variant(act: Act, read: PointRead) -> str:
    """Which words fit: two readings in one entry, no seal on record, another maker's number, or the plain case."""
    times = sum((each.item, each.point) == (read.item, read.point) for each in readings(act.entry))
    if len(read.numbers) > 1 or read.number is None or (read.number == read.expected and times > 1):
        return "differ"
    if read.expected is None:
        return "none"
    return "maker" if read.number == read.expected else ""


def seal_not_intact(act: Act) -> Iterator[Finding]:
    """A reading shows a seal damaged, not holding, missing or unreadable where the record has one in place.

    One per item, point, number and state, however often it is read: the number in place after the entry's readings, for
    `missing` the one before. "Not holding" is the seal that is whole but gives under tug and twist: published audits
    tell of seals found intact and holding nothing.
    """
    for read in act.reads:
        for number, state in read.faults:
            yield Finding(
                rule="seal-not-intact",
                scope=(read.item, read.point, number, state),
                severity=Severity.CRITICAL,
                at=act.moment.time,
                election=act.entry.election,
                site=act.entry.site,
                origin=origin_of(act, [read.item]),
                entries=(act.recorded.id,),
                items=(read.item,),
                seals=(number,),
                message=f"seal-not-intact.{SealState(state).value}",
                params={"item": read.item, "point": read.point, "number": number},
            )


def seal_unread(act: Act) -> Iterator[Finding]:
    """An item named in a handoff, and not inside a container, has a seal in place that the handoff does not read.

    What lies in a container cannot be read at the door, and is vouched for by the seal around it.
    """
    entry = act.entry
    if not isinstance(entry, Handoff):
        return
    read = {(each.item, each.point) for each in entry.seals}
    unread = [
        (code, point)
        for code in dict.fromkeys(entry.items)
        if act.found.item(code).container is None
        for point in act.found.item(code).seals
        if (code, point) not in read
    ]
    if unread:
        yield entry_finding(
            act,
            "seal-unread",
            Severity.NOTICE,
            items=(code for code, _ in unread),
            points=[f"{code} ({point})" for code, point in sorted(unread)],
        )


def unsealed_transit(act: Act) -> Iterator[Finding]:
    """A handoff on the way back, into storage, or onward of what was at a polling place, carries something bare.

    Bare is what policy wants sealed and the record does not have sealed before this handoff's own readings; one that
    shows a `missing` to have been misread counts. Excepted are containers that were shown empty since they were last
    packed, unsealed or counted (or never were), and memory devices that were never in a scanner. Contents are looked at
    too, and go where their container goes; what is bare is named once, by its outermost container.
    """
    entry = act.entry
    if not isinstance(entry, Handoff):
        return
    bare: set[str] = set()
    for top in dict.fromkeys(entry.items):
        along = _wants_cover(act, entry, top)
        for code in (top, *act.found.inside(top)):
            if (along or _wants_cover(act, entry, code)) and _is_bare(act, code):
                bare.add(act.found.outermost(code))
    if bare:
        finding = entry_finding(act, "unsealed-transit", Severity.CRITICAL, items=bare)
        yield replace(finding, origin=origin_of(act, act.found.with_contents(bare)))


def _wants_cover(act: Act, entry: Handoff, code: str) -> bool:
    """Whether this handoff is one that an item must be sealed for."""
    if entry.purpose in (Purpose.RETURN, Purpose.STORE):
        return True
    leaves_place = act.is_polling_place(entry.release.site)
    if entry.purpose is Purpose.TRANSFER:
        was_there = any(election == entry.election for election, _ in act.found.item(code).places)
        if was_there or leaves_place:
            return True
    if entry.receive.role is Role.COURIER and leaves_place:
        return True
    return Role.COURIER in (entry.release.role, entry.receive.role) and act.found.item(code).travel is not None


def _is_bare(act: Act, code: str) -> bool:
    found, kind = act.found, act.found.kind(code)
    if not found.wants_seal(code) or found.is_sealed(code):
        return False
    if kind is ItemKind.MEMORY_DEVICE:
        return bool(found.item(code).in_scanner)
    return kind not in CONTAINER_KINDS or found.item(code).in_use


SEAL_RULES = (seal_mismatch, seal_not_intact, seal_unread, unsealed_transit)
