"""What has to come back from the polling places: one answer for the list on the wall and for the finding after the deadline.

An item is owed by a place since the entry that brought it there or showed it in use there, planned or not, and is back when a
desk or a vault received it or what it was in (`replay_returns.py` keeps that account in the item's state). Whether its kind
must be back at all is policy's, in the version in force at the return deadline.

The best written practice is the UK Electoral Commission's: nobody leaves until every box and packet is checked off, each
arrival timed. Whom to ring is not here: phone numbers of people are not on record.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import groupby

from custody.domain.recorded import Moment
from custody.domain.register import Register
from custody.domain.states import Holding, ItemState, Owed, State
from custody.domain.views import View
from custody.domain.vocabulary import ItemKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """One item that must be back in one election: owed by `site` since an entry, back by another or not yet."""

    item: str
    kind: ItemKind
    election: str
    site: str
    since: Moment
    back: Moment | None
    deadline: int

    @property
    def late_since(self) -> int | None:
        """The instant after which it was owed and not back though the deadline had passed; `None` when it came in time."""
        if self.back is not None and self.back.time <= self.deadline:
            return None
        return max(self.deadline, self.since.time)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outstanding:
    """An item not yet back: what it is, which place owes it, who holds it, since when, in what.

    `holder` is that of the outermost container around it, `holder.since` the entry by which they received it; `overdue` says
    that the return deadline has passed.
    """

    item: str
    kind: ItemKind
    election: str
    site: str
    owed_since: Moment
    holder: Holding | None
    container: str | None
    overdue: bool

    @property
    def since(self) -> Moment:
        """Since when its holder has had it; without a holder on record, since when it is owed."""
        return self.holder.since if self.holder else self.owed_since


def list_due(code: str, state: ItemState, register: Register) -> list[Due]:
    """Everything that an item is or was due for, one a election that the register knows.

    Of several places that owe it together, the one that came to do so last is named: that is where it was seen last. It
    is owed since the first of them did.
    """
    known = register.items.get(code)
    if known is None:
        return []
    found = []
    for owed in merge_owed(state):
        election = register.elections.get(owed.election)
        if election is None or not register.policies.at(election.return_deadline).items[known.kind].returned:
            continue
        found.append(
            Due(
                item=code,
                kind=known.kind,
                election=owed.election,
                site=owed.site,
                since=owed.since,
                back=owed.back,
                deadline=election.return_deadline,
            )
        )
    return found


def merge_owed(state: ItemState) -> list[Owed]:
    """What an item is or was owed, one a election: by the place that came to owe it last, since the first did."""
    merged = []
    for election, owed in groupby(sorted(state.owed, key=_by_election), key=_by_election):
        together = _together(list(owed))
        last = max(together, key=lambda each: (each.since, each.site))
        first = min(each.since for each in together)
        merged.append(Owed(election=election, site=last.site, since=first, back=last.back))
    return merged


def _by_election(owed: Owed) -> str:
    return owed.election


def _together(owed: list[Owed]) -> list[Owed]:
    """Those that stand or fall together: all that are still open or, if none is, all that the last receipt closed."""
    still = [each for each in owed if each.back is None]
    last = max((each.back for each in owed if each.back is not None), default=None)
    return still or [each for each in owed if each.back == last]


def outstanding(
    codes: Iterable[str],
    read: Callable[[str], State],
    register: Register,
    *,
    now: int,
    election: str | None = None,
    site: str | None = None,
) -> list[Outstanding]:
    """The items, of these, that are owed and not back at `now`; of one election or place, when given. By place, kind, code.

    `read` gives the state of a key after every entry up to `now`, as `Tracks.last` does.
    """
    world = View(read, register, register.policies.at(now))
    found = [
        Outstanding(
            item=code,
            kind=due.kind,
            election=due.election,
            site=due.site,
            owed_since=due.since,
            holder=world.holding(code),
            container=world.item(code).container,
            overdue=now > due.deadline,
        )
        for code in codes
        for due in list_due(code, world.item(code), register)
        if due.back is None and election in (None, due.election) and site in (None, due.site)
    ]
    return sorted(found, key=lambda each: (each.election, each.site, each.kind, each.item))
