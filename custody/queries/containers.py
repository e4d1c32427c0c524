"""A container's log: every entry that names it, with what went in or out, its seals, its counts, and who signed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from custody import store
from custody.domain.entries import named_items
from custody.domain.parsing import dump_entry
from custody.domain.states import ItemState
from custody.domain.views import item_key
from custody.queries.history import get_history
from custody.queries.moments import look_at
from custody.queries.outstanding import Holder


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerLine:
    """One entry. `members` as amended; `seals` are the readings at this container alone; `signed` whose signatures are there.

    `people`, `items` and `site` are those of the line, for whoever needs their names.
    """

    entry: str
    at: int
    kind: str
    site: str | None
    members: Mapping[str, Any]
    items: tuple[str, ...]
    seals: tuple[Mapping[str, Any], ...]
    figures: Mapping[str, int]
    people: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerLog:
    """`contents` are codes of what lies in it now, by the record; `seals` its seals in place, by point."""

    item: str
    kind: str
    lines: tuple[ContainerLine, ...]
    contents: tuple[str, ...]
    seals: Mapping[str, str]
    holder: Holder | None


def get_container_log(log: store.LogHead, code: str, *, now: int) -> ContainerLog:
    """The log of a container by its code. Raises `CustodyError` as `get_history` does."""
    history = get_history(log, code, as_of=now)
    book = look_at(log, now).book()
    ids = [each.entry for each in history.events]
    book.prepare(ids)
    lines = []
    for event in history.events:
        recorded = book.effective(event.entry)
        if history.item not in named_items(recorded.entry):
            continue
        members = dump_entry(recorded.entry)
        moved = members.get("items", ()) if members.get("container") == history.item else ()
        lines.append(
            ContainerLine(
                entry=event.entry,
                at=event.at,
                kind=event.kind,
                site=event.site,
                members=members,
                items=tuple(moved),
                seals=tuple(each for each in members.get("seals", ()) if each["item"] == history.item),
                figures=members.get("figures", {}) if members.get("subject") == history.item else {},
                people=tuple(dict.fromkeys(book.register.keys[each.keyid].person for each in recorded.signatures)),
            )
        )
    state = cast(ItemState, book.tracks.last(item_key(history.item)))
    return ContainerLog(
        item=history.item,
        kind=history.kind,
        lines=tuple(lines),
        contents=tuple(sorted(state.contents)),
        seals=history.now.seals,
        holder=history.now.holder,
    )
