"""Every kind of entry from bytes to a typed value and back; the words and members of format 1, written out by hand."""

from __future__ import annotations

import copy
from enum import StrEnum

import pytest
from hypothesis import given

from custody.domain import entries, vocabulary
from custody.domain.instants import parse_instant
from custody.domain.parsing import dump_entry, optional_members, parse_entry
from custody.domain.parties import Party, Reading, SealRange
from custody.domain.vocabulary import Figure, Purpose, Role, SealState
from custody.ledger.canonical import dump_canonical, parse_canonical
from tests.domain import entry_payloads as made
from tests.domain.entry_payloads import FULL, HEADER, HEADER_MORE, KINDS, SAMPLES, SPARSE, Payload, any_payload


def round_trip(data: bytes) -> bytes:
    return dump_canonical(dump_entry(parse_entry(parse_canonical(data))))


@pytest.mark.parametrize("sample", SAMPLES)
def test_an_entry_is_written_again_with_the_very_bytes_it_was_read_from(sample: str) -> None:
    data = dump_canonical(SAMPLES[sample])
    assert round_trip(data) == data


@given(any_payload)
def test_any_well_formed_payload_comes_back_as_it_was(payload: Payload) -> None:
    before = copy.deepcopy(payload)
    entry = parse_entry(payload)
    assert payload == before
    assert dump_entry(entry) == before
    assert parse_entry(dump_entry(entry)) == entry


@given(any_payload)
def test_what_was_dumped_is_what_the_canonical_form_takes(payload: Payload) -> None:
    """Words leave as plain strings, since the canonical form refuses subclasses."""
    data = dump_canonical(payload)
    assert round_trip(data) == data


@pytest.mark.parametrize("kind", KINDS)
def test_an_absent_member_and_an_empty_one_are_told_apart_by_the_bytes_alone(kind: str) -> None:
    sparse = HEADER | {"kind": kind} | SPARSE[kind]
    lists: Payload = {"photos": [], "observers": []} | {
        name: [] for name in ("seals", "loose_seals", "visitors") if name in optional_members(kind)
    }
    empty = sparse | lists
    assert parse_entry(empty) == parse_entry(sparse)
    assert (dump_entry(parse_entry(empty)), dump_entry(parse_entry(sparse))) == (empty, sparse)


def test_the_kinds_are_those_of_the_format() -> None:
    assert tuple(each.kind for each in entries.ENTRY_TYPES) == KINDS
    assert len(KINDS) == 15


@pytest.mark.parametrize("kind", KINDS)
def test_the_members_that_may_be_left_out_are_those_of_the_format(kind: str) -> None:
    required = HEADER.keys() | {"kind"} | SPARSE[kind].keys()
    assert optional_members(kind) == (HEADER_MORE.keys() | FULL[kind].keys()) - required


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (vocabulary.Role, made.ROLES),
        (vocabulary.Purpose, made.PURPOSES),
        (vocabulary.UnsealReason, made.REASONS),
        (vocabulary.SealState, made.STATES),
        (vocabulary.StepName, made.STEPS),
        (vocabulary.Figure, made.FIGURES),
        (vocabulary.Category, made.CATEGORIES),
        (vocabulary.Outcome, made.OUTCOMES),
        (vocabulary.Passage, ["enter", "leave"]),
        (vocabulary.HoldMovement, ["place", "lift"]),
        (vocabulary.DisposalMethod, ["destroyed", "released"]),
        (vocabulary.SiteKind, made.SITE_KINDS),
        (vocabulary.ItemKind, made.ITEM_KINDS),
    ],
    ids=lambda value: value.__name__ if isinstance(value, type) else "",
)
def test_the_words_are_those_of_the_format(words: type[StrEnum], expected: list[str]) -> None:
    assert [word.value for word in words] == expected


