"""The election that a log is about, and how its polling places stand: everything back, or not."""

from __future__ import annotations

from dataclasses import dataclass

from custody import store
from custody.models.derived import OnRecord, OwedRow, PlaceRow
from custody.models.register import Election
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
