"""What is in place at a seal point after readings, mismatches and misreadings (rules of the record, "Seals")."""

from __future__ import annotations

import pytest

from custody.domain.book import derive
from custody.domain.seal_states import NumberRead, NumberState, SealOn
from custody.domain.states import Moment
from custody.domain.views import number_key
from tests.domain.judged import findings, item_now, keys, statuses
from tests.world import ELECTION, HOUR, MAKER, OTHER_MAKER, Deed, World, reading

A, B, C = "S0001000", "S0001001", "S0001002"
SHARED = "T0000001"  # a number that two makers have
READ = ("seal-mismatch", "seal-not-intact")
Seen = str | dict[str, str]


class Sealed(World):
    """One ballot container at P01, seal A at its front; `look` reads that point once more, by the same two people."""

    def __init__(self, *first: str) -> None:
        super().__init__(places=1)
        self.box, self.crew = self.kits["P01"].containers[0], self.chief("P01")
        self.at = self.time("20:00")
        self.enter([self.box], self.crew)
        for number in first:
            self.put_on(number)

    def put_on(self, number: str, maker: str = "") -> Deed:
        return self.seal([reading(self.box, "front", number, maker=maker)], self.crew)

    def take_off(self, number: str) -> Deed:
        return self.unseal([reading(self.box, "front", number)], self.crew, "replace_seal")

    def at_front(self, seen: Seen) -> dict[str, str]:
        """A number found intact, a state without number, or the members of a reading."""
        if isinstance(seen, dict):
            return reading(self.box, "front", **seen)
        if seen in ("missing", "unreadable"):
            return reading(self.box, "front", state=seen)
        return reading(self.box, "front", seen)

    def look(self, *seen: Seen) -> Deed:
        return self.inspect([self.at_front(each) for each in seen], self.crew)

    def on_front(self) -> str | None:
        seal = item_now(self, self.box).point("front").seal
        return seal.number if seal else None

    def mismatch(self, deed: Deed) -> str:
        return f"seal-mismatch/{deed.id}:{self.box}:front"

    def not_intact(self, number: str, state: str) -> str:
        return f"seal-not-intact/{self.box}:front:{number}:{state}"


OPEN = ("open", None)


def cleared(deed: Deed) -> tuple[str, str]:
    return ("cleared", deed.id)


# A point has no seal, or one number in place


def test_a_point_has_no_seal_until_one_is_put_on_and_none_after_it_came_off() -> None:
    world = Sealed()
    assert world.on_front() is None
    world.put_on(A)
    assert world.on_front() == A
    world.look(A)
    world.take_off(A)
    assert world.on_front() is None
    assert keys(world, *READ) == []


def test_points_of_one_item_are_apart() -> None:
    world = Sealed(A)
    look = world.inspect([reading(world.box, "back", B), reading(world.box, "front", A)], world.crew)
    assert keys(world, *READ) == [f"seal-mismatch/{look.id}:{world.box}:back"]
    assert {point: seal.number for point, seal in item_now(world, world.box).seals.items()} == {"front": A, "back": B}


# After a mismatch the number that was read is the one in place


def test_one_swap_gives_one_finding_however_often_the_new_number_is_read() -> None:
    world = Sealed(A)
    swapped = world.look(B)
    world.look(B)
    world.look(B)
    assert statuses(world, *READ) == {world.mismatch(swapped): OPEN}
    assert world.on_front() == B


def test_a_number_where_the_record_has_no_seal_is_in_place_from_then_on() -> None:
    world = Sealed()
    found = world.look(A)
    world.look(A)
    assert keys(world, *READ) == [world.mismatch(found)]
    assert world.on_front() == A


def test_a_missing_seal_leaves_none_and_is_one_finding() -> None:
    world = Sealed(A)
    world.look("missing")
    world.look("missing")
    assert statuses(world, *READ) == {world.not_intact(A, "missing"): OPEN}
    assert world.on_front() is None


def test_missing_where_the_record_has_no_seal_is_as_it_should_be() -> None:
    world = Sealed()
    world.look("missing")
    assert keys(world, *READ) == []


def test_a_number_that_cannot_be_read_leaves_the_seal_in_place() -> None:
    world = Sealed(A)
    world.look("unreadable")
    assert keys(world, *READ) == [world.not_intact(A, "unreadable")]
    assert world.on_front() == A


