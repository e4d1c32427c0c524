"""Who held what at a moment: any time, any place, any person."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from custody import store
from custody.domain.instants import dump_instant
from custody.domain.state_codec import load_state
from custody.domain.states import Holding, ItemState
from custody.domain.views import View, item_key, person_key
from custody.models.derived import OnRecord, Version
from custody.models.register import Person, Site
from custody.queries.moments import Moment
from custody.queries.outstanding import Holder, holder_of

PREFIX = "item:"


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """An item in somebody's hands: since when (Unix seconds), by which entry, and in which container it lies, if in any."""

    item: str
    holder: Holder
    since: int
    entry: str
    container: str | None

    def as_json(self) -> dict[str, Any]:
        """The row as outside programs know it."""
        return {
            "item": self.item,
            "holder": self.holder.as_json(),
            "since": dump_instant(self.since),
            "entry": self.entry,
            "container": self.container,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Holds:
    """Which holdings are asked for: of a person, of whoever answers at a site, of one item; `None` for any."""

    person: str | None = None
    site: str | None = None
    item: str | None = None

    def fits(self, held: Held) -> bool:
        return (
            self.item in (None, held.item)
            and self.person in (None, *held.holder.people)
            and self.site in (None, held.holder.site)
        )


def is_known_place(log: store.LogHead, code: str) -> bool:
    """Whether a place is on the register, or anything on record was done there."""
    return (
        Site.objects.filter(jurisdiction=log.jurisdiction, code=code).exists()
        or OnRecord.objects.filter(log_id=log.id, site=code).exists()
    )


def is_known_person(log: store.LogHead, code: str) -> bool:
    """Whether a person is on the register, or had a part in anything on record."""
    return (
        Person.objects.filter(jurisdiction=log.jurisdiction, code=code).exists()
        or Version.objects.filter(log_id=log.id, key=person_key(code)).exists()
    )


def list_holdings(moment: Moment, asked: Holds = Holds()) -> list[Held]:
    """What was held at a moment, as far as it is asked for; by item. In one query, where the tables say it.

    What lies in a container is held by whoever received it last, it or the outermost container around it.
    """
    states = dict(_states(moment))
    view = View(
        lambda key: states.get(key.removeprefix(PREFIX), ItemState()),
        moment.register,
        moment.register.policies.at(moment.now),
    )
    found = []
    for code in sorted(states):
        holding = view.holding(code)
        if holding is not None:
            found.append(_held(code, states[code], holding))
    return list(filter(asked.fits, found))


def _states(moment: Moment) -> Iterator[tuple[str, ItemState]]:
    if moment.past is not None:
        for key in moment.past.tracks.known():
            if key.startswith(PREFIX):
                state = moment.past.tracks.last(key)
                assert isinstance(state, ItemState)
                yield key.removeprefix(PREFIX), state
        return
    rows = Version.objects.filter(
        log_id=moment.log.id, key__startswith=item_key(""), time__lte=moment.now, until__gt=moment.now
    )
    for key, text in rows.order_by("key", "time", "entry_id").values_list("key", "state").iterator():
        state = load_state(key, text)
        assert isinstance(state, ItemState)
        yield key.removeprefix(PREFIX), state


def _held(code: str, state: ItemState, holding: Holding) -> Held:
    holder = holder_of(holding)
    assert holder is not None
    return Held(
        item=code, holder=holder, since=holding.since.time, entry=holding.since.entry, container=state.container
    )
