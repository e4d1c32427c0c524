"""The election that a log is about, and how its polling places stand: everything back, or not."""

from __future__ import annotations

from dataclasses import dataclass

from custody import store
from custody.domain.vocabulary import SiteKind
from custody.models.derived import OnRecord, OwedRow, PlaceRow
from custody.models.register import Election, Site
from custody.queries.names import SITE_MEMBERS
from custody.queries.shown import Shown


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentElection:
    """An election; its schedule in Unix seconds."""

    code: str
    name: str
    date: str
    polls_close: int
    return_deadline: int


def get_current_election(log: store.LogHead) -> CurrentElection | None:
    """The election of the entry that was made last, if the register has it."""
    code = OnRecord.objects.filter(log_id=log.id).order_by("-time", "-entry_id").values_list("election").first()
    row = Election.objects.filter(code=code[0], jurisdiction=log.jurisdiction).first() if code else None
    if row is None:
        return None
    return CurrentElection(
        code=row.code,
        name=row.name,
        date=row.date,
        polls_close=row.polls_close,
        return_deadline=row.return_deadline,
    )


def find_election(shown: Shown) -> tuple[str, str] | None:
    """Code and name of the election that is on: that of the last entry, else the one whose things come back next."""
    current = get_current_election(shown.log) if shown.log else None
    if current is not None:
        return current.code, current.name
    rows = Election.objects.filter(jurisdiction=shown.jurisdiction, retired=False).values_list("code", "name")
    ahead = rows.filter(return_deadline__gte=shown.now).order_by("return_deadline", "code").first()
    return ahead or rows.order_by("-return_deadline", "code").first()


def list_active_places(log: store.LogHead, election: str) -> set[str]:
    """The polling places at which anything was done in an election, or that owe something back."""
    here = PlaceRow.objects.filter(log_id=log.id, election=election, last_here__isnull=False)
    owing = OwedRow.objects.filter(log_id=log.id, election=election)
    return {*here.values_list("site", flat=True), *owing.values_list("site", flat=True)}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceState:
    """A place as the register has it. Instants are `None` where nothing was done there in the election.

    `closed` is when its polls closed, or close by schedule.
    """

    site: str
    name: str
    kind: str
    address: str
    phone: str
    last_here: int | None = None
    closed: int | None = None


def list_places(jurisdiction: str, log: store.LogHead | None, election: str | None) -> list[PlaceState]:
    """Every place in service, polling places first, with how it stands in an election."""
    clocks: dict[str, tuple[int | None, int]] = {}
    if log is not None and election is not None:
        placed = PlaceRow.objects.filter(log_id=log.id, election=election).values_list("site", "last_here", "closed")
        clocks = {site: (last_here, closed) for site, last_here, closed in placed}
    rows = Site.objects.filter(jurisdiction=jurisdiction, retired=False).values_list(*SITE_MEMBERS)
    found = [_place(row, *clocks.get(row[0], (None, None))) for row in rows]
    return sorted(found, key=lambda each: (each.kind != SiteKind.POLLING_PLACE, each.kind, each.site))


def get_site(jurisdiction: str, code: str) -> PlaceState | None:
    """The place of that code, in service or not, or `None`."""
    row = Site.objects.filter(jurisdiction=jurisdiction, code=code).values_list(*SITE_MEMBERS).first()
    return _place(row) if row else None


def _place(row: tuple[str, ...], last_here: int | None = None, closed: int | None = None) -> PlaceState:
    code, name, kind, address, phone = row
    return PlaceState(site=code, name=name, kind=kind, address=address, phone=phone, last_here=last_here, closed=closed)
