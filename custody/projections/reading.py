"""The derived tables as the source of a book: what it asks for is loaded in one query a kind."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from operator import itemgetter
from typing import Any

from django.db import connection

from custody import store
from custody.domain.recorded import Position, Recorded
from custody.domain.state_codec import load_state
from custody.domain.states import State
from custody.domain.tracks import Place
from custody.models.derived import FOREVER
from custody.projections.recorded_lines import record_lines

CHUNK = 500
"""Values a query at most: within every engine's limit of parameters."""

_INTERVALS = (
    "SELECT version.key, version.time, version.entry_id, version.state FROM (VALUES {}) AS wanted"
    " CROSS JOIN custody_version AS version"
    " WHERE version.log_id = %s AND version.key = wanted.column1 AND version.until >= wanted.column2"
)


class Tables:
    """The tables of one log. `fresh` names entries that are known to be on no record yet, and are not looked for."""

    def __init__(self, log: store.LogHead, fresh: Iterable[str] = ()) -> None:
        self._log = log
        self._fresh = frozenset(fresh)

    def load_tracks(self, since: Mapping[str, Position]) -> Mapping[str, list[tuple[Position, State]]]:
        """The intervals that reach beyond each key's position: the one in which it falls, and all after it."""
        found: dict[str, list[tuple[Position, State]]] = {}
        wanted = [(key, min(position[0], FOREVER)) for key, position in since.items()]
        for start in range(0, len(wanted), CHUNK):
            chunk = wanted[start : start + CHUNK]
            marks = ", ".join(["(%s, %s)"] * len(chunk))
            with connection.cursor() as cursor:
                cursor.execute(_INTERVALS.format(marks), [*(value for pair in chunk for value in pair), self._log.id])
                for key, time, entry_id, state in cursor.fetchall():
                    found.setdefault(key, []).append(((time, entry_id), load_state(key, state)))
        # Sorted here: asked for an order, SQLite takes the index that has it, and walks through all that was before.
        for touched in found.values():
            touched.sort(key=itemgetter(0))
        return found

    def load_entries(self, ids: Iterable[str]) -> Mapping[str, Recorded]:
        """Entries from the log's own lines."""
        wanted = [each for each in ids if each not in self._fresh]
        if not wanted:
            return {}
        return {entry_id: record_lines(lines) for entry_id, lines in store.lines_of_entries(self._log, wanted).items()}

    def load_amenders(self, ids: Iterable[str]) -> Mapping[str, list[str]]:
        """The amendments of each entry."""
        found: dict[str, list[str]] = {}
        for target, entry_id in query_in(
            "SELECT target, entry_id FROM custody_amendment WHERE log_id = %s AND target IN ({})", (self._log.id,), ids
        ):
            found.setdefault(target, []).append(entry_id)
        return found

    def load_places(self, ids: Iterable[str]) -> Mapping[str, Place]:
        """Where entries stand, from the rows of the entries on record."""
        wanted = [each for each in ids if each not in self._fresh]
        return {
            entry_id: Place(position=(time, entry_id), keys=frozenset(json.loads(keys)))
            for entry_id, time, keys in query_in(
                "SELECT entry_id, time, keys FROM custody_onrecord WHERE log_id = %s AND entry_id IN ({})",
                (self._log.id,),
                wanted,
            )
        }


def query_in(sql: str, values: Sequence[Any], wanted: Iterable[str]) -> Iterator[tuple[Any, ...]]:
    """The rows of `sql`, in which `{}` stands for the marks of `wanted`, asked for in chunks."""
    pending = list(dict.fromkeys(wanted))
    for start in range(0, len(pending), CHUNK):
        chunk = pending[start : start + CHUNK]
        with connection.cursor() as cursor:
            cursor.execute(sql.format(", ".join(["%s"] * len(chunk))), [*values, *chunk])
            yield from cursor.fetchall()