def test_an_unreadable_seal_where_the_record_has_none_is_no_finding() -> None:
    world = Sealed()
    world.look("unreadable")
    assert keys(world, *READ) == []
    assert world.on_front() is None


# Several readings of one point in one entry


@pytest.mark.parametrize(
    ("listed", "counts"),
    [
        ((A, B), A),  # the one that equals the record counts, wherever it stands
        ((B, A), A),
        ((B, A, C), A),
        ((B, C), C),  # none does: the last listed
        (("missing", A), A),
        ((B, "missing"), None),
        (("missing", B), B),
        ((B, "unreadable"), B),  # what could not be read shows nothing
    ],
)
def test_readings_that_differ_are_one_mismatch(listed: tuple[str, ...], counts: str | None) -> None:
    world = Sealed(A)
    look = world.look(*listed)
    assert keys(world, "seal-mismatch") == [world.mismatch(look)]
    assert world.on_front() == counts


@pytest.mark.parametrize("listed", [(A,), (A, A), (A, "unreadable"), ("unreadable", A)])
def test_readings_that_agree_with_the_record_are_no_mismatch(listed: tuple[str, ...]) -> None:
    world = Sealed(A)
    world.look(*listed)
    assert keys(world, "seal-mismatch") == []
    assert world.on_front() == A


def test_the_same_wrong_number_twice_is_one_mismatch() -> None:
    world = Sealed(A)
    look = world.look(B, B)
    assert keys(world, *READ) == [world.mismatch(look)]


def test_missing_and_a_number_where_no_seal_is_count_as_missing() -> None:
    world = Sealed()
    look = world.look(B, "missing")
    assert keys(world, *READ) == [world.mismatch(look)]
    assert world.on_front() is None


def test_a_reading_that_does_not_count_says_nothing_of_the_state_either() -> None:
    world = Sealed(A)
    look = world.look({"number": B, "state": "damaged"}, A, "missing")
    assert keys(world, *READ) == [world.mismatch(look)]
    assert world.on_front() == A


def test_a_state_seen_in_either_of_two_equal_readings_is_found() -> None:
    world = Sealed(A)
    world.look(A, {"number": A, "state": "not_holding"}, "unreadable")
    assert keys(world, *READ) == [world.not_intact(A, "not_holding"), world.not_intact(A, "unreadable")]


# A reading that returns


def test_a_reading_that_returns_clears_the_mismatch_and_restores_the_seal() -> None:
    world = Sealed(A)
    before = item_now(world, world.box).point("front")
    wrong = world.look(B)
    right = world.look(A)
    world.look(A)
    assert statuses(world, *READ) == {world.mismatch(wrong): cleared(right)}
    assert item_now(world, world.box).point("front") == before


def test_a_reading_that_returns_clears_a_missing_seal() -> None:
    world = Sealed(A)
    world.look("missing")
    right = world.look(A)
    assert statuses(world, *READ) == {world.not_intact(A, "missing"): cleared(right)}
    assert world.on_front() == A


def test_readings_in_one_entry_that_differed_are_cleared_by_the_next_that_agrees_with_the_record() -> None:
    world = Sealed(A)
    wrong = world.look(A, B)
    assert statuses(world, *READ) == {world.mismatch(wrong): OPEN}
    right = world.look(A)
    assert statuses(world, *READ) == {world.mismatch(wrong): cleared(right)}


def test_a_third_number_clears_nothing() -> None:
    world = Sealed(A)
    first, second = world.look(B), world.look(C)
    assert statuses(world, *READ) == {world.mismatch(first): OPEN, world.mismatch(second): OPEN}
    assert world.on_front() == C


def test_only_the_number_before_the_last_mismatch_returns() -> None:
    world = Sealed(A)
    deeds = [world.look(B), world.look(C), world.look(A)]
    assert statuses(world, *READ) == {world.mismatch(each): OPEN for each in deeds}
    assert world.on_front() == A


def test_misreadings_are_undone_in_turn() -> None:
    world = Sealed(A)
    first, second, back, home = world.look(B), world.look(C), world.look(B), world.look(A)
    assert statuses(world, *READ) == {world.mismatch(first): cleared(home), world.mismatch(second): cleared(back)}
    assert world.on_front() == A


