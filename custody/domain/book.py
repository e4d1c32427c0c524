"""The book of one log: everything worked out from its entries, and the one way of working it out.

`work_out` takes entries in any order of arrival, one by one or all at once, and leaves the same states and findings. An entry
is applied at its place in custody order. Whatever it changes there is compared with what stood there before, and the next
entry that reads a changed state is applied again, and so on until nothing changes: the cost of a late entry grows with what it
touches, not with the log. Findings of entries come from that same pass; those of journeys, places and items are worked out
afterwards, once each, from the states that it left.

A book without a source holds everything in memory (an audit, `--now` in the past, a rebuild); a book over a database loads
what it is asked for and remembers what it wrote (`custody.projections`).
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping

from custody.domain.acts import Act, changes, start_act
from custody.domain.amendments import amended_targets, apply_amendments
from custody.domain.entries import Amend, named_items
from custody.domain.evaluate import evaluate_scope, judge_act, prepare_scopes, scopes_of, stocks_by_handoff
from custody.domain.findings import Finding
from custody.domain.foresight import prepare_entries
from custody.domain.recorded import Position, Recorded
from custody.domain.register import Register
from custody.domain.replay import advance
from custody.domain.states import State
from custody.domain.tracks import Nothing, Place, Source, Tracks
from custody.domain.views import View

Scope = str
"""What a set of findings belongs to: `entry:ID`, `journey:ENTRY`, `place:ELECTION/SITE`, `item:CODE`, `stock:ELECTION/SITE`."""


class Book:
    """What is worked out from one log's entries. `findings` holds the scopes that were looked at, each with what it gave."""

    def __init__(self, register: Register, source: Source | None = None) -> None:
        self.register = register
        self._source: Source = source or Nothing()
        self.tracks = Tracks(self._source)
        self.findings: dict[Scope, tuple[Finding, ...]] = {}
        self.places: dict[str, Place | None] = {}
        self.worked: dict[str, Recorded] = {}
        self._signed: dict[str, Recorded | None] = {}
        self._amenders: dict[str, list[str]] = {}
        self._effective: dict[str, Recorded] = {}

    def prepare(self, ids: Iterable[str]) -> None:
        """Load entries, their amendments and where they stood, so that a database is asked once for all."""
        wanted = [each for each in dict.fromkeys(ids) if each not in self._signed or each not in self.places]
        if not wanted:
            return
        entries = self._source.load_entries([each for each in wanted if each not in self._signed])
        amenders = self._source.load_amenders([each for each in wanted if each not in self._amenders])
        places = self._source.load_places([each for each in wanted if each not in self.places])
        for each in wanted:
            self._signed.setdefault(each, entries.get(each))
            self._amenders.setdefault(each, list(amenders.get(each, ())))
            self.places.setdefault(each, places.get(each))

    def signed(self, entry_id: str) -> Recorded | None:
        """An entry as its signers saw it, or `None` when it is on no record."""
        self.prepare((entry_id,))
        return self._signed[entry_id]

    def amenders(self, entry_id: str) -> list[str]:
        """The amendments that name an entry, or that aim another one at it (`amended_targets`)."""
        self.prepare((entry_id,))
        return self._amenders[entry_id]

    def effective(self, entry_id: str) -> Recorded:
        """An entry on record, as its amendments have it."""
        if entry_id not in self._effective:
            self._effective |= apply_amendments(self._family([entry_id]))
        return self._effective[entry_id]

    def amended_by(self, entry_id: str) -> list[str]:
        """The amendments that name an entry, as they stand now, whether or not they change it."""
        others = (self.effective(each) for each in self._family([entry_id]))
        return [each.id for each in others if isinstance(each.entry, Amend) and each.entry.amends == entry_id]

    def take(self, arrivals: Iterable[Recorded]) -> list[str]:
        """Put new entries, or known ones with more signatures, on the book; the ids that must be worked out again."""
        arrivals = list(arrivals)
        self.prepare(each.id for each in arrivals)
        for recorded in arrivals:
            self._signed[recorded.id] = recorded
            for target in amended_targets(recorded.signed):
                known = self.amenders(target)
                if recorded.id not in known:
                    known.append(recorded.id)
        again = list(self._family(recorded.id for recorded in arrivals))
        for each in again:
            self._effective.pop(each, None)
        return again

    def _family(self, ids: Iterable[str]) -> dict[str, Recorded]:
        """These entries with all that hang together with them by amendments, as signed."""
        found: dict[str, Recorded] = {}
        waiting = list(ids)
        while waiting:
            each = waiting.pop()
            recorded = None if each in found else self.signed(each)
            if recorded is not None:
                found[each] = recorded
                waiting.extend(self.amenders(each))
                waiting.extend(amended_targets(recorded.signed))
        return found