def test_every_member_of_a_handoff_reaches_the_typed_entry() -> None:
    entry = parse_entry(SAMPLES["full-handoff"])
    assert entry == entries.Handoff(
        id=made.ENTRY_ID,
        log="ALDER/main",
        election="GEN26",
        at=parse_instant("2026-11-04T02:04:00Z"),
        site="P01",
        note="the case was wet ± dried",
        paper="F-0017",
        transcriber="OFFICE-1",
        photos=("0f" * 32,),
        observers=("WATCH-1",),
        offset=-40,
        items=("BC000016",),
        release=Party(role=Role.POLL_CHIEF, people=("CHIEF-P01", "WORKER-1-P01"), site="P01"),
        receive=Party(role=Role.COURIER, people=("DRIVER-1-P01", "DRIVER-2-P01"), site=None),
        purpose=Purpose.RETURN,
        seals=(
            Reading(item="BC000016", point="front", state=SealState.INTACT, number="S0000026"),
            Reading(item="BC000016", point="back", state=SealState.MISSING),
            Reading(item="TC00001X", point="latch", state=SealState.DAMAGED, number="T0000001", maker="Birch"),
        ),
        loose_seals=(
            SealRange(text="S0000026..S0000029", prefix="S", first=26, last=29, width=7),
            SealRange(text="S0000031", prefix="S", first=31, last=31, width=7),
        ),
    )


def test_a_handoff_may_be_of_loose_seals_alone() -> None:
    entry = parse_entry(SAMPLES["sparse-handoff"] | {"items": [], "loose_seals": ["S0000026"]})
    assert isinstance(entry, entries.Handoff)
    assert (entry.items, [seals.text for seals in entry.loose_seals]) == ((), ["S0000026"])


def test_a_code_that_no_register_knows_is_well_formed() -> None:
    """Reality cannot be refused: whether a code is known is for the rules."""
    entry = parse_entry(SAMPLES["sparse-count"] | {"subject": "no such thing", "election": "?"})
    assert isinstance(entry, entries.Count)
    assert (entry.subject, entry.election, entry.figures) == ("no such thing", "?", {Figure.BALLOTS_CAST: 0})


# What an entry names


def test_a_handoff_has_two_ends_and_everything_else_one() -> None:
    found = {kind: [end for end, _ in entries.ends(parse_entry(SAMPLES[f"sparse-{kind}"]))] for kind in KINDS}
    assert found.pop("handoff") == ["release", "receive"]
    assert found == {kind: ["by"] for kind in found}


def test_people_are_named_by_parties_once_each_and_not_as_watchers_or_transcribers() -> None:
    payload = SAMPLES["full-handoff"] | {"receive": {"role": "courier", "people": ["DRIVER-1-P01", "CHIEF-P01"]}}
    assert entries.named_people(parse_entry(payload)) == ("CHIEF-P01", "WORKER-1-P01", "DRIVER-1-P01")


@pytest.mark.parametrize(
    ("kind", "moved", "named"),
    [
        ("register", ["BC000016"], ["BC000016"]),
        ("handoff", ["BC000016"], ["BC000016", "TC00001X"]),
        ("seal", [], ["BC000016"]),
        ("unseal", [], ["BC000016", "TC00001X"]),
        ("inspect", [], ["BC000016", "TC00001X"]),
        ("pack", ["TC00001X", "MD000012"], ["TC00001X", "MD000012"]),
        ("unpack", ["TC00001X", "MD000012"], ["TC00001X", "MD000012"]),
        ("count", [], ["P01"]),
        ("step", ["BC000016"], ["BC000016"]),
        ("access", [], []),
        ("incident", [], []),
        ("hold", ["BC000016"], ["BC000016"]),
        ("amend", [], []),
        ("resolve", [], []),
        ("dispose", ["BC000016"], ["BC000016"]),
    ],
)
def test_items_are_named_where_an_item_may_stand(kind: str, moved: list[str], named: list[str]) -> None:
    entry = parse_entry(SAMPLES[f"full-{kind}"])
    assert (list(entries.moved_items(entry)), list(entries.named_items(entry))) == (moved, named)


def test_readings_and_loose_seals_are_found_where_a_kind_has_them() -> None:
    parsed = {kind: parse_entry(SAMPLES[f"full-{kind}"]) for kind in KINDS}
    readings = {kind: len(entries.readings(entry)) for kind, entry in parsed.items()}
    loose = {kind: len(entries.loose_seals(entry)) for kind, entry in parsed.items()}
    assert readings == dict.fromkeys(KINDS, 0) | {"handoff": 3, "seal": 2, "unseal": 3, "inspect": 3}
    assert loose == dict.fromkeys(KINDS, 0) | {"handoff": 2, "incident": 1}
