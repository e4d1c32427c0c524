"""States over time: for each key the positions at which an entry touched it, and what it was after each.

A track may be loaded in part: `floor` is the position from which on it is complete. The memory of a whole replay and the
tables of a database are then one and the same to whoever asks: `Source` says how the missing part comes.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Protocol

from custody.domain.recorded import Position, Recorded
from custody.domain.states import State, empty_state

BEGINNING: Position = (-(2**63), "")
END: Position = (2**63 - 1, "~")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where an entry stands in the tracks: its position, and the keys it touched there."""

    position: Position
    keys: frozenset[str]


class Source(Protocol):
    """Where a book finds what it does not hold yet. Every answer is complete: an absent key or id is on no record."""

    def load_tracks(self, since: Mapping[str, Position]) -> Mapping[str, list[tuple[Position, State]]]:
        """For each key its last state before the position it stands with, if any, and all from there on, in order."""
        ...

    def load_entries(self, ids: Iterable[str]) -> Mapping[str, Recorded]:
        """Entries as their signers saw them."""
        ...

    def load_amenders(self, ids: Iterable[str]) -> Mapping[str, list[str]]:
        """For each entry the ids of the amendments that name it."""
        ...

    def load_places(self, ids: Iterable[str]) -> Mapping[str, Place]:
        """Where entries stood when they were last worked out."""
        ...


class Nothing:
    """The source of a book that is given all it needs: there is nothing more."""

    def load_tracks(self, since: Mapping[str, Position]) -> Mapping[str, list[tuple[Position, State]]]:
        return {}

    def load_entries(self, ids: Iterable[str]) -> Mapping[str, Recorded]:
        return {}

    def load_amenders(self, ids: Iterable[str]) -> Mapping[str, list[str]]:
        return {}

    def load_places(self, ids: Iterable[str]) -> Mapping[str, Place]:
        return {}


@dataclass(slots=True, kw_only=True)
class Track:
    """One key over time, complete from `floor` on; a state before the floor is the first of the list."""

    floor: Position
    positions: list[Position] = field(default_factory=list)
    states: dict[Position, State] = field(default_factory=dict)


class Tracks:
    """All tracks of one log that were looked at, and which positions of them were written or removed."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self.is_whole = isinstance(source, Nothing)
        self._tracks: dict[str, Track] = {}
        self._stored: dict[str, State] = {}
        self.written: set[tuple[str, Position]] = set()

    def prepare(self, keys: Iterable[str], since: Position) -> None:
        """Load many keys at once, so that a database is asked once."""
        self.prepare_each(dict.fromkeys(keys, since))

    def prepare_each(self, since: Mapping[str, Position]) -> None:
        """Load many keys at once, each from a position of its own."""
        wanted = {key: at for key, at in since.items() if (track := self._tracks.get(key)) is None or track.floor > at}
        if not wanted:
            return
        if self.is_whole:
            self._tracks.update((key, Track(floor=BEGINNING)) for key in wanted)
            return
        loaded = self._source.load_tracks(wanted)
        for key, at in wanted.items():
            known, touched = self._tracks.get(key), loaded.get(key, ())
            fresh = Track(floor=at)
            for position, state in touched:
                if known is None or position < known.floor:
                    fresh.positions.append(position)
                    fresh.states[position] = state
            if known is not None:
                fresh.positions = sorted({*fresh.positions, *known.positions})
                fresh.states |= known.states
            elif touched:
                self._stored[key] = touched[-1][1]
            self._tracks[key] = fresh

    def stored(self, key: str) -> State:
        """The last state of a key as the source had it, before anything was written here."""
        self._track(key, END)
        return self._stored.get(key) or empty_state(key)

    def _track(self, key: str, since: Position) -> Track:
        track = self._tracks.get(key)
        if track is None or track.floor > since:
            self.prepare((key,), since)
            track = self._tracks[key]
        return track

    def before(self, key: str, position: Position) -> State:
        """The state of a key before a position."""
        track = self._track(key, position)
        index = bisect_left(track.positions, position)
        return track.states[track.positions[index - 1]] if index else empty_state(key)

    def at(self, key: str, position: Position) -> State | None:
        """The state that the entry at this position left, or `None` when it does not touch the key."""
        return self._track(key, position).states.get(position)

    def after(self, key: str, position: Position) -> Position | None:
        """The next position that touches a key."""
        track = self._track(key, position)
        index = bisect_right(track.positions, position)
        return track.positions[index] if index < len(track.positions) else None

    def neighbours(self, key: str, position: Position) -> tuple[Position | None, Position | None]:
        """The positions that touch a key just before and just after this one."""
        track = self._track(key, position)
        index = bisect_left(track.positions, position)
        return (track.positions[index - 1] if index else None), self.after(key, position)

    def last(self, key: str) -> State:
        """The state of a key after everything on record."""
        return self.before(key, END)

    def known(self) -> list[str]:
        """Every key that was looked at, in order."""
        return sorted(self._tracks)

    def prepare_last(self, keys: Iterable[str]) -> None:
        """Load the last states of many keys at once."""
        self.prepare(keys, END)

    def all(self, key: str) -> list[tuple[Position, State]]:
        """Everything that touched a key, in custody order."""
        track = self._track(key, BEGINNING)
        return [(position, track.states[position]) for position in track.positions]

    def put(self, key: str, position: Position, state: State) -> None:
        track = self._track(key, position)
        if position not in track.states:
            insort(track.positions, position)
        track.states[position] = state
        self.written.add((key, position))

    def remove(self, key: str, position: Position) -> None:
        track = self._track(key, position)
        if track.states.pop(position, None) is not None:
            track.positions.remove(position)
        self.written.add((key, position))
