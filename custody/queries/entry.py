"""One entry as it stands on record: what it says, who signed it and whose signature counts, where it is in the log."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from custody import store
from custody.domain.book import Book
from custody.domain.entries import Amend, named_items, people_of
from custody.domain.parsing import dump_entry
from custody.domain.photos import photos_of
from custody.domain.recorded import Recorded, Signed, key_fault, signers
from custody.domain.register import Register
from custody.models.derived import OnRecord
from custody.projections.reading import Tables
from custody.projections.recorded_lines import record_lines
from custody.registers import get_register

Counts = Literal["counts", "key-not-valid", "not-named"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """One signature: whose, when it was received, and whether it counts: by a key that was valid, of somebody named."""

    person: str
    keyid: str
    received: int
    counts: Counts


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryOnRecord:
    """An entry, its members as JSON has them: `members` with amendments applied, `signed` as its signers saw it.

    `numbers` are those of all its lines, the first of which has `leaf` (hex). `at` is as amended, `time` its place in custody
    order. `missing` are people named at an end, whose signature is not there; `items` and `people` are those it names;
    `photos` those that it names or named before it was amended, by their SHA-256.
    """

    id: str
    kind: str
    members: Mapping[str, Any]
    signed: Mapping[str, Any]
    at: int
    time: int
    received: int
    numbers: tuple[int, ...]
    leaf: str
    signatures: tuple[Signature, ...]
    missing: tuple[str, ...]
    amended_by: tuple[str, ...]
    amends: str | None
    items: tuple[str, ...]
    people: tuple[str, ...]
    sites: tuple[str, ...]
    photos: frozenset[str]


def get_entry(log: store.LogHead, entry_id: str) -> EntryOnRecord | None:
    """The entry of that id, or `None` when the log has none."""
    lines = store.lines_of_entries(log, [entry_id]).get(entry_id)
    if not lines:
        return None
    register = get_register(log.jurisdiction)
    book = Book(register, Tables(log))
    recorded = book.effective(entry_id)
    entry = recorded.entry
    members = dump_entry(entry)
    signatures = tuple(_signature(recorded, each, register) for each in recorded.signatures)
    return EntryOnRecord(
        id=entry_id,
        kind=entry.kind,
        members=members,
        signed=dump_entry(recorded.signed),
        at=entry.at,
        time=recorded.time,
        received=recorded.received,
        numbers=tuple(line.seq for line in lines),
        leaf=lines[0].leaf.hex(),
        signatures=signatures,
        missing=tuple(sorted(_named(members) - signers(recorded, register))),
        amended_by=recorded.amended_by,
        amends=entry.amends if isinstance(entry, Amend) else None,
        items=tuple(code for code in named_items(entry) if code in register.items),
        people=tuple(sorted(_people(recorded, register))),
        sites=_sites(members),
        photos=photos_of(recorded.signed) | photos_of(entry),
    )


def get_line(log: store.LogHead, seq: int) -> dict[str, Any]:
    """A line of the log, as its leaf is hashed from it."""
    (line,) = store.read_lines(log, seq, seq + 1)
    return line.content()


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryLine:
    """One entry in a list. `items` and `people` are empty: a list names neither."""

    id: str
    kind: str
    time: int
    site: str
    seq: int
    items: tuple[str, ...] = ()
    people: tuple[str, ...] = ()


def list_entries(log: store.LogHead, ids: Iterable[str]) -> list[EntryLine]:
    """These entries, those of them that are on record, in custody order."""
    rows = OnRecord.objects.filter(log_id=log.id, entry_id__in=sorted(set(ids))).order_by("time", "entry_id")
    return [
        EntryLine(id=row.entry_id, kind=row.kind, time=row.time, site=row.site, seq=row.seq) for row in rows.iterator()
    ]


def get_headlines(log: store.LogHead, ids: Iterable[str]) -> dict[str, Mapping[str, Any]]:
    """By id, the members that say in a word or two what an entry was, as signed: its step, purpose or category."""
    found: dict[str, Mapping[str, Any]] = {}
    for entry_id, lines in store.lines_of_entries(log, ids).items():
        signed = record_lines(lines).signed
        found[entry_id] = {name: getattr(signed, name) for name in _HEADLINE if hasattr(signed, name)}
    return found


def list_named(log: store.LogHead, ids: Iterable[str]) -> dict[str, tuple[frozenset[str], tuple[str, ...]]]:
    """By id, `people` and `sites` of those of these entries that are on record, as `get_entry` has them."""
    register = get_register(log.jurisdiction)
    book = Book(register, Tables(log))
    wanted = list(ids)
    book.prepare(wanted)
    known = [book.effective(each) for each in wanted if book.signed(each) is not None]
    return {each.id: (_people(each, register), _sites(dump_entry(each.entry))) for each in known}


_HEADLINE = ("step", "purpose", "category")


def _signature(recorded: Recorded, signed: Signed, register: Register) -> Signature:
    key = register.keys[signed.keyid]
    late_seconds = register.policies.at(recorded.time).late_entry_hours * 3600
    counts: Counts = "counts" if key.person in people_of(recorded.entry) else "not-named"
    if key_fault(key, signed, recorded.signed.at, late_seconds):
        counts = "key-not-valid"
    return Signature(person=key.person, keyid=signed.keyid, received=signed.received, counts=counts)


def _people(recorded: Recorded, register: Register) -> frozenset[str]:
    """Everybody whom an entry names, or who signed it with a key that was valid."""
    return people_of(recorded.entry) | signers(recorded, register)


def _named(members: Mapping[str, Any]) -> set[str]:
    """Everybody at an end, and the transcriber: those whose signature is looked for."""
    found = {person for end in ("release", "receive", "by") if end in members for person in members[end]["people"]}
    return found | {members["transcriber"]} if "transcriber" in members else found


def _sites(members: Mapping[str, Any]) -> tuple[str, ...]:
    named = [members[end].get("site") for end in ("release", "receive", "by") if end in members]
    named += [members.get("site"), members.get("subject")]
    return tuple(dict.fromkeys(code for code in named if code))