def work_out(book: Book, ids: Iterable[str], scopes: Iterable[Scope] = ()) -> None:
    """Apply these entries at their places in custody order, and again whatever they change; look at `scopes` in any case.

    Afterwards `book.worked` holds every entry that was applied, `book.findings` every scope that was looked at, and
    `book.tracks.written` every state that was written or removed.
    """
    ids = list(ids)
    book.prepare(ids)
    waiting: list[tuple[Position, str]] = []
    for each in ids:
        old, new = book.places[each], book.effective(each).position
        waiting.append((min(old.position, new) if old else new, each))
    heapq.heapify(waiting)
    prepare_entries(book.register, book.tracks, map(book.effective, ids))
    foreseen, wanted = set(ids), set(scopes)
    while waiting:
        position, entry_id = heapq.heappop(waiting)
        while waiting and waiting[0] == (position, entry_id):
            heapq.heappop(waiting)
        recorded = book.effective(entry_id)
        if recorded.position > position:
            touched = _retract(book, entry_id, wanted)
            heapq.heappush(waiting, (recorded.position, entry_id))
        else:
            if entry_id not in foreseen:
                prepare_entries(book.register, book.tracks, (recorded,))
                foreseen.add(entry_id)
            touched = _apply(book, recorded, wanted)
            # What an entry asked of its signers is asked of whoever amends it: they are judged again with it.
            again = [] if isinstance(recorded.entry, Amend) else book.amended_by(entry_id)
            for each in again:
                heapq.heappush(waiting, (book.effective(each).position, each))
        for key, where in touched:
            following = book.tracks.after(key, where)
            if following is not None:
                heapq.heappush(waiting, (following, following[1]))
    prepare_scopes(book.register, book.tracks, wanted)
    for scope in sorted(wanted):
        book.findings[scope] = evaluate_scope(book.register, book.tracks, scope)


def _retract(book: Book, entry_id: str, scopes: set[Scope]) -> list[tuple[str, Position]]:
    """Take an entry out of the tracks where it stood; what it had touched."""
    old = book.places[entry_id]
    if old is None:
        return []
    for key in old.keys:
        stood = book.tracks.at(key, old.position)
        book.tracks.remove(key, old.position)
        scopes.update(scopes_of(book.register, key, stood, book.tracks.before(key, old.position)))
        if key.startswith("number:"):
            scopes.update(stocks_by_handoff(book.tracks, key))
    book.places[entry_id] = None
    return [(key, old.position) for key in sorted(old.keys)]


def _apply(book: Book, recorded: Recorded, scopes: set[Scope]) -> list[tuple[str, Position]]:
    """Apply one entry at its place; the keys and positions after which another state now holds than did before."""
    position, old = recorded.position, book.places[recorded.id]
    touched = [] if old is None or old.position == position else _retract(book, recorded.id, scopes)
    act = _act(book, recorded)
    advance(act)
    book.findings[f"entry:{recorded.id}"] = judge_act(act)
    new = changes(act)
    touched.extend(_write(book, recorded.id, position, new, scopes))
    book.worked[recorded.id] = recorded
    return touched


def _write(
    book: Book, entry_id: str, position: Position, new: Mapping[str, State], scopes: set[Scope]
) -> list[tuple[str, Position]]:
    """Write the states an entry leaves, and remove what it no longer touches; where another state now holds."""
    tracks, old = book.tracks, book.places[entry_id]
    old_keys = old.keys if old else frozenset()
    different = []
    for key in sorted(old_keys | new.keys()):
        before = tracks.before(key, position)
        stood = tracks.at(key, position) if key in old_keys else None
        stands = new.get(key)
        if stands is None:
            tracks.remove(key, position)
        elif stood != stands:
            tracks.put(key, position, stands)
        held, holds = stood or before, stands or before
        if held != holds:
            different.append((key, position))
        # A place hears of every entry that touches it, even when that changes no state.
        scopes.update(scopes_of(book.register, key, held, holds))
        if held != holds and key.startswith("number:"):
            scopes.update(stocks_by_handoff(tracks, key))
    book.places[entry_id] = Place(position=position, keys=frozenset(new))
    return different


def _act(book: Book, recorded: Recorded) -> Act:
    def before(key: str) -> State:
        return book.tracks.before(key, recorded.position)

    if not isinstance(recorded.entry, Amend):
        act = start_act(recorded, book.register, before)
        if recorded.amended_by:  # its amendments are judged by what it said as signed, too: note that as read
            act.was.with_contents(named_items(recorded.signed))
        return act
    if book.signed(recorded.entry.amends) is None:
        return start_act(recorded, book.register, before, void=True)
    target = book.effective(recorded.entry.amends)

    def before_target(key: str) -> State:
        return book.tracks.before(key, target.position)

    return start_act(
        recorded,
        book.register,
        before,
        target=target,
        target_was=View(before_target, book.register, book.register.policies.at(target.time)),
        void=recorded.id not in target.amended_by,
    )


def derive(entries: Iterable[Recorded], register: Register) -> Book:
    """The book of a whole log, or of any part of it, worked out in memory from nothing."""
    book = Book(register)
    work_out(book, book.take(entries))
    return book