def test_after_missing_and_another_number_the_first_does_not_return() -> None:
    world = Sealed(A)
    world.look("missing")
    other = world.look(B)
    again = world.look(A)
    assert statuses(world, *READ) == {
        world.not_intact(A, "missing"): OPEN,
        world.mismatch(other): OPEN,
        world.mismatch(again): OPEN,
    }


def test_a_number_where_no_seal_was_has_nothing_to_return_to() -> None:
    world = Sealed()
    wrong = world.look(B)
    world.look("missing")
    assert statuses(world, *READ) == {world.mismatch(wrong): OPEN, world.not_intact(B, "missing"): OPEN}


@pytest.mark.parametrize("between", ["seal", "unseal"])
def test_a_seal_or_unseal_entry_between_ends_the_return(between: str) -> None:
    world = Sealed(A)
    wrong = world.look(B)
    if between == "seal":
        world.put_on(B)  # counts as a reading of B, and says that B is on
    else:
        world.take_off(B)
    again = world.look(A)
    assert statuses(world, *READ) == {world.mismatch(wrong): OPEN, world.mismatch(again): OPEN}


def test_a_seal_entry_at_another_point_does_not_end_the_return() -> None:
    world = Sealed(A)
    wrong = world.look(B)
    world.seal([reading(world.box, "back", C)], world.crew)
    right = world.look(A)
    assert statuses(world, *READ) == {world.mismatch(wrong): cleared(right)}


def test_the_reading_of_an_unseal_entry_clears_before_the_seal_comes_off() -> None:
    world = Sealed(A)
    wrong = world.look(B)
    off = world.take_off(A)
    assert statuses(world, *READ) == {world.mismatch(wrong): cleared(off)}
    assert world.on_front() is None


def test_a_seal_entry_with_the_number_in_place_is_a_reading_that_clears_too() -> None:
    world = Sealed(A)
    wrong = world.look(A, B)
    again = world.put_on(A)
    assert statuses(world, *READ) == {world.mismatch(wrong): cleared(again)}
    assert keys(world, "seal-reused", "seal-over-seal") == []


def test_a_seal_missed_once_by_mistake_and_then_truly_gone_is_open_again() -> None:
    world = Sealed(A)
    world.look("missing")
    right = world.look(A)
    assert statuses(world, *READ) == {world.not_intact(A, "missing"): cleared(right)}
    world.look("missing")
    assert statuses(world, *READ) == {world.not_intact(A, "missing"): OPEN}


def test_a_clearing_lasts_only_as_long_as_the_entry_that_cleared_says_so() -> None:
    world = Sealed(A)
    wrong = world.look(B)
    right = world.look(A)
    assert statuses(world, *READ) == {world.mismatch(wrong): cleared(right)}
    late = world.act(
        "unseal",
        seals=[reading(world.box, "front", B)],
        reason="replace_seal",
        by=world.crew,
        at=wrong.at + 30,
        received=world.at + HOUR,
    )
    assert late.at < right.at
    assert statuses(world, *READ) == {world.mismatch(wrong): OPEN, world.mismatch(right): OPEN}


def test_a_finding_that_was_explained_and_then_cleared_is_cleared() -> None:
    world = Sealed(A)
    wrong = world.look(B)
    said = world.resolve(world.mismatch(wrong), world.party("official"))
    assert statuses(world, *READ) == {world.mismatch(wrong): ("resolved", said.id)}
    right = world.look(A)
    assert statuses(world, *READ) == {world.mismatch(wrong): cleared(right)}


# What is restored


def night(*, misread_at: str, seen: str) -> tuple[World, str]:
    """A day up to the vault; at one handoff of the evening the front seal of the first box is misread as `seen`."""
    world = World(places=1)
    kit = world.until("P01", "pack_for_return")
    box = kit.containers[0]
    number = world.in_place[box, "front"]
    for phase in ("depart", "arrive"):
        if phase == misread_at:
            if seen == "missing":
                del world.in_place[box, "front"]
            else:
                world.in_place[box, "front"] = seen
            misread = getattr(world, phase)("P01")
            if seen == "missing":
                misread.payload["seals"].append(reading(box, "front", state="missing"))
                world.log.remove(misread)
                world.write(misread.payload, signers=misread.signers, received=misread.received)
            world.in_place[box, "front"] = number
        else:
            getattr(world, phase)("P01")
    return world, box


