"""What anybody may know of the record: counts, places in, checkpoints. Nobody's name, code or number stands in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from custody import store
from custody.models.register import Site
from custody.queries.findings import list_findings
from custody.queries.outstanding import list_outstanding
from custody.queries.places import CurrentElection, get_current_election, list_active_places


@dataclass(frozen=True, slots=True, kw_only=True)
class PublicPlace:
    """A polling place: everything that it owed is back, or some things are not."""

    name: str
    owed: int

    @property
    def is_in(self) -> bool:
        return not self.owed


@dataclass(frozen=True, slots=True, kw_only=True)
class PublicView:
    """`findings` are those open, by severity, but for those that are `waiting`; `checkpoints` the latest first."""

    election: CurrentElection | None
    places: tuple[PublicPlace, ...]
    owed: int
    entries: int
    findings: Mapping[str, int]
    waiting: int
    checkpoints: tuple[store.StoredCheckpoint, ...]

    @property
    def places_in(self) -> int:
        return sum(each.is_in for each in self.places)


MOST_CHECKPOINTS = 10


def get_public_view(log: store.LogHead, *, now: int) -> PublicView:
    """The view of the election that is on; its findings are those of the whole record, as on the start page."""
    election = get_current_election(log)
    code = election.code if election else None
    owed = Counter(each.site for each in list_outstanding(log, now=now, election=code))
    active = list_active_places(log, election.code) if election else set()
    names = dict(
        Site.objects.filter(jurisdiction=log.jurisdiction, code__in=active | set(owed)).values_list("code", "name")
    )
    places = (PublicPlace(name=names.get(site, site), owed=owed[site]) for site in active | set(owed))
    found = list_findings(log, now=now)
    return PublicView(
        election=election,
        places=tuple(sorted(places, key=lambda each: each.name)),
        owed=owed.total(),
        entries=log.size,
        findings=Counter(each.finding.severity.value for each in found if not each.waiting),
        waiting=sum(each.waiting for each in found),
        checkpoints=tuple(store.last_checkpoints(log, MOST_CHECKPOINTS)),
    )
