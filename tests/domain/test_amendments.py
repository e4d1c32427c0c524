"""Amendments: what they make of an earlier entry. Expected values follow record format 1, sections 4 and 5."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import permutations
from typing import Any, cast

import pytest

from custody.domain.amendments import amended_targets, apply_amendments, replace_members
from custody.domain.book import Book, derive, work_out
from custody.domain.entries import Amend, Count, Entry, Handoff, Incident
from custody.domain.recorded import Recorded
from custody.domain.vocabulary import Figure
from tests.world import MINUTE, Deed, World, party
from tests.world_acts import entry_id
from tests.world_random import chance

CREW = party("poll_chief", "CHIEF-P01", "WORKER-1-P01", site="P01")


@pytest.fixture
def world() -> World:
    world = World(places=2)
    world.at = world.time("12:00")
    return world


def cast_ballots(world: World, number: int = 100, **more: Any) -> Deed:
    return world.count("P01", CREW, {"ballots_cast": number}, **more)


def effective(world: World, deed: Deed) -> Recorded:
    return derive(world.recorded(), world.register).effective(deed.id)


def seen(world: World, deed: Deed) -> Entry:
    """The entry as its amendments have it."""
    return effective(world, deed).entry


def void(world: World) -> set[str]:
    """The amendments that change nothing."""
    book = derive(world.recorded(), world.register)
    keys = (each.key for found in book.findings.values() for each in found if each.rule == "amend-void")
    return {key.partition("/")[2] for key in keys}


def figures(entry: Entry) -> dict[str, int]:
    return {name.value: value for name, value in cast(Count, entry).figures.items()}


def id_of(world: World, number: int) -> str:
    """An id that no entry has yet, to be named before it is made."""
    return entry_id(world.at, 4_000 + number)


# Whole new values


def test_a_replaced_member_takes_the_whole_new_value(world: World) -> None:
    count = world.count("P01", CREW, {"ballots_cast": 100, "ballots_spoiled": 3})
    amend = world.amend(count, CREW, {"figures": {"ballots_cast": 110}})
    assert figures(seen(world, count)) == {"ballots_cast": 110}
    assert effective(world, count).amended_by == (amend.id,)
    assert void(world) == set()


def test_what_was_signed_and_who_signed_it_stay_as_they_are(world: World) -> None:
    count = cast_ballots(world, signed_by=["CHIEF-P01"])
    world.amend(count, CREW, {"figures": {"ballots_cast": 110}})
    recorded = effective(world, count)
    assert figures(recorded.signed) == {"ballots_cast": 100}
    assert recorded.signatures == count.recorded.signatures


def test_amendments_of_different_members_hold_together(world: World) -> None:
    count = cast_ballots(world)
    world.amend(count, CREW, {"figures": {"ballots_cast": 110}})
    world.amend(count, CREW, {"note": "read again", "subject": "P02"})
    entry = cast(Count, seen(world, count))
    assert (figures(entry), entry.note, entry.subject) == ({"ballots_cast": 110}, "read again", "P02")


def test_an_amended_time_moves_the_entry_in_custody_order_but_never_beyond_its_receipt(world: World) -> None:
    count = cast_ballots(world)
    received = count.received
    world.amend(count, CREW, {"at": "2026-11-03T15:00:00Z"})
    assert effective(world, count).time == world.time("09:00")
    world.amend(count, CREW, {"at": "2026-11-03T23:00:00Z"})
    assert (effective(world, count).entry.at, effective(world, count).time) == (world.time("17:00"), received)


# Emptied members


@pytest.mark.parametrize(
    ("member", "value", "emptied"),
    [
        ("note", "a word", None),
        ("site", "P01", None),
        ("photos", ["ab" * 32], ()),
        ("observers", ["WATCH-1"], ()),
    ],
)
@pytest.mark.parametrize("empty", ["", []])
def test_an_optional_member_is_emptied_by_an_empty_text_or_list(
    world: World, member: str, value: Any, emptied: Any, empty: Any
) -> None:
    count = cast_ballots(world, **{member: value})
    amend = world.amend(count, CREW, {member: empty})
    assert getattr(seen(world, count), member) == emptied
    assert effective(world, count).amended_by == (amend.id,)


def test_a_member_that_an_entry_needs_may_be_an_empty_list_where_the_form_allows_it(world: World) -> None:
    incident = world.incident("damaged", CREW, world.kits["P01"].case)
    world.amend(incident, CREW, {"items": []})
    assert cast(Incident, seen(world, incident)).items == ()


def test_a_handoff_may_lose_its_items_when_it_has_loose_seals(world: World) -> None:
    item, desk = world.kits["P01"].keys, world.party("receiving_clerk")
    handoff = world.handoff([item], CREW, desk, "return", loose=["S0001000"])
    world.amend(handoff, CREW, {"items": []})
    entry = cast(Handoff, seen(world, handoff))
    assert (entry.items, [each.text for each in entry.loose_seals]) == ((), ["S0001000"])


def test_a_handoff_of_nothing_would_be_ill_formed(world: World) -> None:
    handoff = world.handoff([world.kits["P01"].keys], CREW, world.party("receiving_clerk"), "return")
    amend = world.amend(handoff, CREW, {"items": []})
    assert seen(world, handoff) == handoff.entry
    assert void(world) == {amend.id}


# Ill-formed


ILL_FORMED: Mapping[str, dict[str, Any]] = {
    "a member that the kind does not know": {"items": ["X"]},
    "an empty member that the kind does not know": {"items": []},
    "a word outside its list": {"figures": {"ballots_lost": 1}},
    "a wrong type": {"subject": 7},
    "a needed member emptied": {"subject": ""},
    "needed figures emptied": {"figures": []},
    "a paper number without a transcriber": {"paper": "F-17"},
    "no time at all": {"at": "noon"},
}


@pytest.mark.parametrize("replaces", ILL_FORMED.values(), ids=ILL_FORMED.keys())
def test_an_amendment_that_would_leave_the_entry_ill_formed_changes_nothing(
    world: World, replaces: dict[str, Any]
) -> None:
    count = cast_ballots(world)
    bad = world.amend(count, CREW, replaces | {"note": "never seen"})
    good = world.amend(count, CREW, {"figures": {"ballots_cast": 110}})
    entry = seen(world, count)
    assert (figures(entry), entry.note) == ({"ballots_cast": 110}, None)
    assert effective(world, count).amended_by == (good.id,)
    assert void(world) == {bad.id}


@pytest.mark.parametrize("member", ["id", "v", "log", "kind", "election", "by"])
def test_an_amendment_cannot_be_amended_to_replace_what_never_is(world: World, member: str) -> None:
    count = cast_ballots(world)
    first = world.amend(count, CREW, {"note": "read again"})
    second = world.amend(first, CREW, {"replaces": {member: "other"}})
    assert seen(world, count).note == "read again"
    assert void(world) == {second.id}


def test_replacing_members_gives_nothing_when_the_outcome_is_ill_formed(world: World) -> None:
    count = cast_ballots(world).entry
    assert replace_members(count, {"subject": ""}) is None
    changed = replace_members(count, {"subject": "P02"})
    assert changed is not None and cast(Count, changed).subject == "P02"


def test_an_amendment_of_an_entry_not_on_record_changes_nothing_until_that_arrives(world: World) -> None:
    count = cast_ballots(world)
    amend = world.amend(count, CREW, {"note": "read again"})
    of_count = {each.id: each for each in world.recorded()}
    book = Book(world.register)
    work_out(book, book.take([of_count[amend.id]]))
    assert [each.key for each in book.findings[f"entry:{amend.id}"] if each.rule == "amend-void"] == [
        f"amend-void/{amend.id}"
    ]
    work_out(book, book.take([of_count[count.id]]))
    assert book.effective(count.id).entry.note == "read again"
    assert [each.key for each in book.findings[f"entry:{amend.id}"] if each.rule == "amend-void"] == []


# Order


def test_amendments_apply_in_the_order_of_their_time_not_of_their_arrival(world: World) -> None:
    count = cast_ballots(world)
    late = world.amend(count, CREW, {"note": "second"}, at=world.at + 2 * MINUTE, received=world.at + 3 * MINUTE)
    early = world.amend(count, CREW, {"note": "first"}, at=world.at + MINUTE, received=world.at + 30 * MINUTE)
    assert seen(world, count).note == "second"
    assert effective(world, count).amended_by == (early.id, late.id)


def test_amendments_of_one_second_apply_in_the_order_of_their_ids(world: World) -> None:
    count, at = cast_ballots(world), world.at
    greater = world.amend(count, CREW, {"note": "greater"}, at=at, id=id_of(world, 2), received=at + 1)
    smaller = world.amend(count, CREW, {"note": "smaller"}, at=at, id=id_of(world, 1), received=at + 2)
    assert seen(world, count).note == "greater"
    assert effective(world, count).amended_by == (smaller.id, greater.id)


def test_the_time_that_an_amendment_was_signed_with_orders_it_however_it_is_amended(world: World) -> None:
    count = cast_ballots(world)
    first = world.amend(count, CREW, {"note": "first"})
    world.amend(count, CREW, {"note": "second"})
    world.amend(first, CREW, {"at": "2026-11-03T20:00:00Z"})
    assert seen(world, count).note == "second"


def test_an_ill_formed_step_does_not_stop_a_later_one_that_counts_on_it(world: World) -> None:
    count = cast_ballots(world, paper="F-17", transcriber="OFFICE-1")
    world.amend(count, CREW, {"paper": ""})
    world.amend(count, CREW, {"transcriber": ""})
    entry = seen(world, count)
    assert (entry.paper, entry.transcriber) == ("F-17", "OFFICE-1")
    world.amend(count, CREW, {"paper": "", "transcriber": ""})
    entry = seen(world, count)
    assert (entry.paper, entry.transcriber) == (None, None)


# Amendments of amendments


def test_an_amendment_of_an_amendment_applies_first(world: World) -> None:
    count = cast_ballots(world)
    first = world.amend(count, CREW, {"figures": {"ballots_cast": 110}})
    second = world.amend(first, CREW, {"replaces": {"figures": {"ballots_cast": 120}}})
    assert figures(seen(world, count)) == {"ballots_cast": 120}
    assert effective(world, count).amended_by == (first.id,)
    assert effective(world, first).amended_by == (second.id,)
    assert void(world) == set()


def test_three_levels_apply_from_the_outermost_inwards(world: World) -> None:
    count = cast_ballots(world)
    first = world.amend(count, CREW, {"note": "first"})
    second = world.amend(first, CREW, {"replaces": {"note": "second"}})
    world.amend(second, CREW, {"replaces": {"replaces": {"note": "third"}}})
    assert seen(world, count).note == "third"


def test_an_amendment_is_undone_by_emptying_what_it_replaces_member_by_member(world: World) -> None:
    count = cast_ballots(world)
    first = world.amend(count, CREW, {"figures": {"ballots_cast": 110}, "note": "read again"})
    world.amend(first, CREW, {"replaces": {"note": "read again"}})
    entry = seen(world, count)
    assert (figures(entry), entry.note) == ({"ballots_cast": 100}, "read again")


def test_an_amendment_made_ill_formed_by_another_keeps_what_it_said(world: World) -> None:
    count = cast_ballots(world)
    first = world.amend(count, CREW, {"note": "first"})
    second = world.amend(first, CREW, {"replaces": "nothing"})
    assert seen(world, count).note == "first"
    assert void(world) == {second.id}


def test_an_amendment_amended_to_leave_the_entry_ill_formed_no_longer_counts(world: World) -> None:
    count = cast_ballots(world)
    first = world.amend(count, CREW, {"note": "first"})
    world.amend(first, CREW, {"replaces": {"subject": ""}})
    assert seen(world, count) == count.entry
    assert void(world) == {first.id}


# Aimed at another entry


def test_an_amendment_aimed_at_another_entry_leaves_the_first_and_changes_the_other(world: World) -> None:
    wrong, right = cast_ballots(world, 100), cast_ballots(world, 200)
    first = world.amend(wrong, CREW, {"note": "read again"})
    assert (seen(world, wrong).note, seen(world, right).note) == ("read again", None)
    world.amend(first, CREW, {"amends": right.id})
    assert (seen(world, wrong).note, seen(world, right).note) == (None, "read again")
    assert effective(world, right).amended_by == (first.id,)
    assert void(world) == set()


def test_an_aim_is_amended_like_any_other_member(world: World) -> None:
    wrong, right, best = cast_ballots(world, 100), cast_ballots(world, 200), cast_ballots(world, 300)
    first = world.amend(wrong, CREW, {"note": "read again"})
    second = world.amend(first, CREW, {"amends": right.id})
    world.amend(second, CREW, {"replaces": {"amends": best.id}})
    assert [seen(world, each).note for each in (wrong, right, best)] == [None, None, "read again"]


def test_an_amendment_aimed_at_an_entry_not_on_record_changes_nothing(world: World) -> None:
    count = cast_ballots(world)
    first = world.amend(count, CREW, {"note": "read again"})
    world.amend(first, CREW, {"amends": id_of(world, 1)})
    assert seen(world, count).note is None
    assert void(world) == {first.id}


def test_the_links_of_an_amendment_name_every_entry_that_it_may_touch(world: World) -> None:
    count = cast_ballots(world)
    one, two, three = (id_of(world, number) for number in (1, 2, 3))
    nested = {"amends": two, "replaces": {"note": "", "replaces": {"amends": three}}}
    amend = world.amend(one, CREW, nested)
    assert amended_targets(amend.entry) == {one, two, three}
    assert amended_targets(world.amend(one, CREW, {"amends": "no id", "replaces": []}).entry) == {one}
    assert amended_targets(count.entry) == frozenset()


# Rings


def ring(world: World, size: int) -> list[Deed]:
    """Amendments that amend one another in a ring: each id is chosen before its entry is made."""
    ids = [id_of(world, number) for number in range(size)]
    return [
        world.amend(ids[(number + 1) % size], CREW, {"note": f"by {number}"}, id=ids[number]) for number in range(size)
    ]


@pytest.mark.parametrize("size", [1, 2, 3])
def test_amendments_that_lead_back_to_themselves_change_nothing(world: World, size: int) -> None:
    deeds = ring(world, size)
    assert [seen(world, each) for each in deeds] == [each.entry for each in deeds]
    assert void(world) == {each.id for each in deeds}


def test_an_amendment_from_outside_a_ring_still_counts(world: World) -> None:
    deeds = ring(world, 2)
    outside = world.amend(deeds[0], CREW, {"note": "from outside"})
    assert seen(world, deeds[0]).note == "from outside"
    assert void(world) == {each.id for each in deeds}
    assert effective(world, deeds[0]).amended_by == (outside.id,)


def test_a_ring_is_broken_by_aiming_a_member_at_another_entry(world: World) -> None:
    count, deeds = cast_ballots(world), ring(world, 2)
    world.amend(deeds[0], CREW, {"amends": count.id})
    assert seen(world, count).note == "by 0"
    assert void(world) == {deeds[1].id}


def test_an_amendment_aimed_back_at_the_one_that_aims_it_stays_where_it_was(world: World) -> None:
    count, own = cast_ballots(world), id_of(world, 9)
    first = world.amend(count, CREW, {"note": "read again"})
    second = world.amend(first, CREW, {"amends": own}, id=own)
    assert seen(world, count).note == "read again"
    assert void(world) == {second.id}


def test_two_amendments_aimed_at_each_other_by_others_change_nothing(world: World) -> None:
    count = cast_ballots(world)
    one, two = (world.amend(count, CREW, {"note": note}) for note in ("one", "two"))
    world.amend(one, CREW, {"amends": two.id})
    world.amend(two, CREW, {"amends": one.id})
    assert seen(world, count).note is None
    assert void(world) == {one.id, two.id}


def test_a_long_chain_of_amendments_is_followed_to_its_end(world: World) -> None:
    deeds = [cast_ballots(world)]
    for number in range(3_000):
        deeds.append(world.amend(deeds[-1], CREW, {"note": f"{number}"}))
    family = {each.id: each.recorded for each in deeds}
    done = apply_amendments(family)
    assert [done[each.id].entry.note for each in deeds] == [*(f"{number}" for number in range(3_000)), None]


# Any order of arrival


def outcome(world: World, entries: Iterable[Recorded], *, at_once: bool) -> dict[str, Any]:
    book, entries = Book(world.register), list(entries)
    for some in [entries] if at_once else [[each] for each in entries]:
        work_out(book, book.take(some))
    keys = sorted(each.key for found in book.findings.values() for each in found)
    return {each.id: book.effective(each.id).entry for each in entries} | {"findings": keys}


def tangle(world: World) -> None:
    """Two counts, amendments of both and of one another, one aimed elsewhere, a ring aimed at from outside."""
    one, two = cast_ballots(world, 100), cast_ballots(world, 200)
    first = world.amend(one, CREW, {"figures": {"ballots_cast": 110}})
    second = world.amend(first, CREW, {"amends": two.id})
    world.amend(second, CREW, {"replaces": {"amends": two.id, "replaces": {"figures": {"ballots_cast": 120}}}})
    deeds = ring(world, 2)
    world.amend(deeds[1], CREW, {"amends": one.id})


def test_whatever_arrives_first_amendments_come_to_the_same(world: World) -> None:
    tangle(world)
    entries, order = world.recorded(), chance(5)
    expected = outcome(world, entries, at_once=True)
    one, two = (cast(Count, expected[each.id]) for each in entries[:2])
    assert (one.figures, one.note, two.figures) == (
        {Figure.BALLOTS_CAST: 100},
        "by 1",
        {Figure.BALLOTS_CAST: 120},
    )
    for _ in range(40):
        order.shuffle(entries)
        assert outcome(world, entries, at_once=False) == expected
        assert outcome(world, entries, at_once=True) == expected


def test_a_late_amendment_of_an_amendment_is_seen_in_every_order(world: World) -> None:
    count = cast_ballots(world)
    first = world.amend(count, CREW, {"at": "2026-11-03T15:00:00Z"})
    world.amend(first, CREW, {"replaces": {"at": "2026-11-03T16:00:00Z"}})
    entries = world.recorded()
    expected = outcome(world, entries, at_once=True)
    assert expected[count.id].at == world.time("10:00")
    for order in permutations(entries):
        assert outcome(world, order, at_once=False) == expected


def test_the_words_of_an_amendment_are_values_as_they_stand_in_the_payload(world: World) -> None:
    amend = world.amend(cast_ballots(world), CREW, {"figures": {"ballots_cast": 110}})
    assert cast(Amend, amend.entry).replaces == {"figures": {"ballots_cast": 110}}