@pytest.mark.parametrize("misread_at", ["depart", "arrive"])
@pytest.mark.parametrize("seen", ["S0001039", "missing"])
def test_a_return_restores_the_seal_of_the_day_in_departure_and_receipt(misread_at: str, seen: str) -> None:
    expected = World(places=1)
    expected.until("P01", "pack_for_return")
    expected.depart("P01")
    expected.arrive("P01")
    world, box = night(misread_at=misread_at, seen=seen)
    if misread_at == "arrive":
        (receipt,) = item_now(world, box).receipts
        assert world.in_place[box, "front"] not in [seal.number for seal in receipt.seals]
    world.wait(10)
    world.inspect([box], world.party("receiving_clerk"))

    def seals(each: World) -> list[tuple[set[SealOn], ...]]:
        state = item_now(each, box)
        return [tuple(set(one.seals) for one in seen) for seen in (state.departures, state.receipts)]

    assert seals(world) == seals(expected)
    assert [len(each) for each in seals(expected)] == [1, 1]
    assert [status for status, _ in statuses(world, *READ).values()] == ["cleared"]


def number_now(world: World, number: str) -> NumberState:
    state = derive(world.recorded(), world.register).tracks.last(number_key(number))
    assert isinstance(state, NumberState)
    return state


def test_a_number_that_was_read_is_on_record_until_it_proves_misread() -> None:
    world = Sealed(A)
    wrong = world.look(B)
    seen = NumberRead(since=Moment(wrong.at, wrong.id), item=world.box, point="front")
    assert number_now(world, B).read == (seen,)
    world.look(A)
    assert number_now(world, B).read == ()


# Makers


def test_the_same_number_of_another_maker_is_a_mismatch() -> None:
    world = Sealed()
    world.put_on(SHARED, MAKER)
    look = world.look({"number": SHARED, "maker": OTHER_MAKER})
    assert keys(world, *READ) == [world.mismatch(look)]


@pytest.mark.parametrize("maker", ["", MAKER])
def test_a_number_read_without_maker_or_with_the_right_one_is_the_seal_in_place(maker: str) -> None:
    world = Sealed()
    world.put_on(SHARED, MAKER)
    world.look({"number": SHARED, "maker": maker})
    assert keys(world, *READ) == []


def test_two_makers_in_two_readings_of_one_entry_are_a_mismatch() -> None:
    world = Sealed()
    world.put_on(SHARED, MAKER)
    look = world.look({"number": SHARED, "maker": MAKER}, {"number": SHARED, "maker": OTHER_MAKER})
    assert keys(world, *READ) == [world.mismatch(look)]


def test_a_number_without_maker_that_fits_the_seal_in_place_returns_to_no_older_one() -> None:
    world = Sealed()
    world.put_on(SHARED, MAKER)
    wrong = world.look({"number": SHARED, "maker": OTHER_MAKER})
    world.look(SHARED)
    assert statuses(world, *READ) == {world.mismatch(wrong): OPEN}
    right = world.look({"number": SHARED, "maker": MAKER})
    assert statuses(world, *READ) == {world.mismatch(wrong): cleared(right)}


# Other entries that read


def test_a_container_that_is_sealed_counts_as_shown_empty_no_longer() -> None:
    world = Sealed()
    world.step("shown_empty", world.crew, world.box)
    assert item_now(world, world.box).shown_empty is True
    world.put_on(A)
    assert item_now(world, world.box).shown_empty is False


def test_a_handoff_reads_as_an_inspection_does() -> None:
    world = Sealed(A)
    out = world.handoff([world.box], world.crew, world.drivers("P01"), "return", seals=[reading(world.box, "front", B)])
    assert keys(world, *READ) == [world.mismatch(out)]
    desk = world.handoff(
        [world.box],
        world.drivers("P01"),
        world.party("receiving_clerk"),
        "return",
        seals=[reading(world.box, "front", A)],
    )
    assert statuses(world, *READ) == {world.mismatch(out): cleared(desk)}


def test_a_late_seal_entry_withdraws_the_mismatch_that_its_lack_made() -> None:
    world = Sealed()
    look = world.look(A)
    assert keys(world, *READ) == [world.mismatch(look)]
    world.act("seal", seals=[reading(world.box, "front", A)], by=world.crew, at=look.at - 30, received=look.at + HOUR)
    assert findings(world, *READ) == []
    assert item_now(world, world.box).point("front").seal == SealOn(
        number=A, maker=MAKER, since=Moment(look.at - 30, world.log[-1].id), site="P01", election=ELECTION
    )
