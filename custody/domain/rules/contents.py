"""Rules about what lies in what: things that are elsewhere than on record, and containers opened while sealed.

The replay believes the entry and puts the record right (`Act.misplaced`); these rules report that it had to. What lies
in a place's set of containers and what its counts say is judged elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator

from custody.domain.acts import Act
from custody.domain.entries import Dispose, Pack, Step, Unpack
from custody.domain.entry_findings import entry_finding
from custody.domain.findings import Finding, Severity
from custody.domain.vocabulary import ItemKind


def contents_differ(act: Act) -> Iterator[Finding]:
    """The record has a thing in another container than the entry shows. One per entry.

    It is unpacked from a container that it was not packed in; or handed over, packed elsewhere or disposed of on its
    own while packed in a container that does not go with it; or a container is shown empty, or disposed of, while the
    record has something in it that the entry does not name. Published audits tell of bags packed anew without a word.
    From this entry on, and for its other checks, the thing counts as out of the container. What goes along inside
    another thing that the entry names is where it should be.
    """
    if not act.misplaced:
        return
    things = sorted({code for code, _ in act.misplaced})
    containers = sorted({container for _, container in act.misplaced})
    yield entry_finding(
        act,
        "contents-differ",
        Severity.CRITICAL,
        variant=_difference(act),
        items=[*things, *containers],
        things=things,
        containers=containers,
    )


def _difference(act: Act) -> str:
    """Which words fit: not in there, left in there, or not with what it is packed in."""
    entry = act.entry
    if isinstance(entry, Unpack):
        return "unpacked"
    if isinstance(entry, Dispose | Step) and any(container in entry.items for _, container in act.misplaced):
        return "left"
    return "apart"


def opened_while_sealed(act: Act) -> Iterator[Finding]:
    """A container is packed or unpacked while it, or a container around it, is sealed: a seal came off unrecorded."""
    entry = act.entry
    if not isinstance(entry, Pack | Unpack):
        return
    closed = [each for each in (entry.container, *act.found.around(entry.container)) if act.found.has_own_seals(each)]
    if not closed:
        return
    seals = {seal.number for each in closed for seal in act.found.item(each).seals.values()}
    yield entry_finding(
        act,
        "opened-while-sealed",
        Severity.CRITICAL,
        variant=entry.kind,
        items=[entry.container, *closed],
        seals=seals,
        container=entry.container,
        closed=sorted(closed),
    )


def second_device(act: Act) -> Iterator[Finding]:
    """A memory device is packed into a scanner that already holds one. One at a time, or no total can be trusted.

    A published state audit letter tells of a replacement device without a link to the first, and of 401 votes too many.
    """
    entry, found = act.entry, act.found
    if not isinstance(entry, Pack) or found.kind(entry.container) is not ItemKind.SCANNER:
        return
    held = {each for each in found.inside(entry.container) if found.kind(each) is ItemKind.MEMORY_DEVICE}
    added = {each for each in entry.items if found.kind(each) is ItemKind.MEMORY_DEVICE} - held
    devices = sorted(held | added)
    if not added or len(devices) < 2:
        return
    yield entry_finding(
        act,
        "second-device",
        Severity.WARNING,
        items=[entry.container, *devices],
        scanner=entry.container,
        devices=devices,
    )


CONTENT_RULES = (contents_differ, opened_while_sealed, second_device)
