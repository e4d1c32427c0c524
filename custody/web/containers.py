"""A container's log, which prints as a certificate: what was in it when, under which seals, and who signed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from custody import clock
from custody.errors import CustodyError
from custody.paper.qr import make_dense_symbol, make_symbol
from custody.queries.container import ContainerEntry, ContainerLog, get_container_log, is_container
from custody.queries.findings import Wanted
from custody.queries.names import ItemName
from custody.queries.rights import is_own_item
from custody.queries.shown import Shown
from custody.services.sign_checkpoint import sign_checkpoint
from custody.web.access import entries_seen, findings_seen, may_see_people, own_only, page
from custody.web.codes import CodePicture, draw_code
from custody.web.facts import heading
from custody.web.listing import Named, find_findings, name_all

NAMED = 12
"""So many things that went in or out are named in a line; the entry's own page has them all."""
SEAL_WORDS = {"applied": _("put on"), "read": _("read"), "removed": _("taken off")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One entry as a row: its heading, things named and how many more, seals with what was done to them."""

    entry: ContainerEntry
    what: str
    into: Sequence[str]
    out: Sequence[str]
    more: int
    seals: Sequence[tuple[str | Promise, str, str | None, str]]
    signed: Mapping[str, bool]

    @property
    def tells(self) -> bool:
        """Whether it says anything of contents, seals or figures."""
        return any((self.into, self.out, self.seals, self.entry.figures, self.entry.void))


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckpointShown:
    """What the log was when a certificate was made: lines, root hash in base64, and the signed note as a QR code."""

    size: int
    root: str
    picture: CodePicture


@page
def show_container(request: HttpRequest, shown: Shown, code: str) -> HttpResponse:
    if shown.log is None:
        raise Http404(code)
    try:
        record = get_container_log(shown.log, code, as_of=shown.now)
    except CustodyError as error:
        raise Http404(error.detail) from error
    own_only(request, own=lambda standing: is_own_item(standing, shown, record.code, record.now.holder))
    if record.kind and not is_container(record.kind):
        return redirect("item", code=record.code)
    found = findings_seen(request, find_findings(shown, Wanted(item=record.code)))
    mentioned = Named(items=(record.code, *record.codes))
    rows = [mentioned, record.now, *record.entries, *found]
    names = name_all(shown, rows, personal=may_see_people(request, shown))
    item = names.items.get(record.code) or ItemName(code=record.code)
    context = {
        "shown": shown,
        "section": "items",
        "now": shown.now,
        "names": names,
        "item": item,
        "record": record,
        "current": record.now,
        "seals_now": [(point, record.now.seals.get(point)) for point in _points(item, record)],
        "lines": [_line(each) for each in record.entries],
        "findings": found,
        "opened": entries_seen(request, shown, [each.entry for each in record.entries]),
        "label": draw_code(make_symbol(f"HTTPS://{request.get_host().upper()}/Q/{record.code}")),
        "checkpoint": _read_checkpoint(sign_checkpoint(shown.log, now=clock.now())),
    }
    return render(request, "containers/container.html", context)


def _read_checkpoint(note: str) -> CheckpointShown:
    """A signed note, whose first three lines are origin, size and root hash (C2SP tlog-checkpoint)."""
    _origin, size, root = note.split("\n", 3)[:3]
    return CheckpointShown(size=int(size), root=root, picture=draw_code(make_dense_symbol(note)))


def _points(item: ItemName, record: ContainerLog) -> list[str]:
    """Every seal point of the register, and any other that has a seal."""
    return list(dict.fromkeys([*item.seal_points, *record.now.seals]))


def _line(entry: ContainerEntry) -> Line:
    into, out = entry.into[:NAMED], entry.out[:NAMED]
    return Line(
        entry=entry,
        what=heading(entry.kind, entry.said),
        into=into,
        out=out,
        more=len(entry.items) - len(into) - len(out),
        seals=[(SEAL_WORDS[each.what], each.point, each.number, each.state) for each in entry.seals],
        signed={person: person in entry.signed for person in dict.fromkeys(entry.people)},
    )
