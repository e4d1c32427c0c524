"""The form of amendments: whole new values of members, and an entry that stays well formed or stays as it was."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from custody.domain.amendments import replace_members
from custody.domain.parsing import dump_entry, optional_members, parse_entry
from custody.errors import Refused
from tests.domain.entry_payloads import (
    FIXED,
    INTACT,
    KINDS,
    MISSING,
    OTHER_ID,
    SAMPLES,
    Payload,
    any_payload,
    replaces,
)


def amended(sample: str, **members: Any) -> Payload | None:
    entry = replace_members(parse_entry(SAMPLES[sample]), members)
    return None if entry is None else dump_entry(entry)


@pytest.mark.parametrize(
    ("sample", "members"),
    [
        ("full-handoff", {"items": ["BC000016", "TC00001X"]}),
        ("full-handoff", {"at": "2026-11-04T02:14:00Z", "site": "RS"}),
        ("full-handoff", {"seals": [MISSING], "purpose": "transfer"}),
        ("full-handoff", {"items": []}),  # there are loose seals
        ("sparse-handoff", {"paper": "F-1", "transcriber": "OFFICE-1", "photos": ["0f" * 32]}),
        ("full-seal", {"seals": [INTACT | {"number": "S0000027"}]}),
        ("full-count", {"figures": {"ballots_cast": 188}}),
        ("sparse-hold", {"movement": "lift", "lifts": OTHER_ID}),
        ("full-amend", {"amends": OTHER_ID, "replaces": {"site": "P02"}}),
    ],
)
def test_a_member_takes_its_whole_new_value_and_the_others_stay(sample: str, members: Payload) -> None:
    assert amended(sample, **members) == SAMPLES[sample] | members


@pytest.mark.parametrize("kind", KINDS)
def test_every_member_that_may_be_left_out_is_emptied_by_an_empty_list_or_text(kind: str) -> None:
    together = {"paper", "transcriber", "lifts"}  # these go with another member
    for member in sorted((optional_members(kind) - together) & SAMPLES[f"full-{kind}"].keys()):
        expected = {name: value for name, value in SAMPLES[f"full-{kind}"].items() if name != member}
        assert (amended(f"full-{kind}", **{member: []}), amended(f"full-{kind}", **{member: ""})) == (expected,) * 2


def test_paper_and_its_transcriber_are_emptied_together() -> None:
    assert amended("full-step", paper="") is None
    emptied = amended("full-step", paper="", transcriber="")
    assert emptied == {
        name: each for name, each in SAMPLES["full-step"].items() if name not in ("paper", "transcriber")
    }


@pytest.mark.parametrize(
    ("sample", "members"),
    [
        ("full-handoff", {"purpose": "gift"}),
        ("sparse-handoff", {"items": []}),
        ("full-handoff", {"items": [], "loose_seals": []}),
        ("full-handoff", {"figures": {"ballots_cast": 1}}),
        ("full-handoff", {"at": ""}),
        ("full-handoff", {"at": 3}),
        ("full-seal", {"seals": [MISSING]}),
        ("full-seal", {"seals": []}),
        ("full-count", {"figures": {}}),
        ("full-count", {"figures": {"ballots_cast": 1}, "subject": ""}),
        ("full-hold", {"movement": "place"}),
        ("full-amend", {"replaces": {"kind": "step"}}),
        ("full-amend", {"amends": ""}),
    ],
)
def test_an_entry_that_would_be_ill_formed_stays_as_it_was(sample: str, members: Payload) -> None:
    assert amended(sample, **members) is None
    assert amended(sample, note="x") == SAMPLES[sample] | {"note": "x"}


@given(any_payload)
def test_nothing_replaced_is_nothing_changed(payload: Payload) -> None:
    entry = parse_entry(payload)
    assert replace_members(entry, {}) == entry


@given(any_payload, any_payload, st.data())
def test_members_of_one_entry_put_into_another_make_what_parsing_makes_of_both(
    payload: Payload, other: Payload, data: st.DataObject
) -> None:
    names = data.draw(st.lists(st.sampled_from(sorted(other.keys() - FIXED))))
    members = {name: other[name] for name in names if other[name] not in ("", [])}
    try:
        expected = parse_entry(payload | members)
    except Refused:
        expected = None
    assert replace_members(parse_entry(payload), members) == expected


@given(any_payload, replaces)
def test_whatever_an_amendment_says_the_entry_keeps_its_id_kind_and_parties(payload: Payload, members: Payload) -> None:
    entry = replace_members(parse_entry(payload), members)
    kept = payload if entry is None else dump_entry(entry)
    assert {name: kept.get(name) for name in FIXED} == {name: payload.get(name) for name in FIXED}
