"""What is not well formed is refused, with its code and the path of the member at fault: good payloads breed bad."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from custody.domain.parsing import dump_entry, parse_entry
from custody.errors import REFUSAL_CODES, Refused
from tests.domain.entry_payloads import (
    CHIEF,
    DAMAGED,
    FIXED,
    HEADER,
    HEADER_MORE,
    INTACT,
    KINDS,
    MISSING,
    SAMPLES,
    SPARSE,
    Payload,
    any_payload,
    json_values,
)


def refusal(payload: Any) -> tuple[str, str]:
    """The code and path of a refusal."""
    with pytest.raises(Refused) as caught:
        parse_entry(payload)
    return caught.value.code, caught.value.data["path"]


def changed(sample: str, path: str, value: Any) -> Payload:
    """A sample with another value at a path such as `release.people[0]`."""
    payload = copy.deepcopy(SAMPLES[sample])
    *way, last = path.replace("[", ".[").split(".")
    place: Any = payload
    for step in way:
        place = place[int(step[1:-1])] if step.startswith("[") else place[step]
    place[int(last[1:-1]) if last.startswith("[") else last] = value
    return payload


REQUIRED = [
    (kind, member) for kind in KINDS for member in sorted(HEADER.keys() | SPARSE[kind].keys()) if member != "kind"
]


@pytest.mark.parametrize(("kind", "member"), REQUIRED)
def test_every_member_that_a_kind_needs_is_missed(kind: str, member: str) -> None:
    payload = SAMPLES[f"full-{kind}"]
    assert refusal({name: value for name, value in payload.items() if name != member}) == ("missing-member", member)


def test_without_a_kind_nothing_else_is_looked_at() -> None:
    assert refusal(HEADER | {"nonsense": 1}) == ("missing-member", "kind")


@pytest.mark.parametrize("kind", KINDS)
def test_a_member_of_another_kind_is_unknown(kind: str) -> None:
    own = HEADER.keys() | HEADER_MORE.keys() | SAMPLES[f"full-{kind}"].keys()
    others = {name: value for each in KINDS for name, value in SAMPLES[f"full-{each}"].items() if name not in own}
    others |= {"Note": "x", "": "x", "seq": 1}
    assert len(others) > 10
    for name, value in others.items():
        assert refusal(SAMPLES[f"sparse-{kind}"] | {name: value}) == ("unknown-member", name)


# Everything a value can be in this kind of JSON, by type.
STRANGERS: dict[str, Any] = {
    "text": "?",
    "number": 3,
    "yes": True,
    "list": [],
    "list of numbers": [3],
    "object": {},
    "nothing": None,
    "fraction": 0.5,
}
TYPED = [(kind, member, stranger) for kind in KINDS for member in SAMPLES[f"full-{kind}"] for stranger in STRANGERS]


@pytest.mark.parametrize(("kind", "member"), sorted({(kind, member) for kind, member, _ in TYPED}))
def test_a_value_of_another_type_is_refused_at_its_member_or_inside_it(kind: str, member: str) -> None:
    sample = SAMPLES[f"full-{kind}"]
    for stranger in STRANGERS.values():
        try:
            entry = parse_entry(sample | {member: stranger})
        except Refused as refused:
            path = refused.data["path"]
            assert refused.code in {"wrong-type", "unknown-word", "missing-member", "unknown-member"}
            assert path == member or path.startswith((f"{member}.", f"{member}["))
        else:
            assert type(stranger) in {str, int, list, dict}
            assert type(stranger) is type(sample[member])
            assert dump_entry(entry)[member] == stranger


CASES = [
    ("register", "id", "0192F0C1-2B3C-7D4E-8F50-617283940A1B", "wrong-type"),  # upper case
    ("register", "id", "0192f0c1-2b3c-4d4e-8f50-617283940a1b", "wrong-type"),  # version 4 (RFC 9562 section 5.4)
    ("register", "id", "0192f0c1-2b3c-7d4e-7f50-617283940a1b", "wrong-type"),  # not the variant of RFC 9562 section 4.1
    ("register", "id", "0192f0c12b3c7d4e8f50617283940a1b", "wrong-type"),
    ("register", "id", "0192f0c1-2b3c-7d4e-8f50-617283940a1b\n", "wrong-type"),
    ("register", "v", 2, "wrong-type"),
    ("register", "v", True, "wrong-type"),
    ("register", "v", "1", "wrong-type"),
    ("register", "kind", "registers", "unknown-word"),
    ("register", "kind", ["register"], "wrong-type"),
    ("register", "kind", {}, "wrong-type"),
    ("register", "log", "ALDER", "wrong-type"),
    ("register", "log", "ALDER/", "wrong-type"),
    ("register", "log", "ALDER/main/2", "wrong-type"),
    ("register", "log", "ALDER/ma in", "wrong-type"),
    ("register", "election", "", "wrong-type"),
    ("register", "at", "2026-11-04T02:04:00+00:00", "wrong-type"),
    ("register", "at", "2026-11-04 02:04:00Z", "wrong-type"),
    ("register", "at", "2026-11-04T02:04:00.0Z", "wrong-type"),
    ("register", "at", "2026-02-29T02:04:00Z", "wrong-type"),
    ("register", "at", 1_793_757_840, "wrong-type"),
    ("register", "site", "", "wrong-type"),
    ("register", "note", ["x"], "wrong-type"),
    ("register", "paper", "", "wrong-type"),
    ("register", "transcriber", "", "wrong-type"),
    ("register", "photos[0]", "0F" * 32, "wrong-type"),
    ("register", "photos[0]", "0f" * 31, "wrong-type"),
    ("register", "photos[0]", 15, "wrong-type"),
    ("register", "observers", "WATCH-1", "wrong-type"),
    ("register", "observers[0]", "", "wrong-type"),
    ("register", "offset", "40", "wrong-type"),
    ("register", "offset", True, "wrong-type"),
    ("register", "items", [], "wrong-type"),
    ("register", "items[0]", "", "wrong-type"),
    ("register", "by", ["CHIEF-P01"], "wrong-type"),
    ("register", "by.role", "chief", "unknown-word"),
    ("register", "by.role", 1, "wrong-type"),
    ("register", "by.people", "CHIEF-P01", "wrong-type"),
    ("register", "by.people[1]", None, "wrong-type"),
    ("register", "by.site", "", "wrong-type"),
    ("register", "by.name", "x", "unknown-member"),
    ("handoff", "release.role", "poll_chiefs", "unknown-word"),
    ("handoff", "receive.people[0]", "", "wrong-type"),
    ("handoff", "purpose", "Return", "unknown-word"),
    ("handoff", "purpose", "", "unknown-word"),
    ("handoff", "seals", {}, "wrong-type"),
    ("handoff", "seals[1]", "S0000026", "wrong-type"),
    ("handoff", "seals[1].number", "S0000026", "unknown-member"),  # it is missing: what number?
    ("handoff", "seals[1].maker", "Arnby", "unknown-member"),
    ("handoff", "seals[0].state", "unreadable", "unknown-member@seals[0].number"),
    ("handoff", "seals[1].state", "damaged", "missing-member@seals[1].number"),
    ("handoff", "seals[0].state", "broken", "unknown-word"),
    ("handoff", "seals[0].state", None, "wrong-type"),
    ("handoff", "seals[0].number", 26, "wrong-type"),
    ("handoff", "seals[0].number", "", "wrong-type"),
    ("handoff", "seals[0].item", "", "wrong-type"),
    ("handoff", "seals[0].point", 1, "wrong-type"),
    ("handoff", "seals[2].maker", "", "wrong-type"),
    ("handoff", "seals[0].colour", "red", "unknown-member"),
    ("handoff", "loose_seals", "S0000026..S0000029", "wrong-type"),
    ("handoff", "loose_seals[0]", "S0000029..S0000026", "wrong-type"),
    ("handoff", "loose_seals[0]", "S0000026..T0000029", "wrong-type"),
    ("handoff", "loose_seals[0]", "S0000026..S029", "wrong-type"),
    ("handoff", "loose_seals[0]", "S0000001..S0010001", "wrong-type"),
    ("handoff", "loose_seals[1]", "", "wrong-type"),
    ("handoff", "loose_seals[1]", "S0000026..", "wrong-type"),
    ("handoff", "loose_seals[1]", 26, "wrong-type"),
    ("seal", "seals", [], "wrong-type"),
    ("seal", "seals[1].state", "damaged", "unknown-word"),
    ("seal", "seals[1]", MISSING, "unknown-word@seals[1].state"),
    ("unseal", "seals", [], "wrong-type"),
    ("unseal", "reason", "opening", "unknown-word"),
    ("inspect", "seals", [], "wrong-type"),
    ("pack", "container", "", "wrong-type"),
    ("pack", "container", ["TC00001X"], "wrong-type"),
    ("pack", "items", [], "wrong-type"),
    ("unpack", "items", [], "wrong-type"),
    ("count", "subject", "", "wrong-type"),
    ("count", "figures", {}, "wrong-type"),
    ("count", "figures", [], "wrong-type"),
    ("count", "figures.ballots", 512, "unknown-word"),
    ("count", "figures.ballots_cast", "512", "wrong-type"),
    ("count", "figures.ballots_cast", True, "wrong-type"),
    ("count", "figures.ballots_cast", None, "wrong-type"),
    ("step", "step", "polls_shut", "unknown-word"),
    ("step", "items", "BC000016", "wrong-type"),
    ("access", "movement", "exit", "unknown-word"),
    ("access", "purpose", 1, "wrong-type"),
    ("access", "visitors[0]", "", "wrong-type"),
    ("incident", "category", "theft", "unknown-word"),
    ("incident", "loose_seals[0]", "S1..S20001", "wrong-type"),
    ("hold", "movement", "end", "unknown-word"),
    ("hold", "movement", "place", "unknown-member@lifts"),
    ("hold", "lifts", "order 12", "wrong-type"),
    ("hold", "reason", None, "wrong-type"),
    ("amend", "amends", "the last one", "wrong-type"),
    ("amend", "replaces", [], "wrong-type"),
    ("amend", "reason", 1, "wrong-type"),
    ("resolve", "finding", "", "wrong-type"),
    ("resolve", "outcome", "ignored", "unknown-word"),
    ("dispose", "items", [], "wrong-type"),
    ("dispose", "method", "sold", "unknown-word"),
]


@pytest.mark.parametrize(("kind", "path", "value", "expected"), CASES)
def test_a_slip_is_refused_with_its_code_and_path(kind: str, path: str, value: Any, expected: str) -> None:
    code, _, elsewhere = expected.partition("@")
    assert refusal(changed(f"full-{kind}", path, value)) == (code, elsewhere or path)
    assert parse_entry(SAMPLES[f"full-{kind}"]).kind == kind


@pytest.mark.parametrize(
    ("party", "path"), [({"people": []}, "by.role"), ({"role": "courier"}, "by.people"), ({}, "by.people")]
)
def test_a_party_needs_a_role_and_people(party: Payload, path: str) -> None:
    assert refusal(SAMPLES["sparse-step"] | {"by": party}) == ("missing-member", path)


@pytest.mark.parametrize("member", ["item", "point", "state"])
def test_a_reading_needs_item_point_and_state(member: str) -> None:
    seal = {name: value for name, value in DAMAGED.items() if name != member}
    assert refusal(SAMPLES["sparse-inspect"] | {"seals": [INTACT, seal]}) == ("missing-member", f"seals[1].{member}")


def test_paper_and_transcriber_go_together() -> None:
    sparse = SAMPLES["sparse-handoff"]
    assert refusal(sparse | {"paper": "F-1"}) == ("missing-member", "transcriber")
    assert refusal(sparse | {"transcriber": "OFFICE-1"}) == ("missing-member", "paper")
    both = parse_entry(sparse | {"paper": "F-1", "transcriber": "OFFICE-1"})
    assert (both.paper, both.transcriber) == ("F-1", "OFFICE-1")


@pytest.mark.parametrize("member", ["election", "site", "paper"])
def test_a_code_has_no_zero_character_in_it_and_may_have_any_other(member: str) -> None:
    """PostgreSQL keeps no U+0000 in a text (its manual, section 8.3); a note is kept as the JSON that was signed."""
    sample = SAMPLES["full-count"]
    assert refusal(sample | {member: "A\0B"}) == ("wrong-type", member)
    assert getattr(parse_entry(sample | {member: "A\x01B \u2028"}), member) == "A\x01B \u2028"
    assert parse_entry(sample | {"note": "A\0B"}).note == "A\0B"


@pytest.mark.parametrize("more", [{}, {"loose_seals": []}, {"seals": [INTACT]}])
def test_a_handoff_of_nothing_is_refused(more: Payload) -> None:
    assert refusal(SAMPLES["sparse-handoff"] | {"items": []} | more) == ("wrong-type", "items")


def test_a_hold_is_lifted_by_the_id_of_the_order_that_placed_it() -> None:
    lift = SAMPLES["full-hold"]
    assert refusal({name: value for name, value in lift.items() if name != "lifts"}) == ("missing-member", "lifts")


@pytest.mark.parametrize("member", sorted(FIXED))
def test_an_amendment_never_replaces_who_an_entry_is_from_or_what_it_is(member: str) -> None:
    amend = SAMPLES["sparse-amend"] | {"replaces": {"note": "x", member: CHIEF}}
    assert refusal(amend) == ("unknown-member", f"replaces.{member}")


@pytest.mark.parametrize("value", [None, [], "handoff", 1, True, [("kind", "step")]])
def test_a_payload_is_an_object(value: Any) -> None:
    assert refusal(value) == ("wrong-type", "payload")


@given(any_payload, st.data())
def test_any_change_is_either_well_formed_or_refused_and_never_anything_else(
    payload: Payload, data: st.DataObject
) -> None:
    """One value anywhere inside is replaced, one member removed or one added; whatever parses says so when dumped."""
    name = data.draw(st.sampled_from(sorted(payload)))
    match data.draw(st.sampled_from(["replace", "deepen", "remove", "add"])):
        case "replace":
            payload[name] = data.draw(json_values)
        case "deepen":
            _replace_inside(payload[name], data)
        case "remove":
            del payload[name]
        case "add":
            payload[data.draw(st.text("abcdefils_", min_size=1, max_size=8))] = data.draw(json_values)
    try:
        entry = parse_entry(payload)
    except Refused as refused:
        assert refused.code in REFUSAL_CODES
        assert type(refused.data["path"]) is str
    else:
        assert dump_entry(entry) == payload


def _replace_inside(value: Any, data: st.DataObject) -> None:
    places = list(value) if isinstance(value, dict) else list(range(len(value))) if isinstance(value, list) else []
    if not places:
        return
    place = data.draw(st.sampled_from(places))
    if isinstance(value[place], list | dict) and data.draw(st.booleans()):
        _replace_inside(value[place], data)
    else:
        value[place] = data.draw(json_values)


@given(json_values)
def test_any_other_json_is_refused(value: Any) -> None:
    assert refusal(value)[0] in {"wrong-type", "missing-member"}
