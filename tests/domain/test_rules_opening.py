"""Steps left out, steps done too early, tapes signed by too few. Every test spoils one thing in a correct day."""

from __future__ import annotations

from typing import Any

import pytest

from custody.domain.findings import Finding, Severity
from tests.domain.judged import statuses
from tests.domain.rule_checks import found, keys, one
from tests.domain.slips import PLACE, Slip, SlipWorld, day, deed_of, without
from tests.world import ELECTION, HOUR, World

KIT = World(places=1).kits[PLACE]
BEFORE_OPEN = ("seals_verified", "bin_empty", "auxiliary_bin_empty", "zero_tape_signed")
AFTER_CLOSE = ("results_tape_signed", "memory_removed", "bin_emptied", "unit_locked")
RULES = ("step-missing", "step-out-of-order", "tape-signers")


def step(name: str) -> dict[str, Any]:
    return {"kind": "step", "step": name}


def missing(*steps: str) -> list[str]:
    return sorted(f"step-missing/{ELECTION}:{PLACE}:{name}" for name in steps)


def missed(world: SlipWorld, now: int | None = None) -> list[str]:
    return sorted(keys(world, "step-missing", now=now))


def at(clock: str, *names: str) -> Slip:
    """Steps that were written down with another time."""

    def slip(payload: dict[str, Any]) -> dict[str, Any]:
        if payload["kind"] == "step" and payload["step"] in names:
            payload["at"] = f"{payload['at'][:11]}{clock}"
        return payload

    return slip


def test_a_correct_day_gives_none_of_these() -> None:
    assert keys(day(), *RULES) == []


# step-missing, before the polls open


@pytest.mark.parametrize("name", BEFORE_OPEN)
def test_a_step_left_out_before_the_polls_open_is_missing_when_they_do(name: str) -> None:
    world = day(without(step(name)))
    opening = deed_of(world, "step", step="polls_opened")
    finding = one(world, "step-missing")
    assert finding.key == missing(name)[0]
    assert (finding.at, finding.site, finding.origin, finding.entries, finding.severity) == (
        opening.at,
        PLACE,
        PLACE,
        (opening.id,),
        Severity.CRITICAL,
    )
    assert (finding.message, finding.params) == ("step-missing.before", {"place": PLACE, "step": name})


def test_a_step_done_after_the_polls_opened_or_elsewhere_was_not_done() -> None:
    for clock, site in (("07:01", PLACE), ("06:40", "WH")):
        world = day(without(step("bin_empty")))
        world.step("bin_empty", world.chief(PLACE), KIT.scanner, at=world.time(clock), site=site)
        assert statuses(world, "step-missing") == {missing("bin_empty")[0]: ("open", None)}
    world.step("bin_empty", world.chief(PLACE), KIT.scanner, at=world.time("06:41"))
    assert missed(world) == []


def test_policy_lists_the_steps_that_are_wanted() -> None:
    world = day(without(step("bin_empty"), step("keys_tried"), step("unit_locked")))
    assert missed(world) == missing("bin_empty", "unit_locked")
    world.set_policy({"steps": {"before_open": ["seals_verified", "keys_tried"], "after_close": []}})
    assert missed(world) == missing("keys_tried")


def test_without_an_opening_it_is_asked_an_hour_after_the_scheduled_time_where_a_kit_was_issued() -> None:
    world = day(without(step("polls_opened"), step("bin_empty")))
    limit = world.time("07:00") + HOUR
    listed = found(world, "step-missing")
    assert sorted(finding.key for finding in listed) == missing("bin_empty", "polls_opened")
    assert {(finding.at, finding.site, finding.entries) for finding in listed} == {(limit, PLACE, ())}
    assert missed(world, now=limit - 1) == []


@pytest.mark.parametrize(("seconds", "expected"), [(0, []), (1, ["bin_empty"])])
def test_a_step_at_the_very_limit_is_in_time(seconds: int, expected: list[str]) -> None:
    world = day(without(step("polls_opened"), step("bin_empty")))
    world.step("bin_empty", world.chief(PLACE), KIT.scanner, at=world.time("08:00") + seconds)
    assert missed(world) == missing("polls_opened", *expected)


def test_a_place_that_no_kit_was_issued_to_is_not_asked_whether_it_opened_or_closed() -> None:
    """The drivers had its things already; they deliver them, and that is all that is on record of opening and closing."""
    nothing_else = without(
        {"kind": "handoff", "purpose": "issue"},
        *(step(name) for name in (*BEFORE_OPEN, "polls_opened", "polls_closed")),
    )
    assert missed(day(nothing_else)) == []
    world = day(nothing_else)
    clerks, drivers = world.party("warehouse_clerk"), world.drivers(PLACE)
    world.handoff([world.spare.pollbook], clerks, drivers, "issue", at=world.time("09:00", day=-1))
    assert missed(world) == []
    world.handoff([KIT.pollbook], clerks, drivers, "issue", at=world.time("09:01", day=-1))
    assert missed(world) == missing(*BEFORE_OPEN, "polls_opened", "polls_closed")


@pytest.mark.parametrize(
    ("clock", "expected"), [("08:00", (*BEFORE_OPEN, "polls_opened", "polls_closed")), ("08:01", ("polls_closed",))]
)
def test_a_kit_issued_after_a_limit_is_not_asked_about_then(clock: str, expected: tuple[str, ...]) -> None:
    steps = (*BEFORE_OPEN, "polls_opened", "polls_closed")
    world = day(without({"kind": "handoff", "purpose": "issue"}, *(step(name) for name in steps)))
    world.handoff([KIT.pollbook], world.party("warehouse_clerk"), world.chief(PLACE), "issue", at=world.time(clock))
    assert missed(world) == missing(*expected)


# step-missing, the polls themselves


@pytest.mark.parametrize(("name", "clock"), [("polls_opened", "07:00"), ("polls_closed", "20:00")])
def test_polls_that_were_not_opened_or_closed_within_the_hour(name: str, clock: str) -> None:
    world = day(without(step(name)))
    limit = world.time(clock) + HOUR
    finding = one(world, "step-missing")
    assert (finding.key, finding.at, finding.entries, finding.message) == (
        missing(name)[0],
        limit,
        (),
        "step-missing.polls",
    )
    late = world.step(name, world.chief(PLACE), at=limit + 1)
    assert statuses(world, "step-missing")[missing(name)[0]] == ("cleared", late.id)
    world.step(name, world.chief(PLACE), at=limit)
    assert missing(name)[0] not in missed(world)


def test_the_polls_open_with_the_first_such_step() -> None:
    world = day()
    again = world.step("polls_opened", world.chief(PLACE), at=world.time("09:00"))
    assert missed(world) == []
    world = day(without(step("bin_empty")))
    world.step("polls_opened", world.chief(PLACE), at=world.time("06:30"))
    assert {finding.at for finding in found(world, "step-missing")} == {world.time("06:30")}
    assert again.at > world.time("07:00")


def test_polls_are_opened_at_the_place() -> None:
    world = day(without(step("polls_opened")))
    world.step("polls_opened", world.party("warehouse_clerk"), at=world.time("06:00"))
    assert missed(world) == missing("polls_opened")


# step-missing, the auxiliary bin


@pytest.mark.parametrize(
    ("opened", "expected"),
    [("12:30", ["auxiliary_bin_cleared"]), ("11:30", []), ("20:01", []), ("19:59", ["auxiliary_bin_cleared"])],
)
def test_an_auxiliary_bin_opened_after_it_was_last_cleared(opened: str, expected: list[str]) -> None:
    world = day()
    world.step("auxiliary_bin_opened", world.chief(PLACE), KIT.scanner, at=world.time(opened))
    assert missed(world) == missing(*expected)
    closing = deed_of(world, "step", step="polls_closed")
    assert [(each.at, each.entries, each.message) for each in found(world, "step-missing")] == [
        (closing.at, (closing.id,), "step-missing.bin")
    ] * len(expected)


def test_a_bin_that_was_never_opened_need_not_be_cleared() -> None:
    assert missed(day(without(step("auxiliary_bin_opened"), step("auxiliary_bin_cleared")))) == []
    assert missed(day(without(step("auxiliary_bin_cleared")))) == missing("auxiliary_bin_cleared")


def test_without_a_closing_the_bin_is_asked_after_an_hour_later() -> None:
    world = day(without(step("auxiliary_bin_cleared"), step("polls_closed")))
    limit = world.time("20:00") + HOUR
    assert missed(world) == missing("auxiliary_bin_cleared", "polls_closed")
    assert {finding.at for finding in found(world, "step-missing")} == {limit}
    world.step("auxiliary_bin_cleared", world.chief(PLACE), KIT.scanner, at=limit)
    assert missed(world) == missing("polls_closed")


# step-missing, after the polls closed


@pytest.mark.parametrize("name", AFTER_CLOSE)
def test_a_step_left_out_after_the_close_is_missing_when_the_first_container_is_handed_out(name: str) -> None:
    world = day(without(step(name)))
    leaving = deed_of(world, "handoff", purpose="return")
    finding = one(world, "step-missing")
    assert (finding.key, finding.at, finding.entries) == (missing(name)[0], leaving.at, (leaving.id,))
    assert (finding.message, finding.params) == ("step-missing.after", {"place": PLACE, "step": name})
    late = world.step(name, world.chief(PLACE), at=leaving.at + 60)
    assert statuses(world, "step-missing") == {missing(name)[0]: ("cleared", late.id)}
    world.step(name, world.chief(PLACE), at=leaving.at - 60)
    assert missed(world) == []


def test_when_no_container_leaves_it_is_asked_at_the_return_deadline() -> None:
    deadline = World(places=1).time("02:00", day=1)
    world = day(without(step("unit_locked")), until="pack_for_return")
    finding = one(world, "step-missing")
    assert (finding.at, finding.entries, finding.site) == (deadline, (), PLACE)
    assert missed(world, now=deadline - 1) == []
    world.handoff([KIT.case], world.chief(PLACE), world.drivers(PLACE), "return", at=world.time("21:00"))
    assert one(world, "step-missing").at == deadline
    world.handoff([KIT.containers[0]], world.chief(PLACE), world.drivers(PLACE), "return", at=deadline + 1)
    assert one(world, "step-missing").at == deadline
    world.handoff([KIT.containers[1]], world.chief(PLACE), world.drivers(PLACE), "return", at=deadline)
    assert one(world, "step-missing").entries == (world.log[-1].id,)


def test_a_container_handed_out_before_the_close_asks_nothing() -> None:
    world = day(until="noon")
    world.handoff([KIT.containers[1]], world.chief(PLACE), world.drivers(PLACE), "return", at=world.time("12:30"))
    assert missed(world, now=world.time("19:00")) == []


@pytest.mark.parametrize(
    ("name", "expected"), [("results_tape_signed", []), ("memory_removed", []), ("bin_emptied", ["bin_emptied"])]
)
def test_a_step_that_was_done_out_of_order_is_done(name: str, expected: list[str]) -> None:
    world = day(without(step(name)))
    world.step(name, world.chief(PLACE, people=3), KIT.scanner, at=world.time("19:55"))
    assert missed(world) == missing(*expected)


def test_a_device_replaced_at_noon_is_not_the_one_that_comes_out_at_night() -> None:
    world = day(without(step("memory_removed")))
    crew = world.chief(PLACE)
    world.step("memory_removed", crew, KIT.scanner, at=world.time("14:00"))
    assert missed(world) == []
    world.pack(KIT.scanner, [world.spare.memory], crew, at=world.time("14:05"))
    assert missed(world) == missing("memory_removed")


def test_a_place_that_only_had_its_scanner_counted_in_the_warehouse_has_no_steps_to_do() -> None:
    world = World(places=1)
    world.count(KIT.scanner, world.party("warehouse_clerk"), {"public_counter": 0})
    assert keys(world, "step-missing") == []
    world.handoff([KIT.pollbook], world.party("warehouse_clerk"), world.chief(PLACE), "issue")
    assert sorted(keys(world, "step-missing")) == missing(
        *BEFORE_OPEN, "polls_opened", "polls_closed", *AFTER_CLOSE, "closing_count"
    )


# step-missing, the closing count


@pytest.mark.parametrize("figure", ["ballots_cast", "containers_sealed"])
def test_a_closing_count_without_one_of_its_figures_is_missing(figure: str) -> None:
    def slip(payload: dict[str, Any]) -> dict[str, Any]:
        if payload["kind"] == "count":
            payload["figures"].pop(figure, None)
        return payload

    world = day(slip)
    leaving = deed_of(world, "handoff", purpose="return")
    finding = one(world, "step-missing")
    assert (finding.key, finding.at, finding.entries) == (missing("closing_count")[0], leaving.at, (leaving.id,))
    world.count(PLACE, world.chief(PLACE), {figure: 2}, at=world.time("19:59"))
    world.count(PLACE, world.chief(PLACE), {figure: 2}, at=leaving.at + 60)
    assert statuses(world, "step-missing") == {missing("closing_count")[0]: ("open", None)}
    world.count(PLACE, world.chief(PLACE), {figure: 2}, at=leaving.at - 60)
    assert missed(world) == []


def test_what_is_not_controlled_may_leave_before_the_closing_count() -> None:
    for code, expected in ((KIT.pollbook, []), (KIT.tape, ["closing_count"])):
        world = day()
        world.handoff([code], world.chief(PLACE), world.drivers(PLACE), "return", at=world.time("20:03"))
        assert missed(world) == missing(*expected)


def test_a_closing_count_after_the_deadline_clears_when_nothing_has_left() -> None:
    def uncounted(payload: dict[str, Any]) -> dict[str, Any] | None:
        return None if "ballots_cast" in payload.get("figures", {}) else payload

    world = day(uncounted, until="pack_for_return")
    deadline = world.time("02:00", day=1)
    assert (one(world, "step-missing").at, missed(world, now=deadline - 1)) == (deadline, [])
    world.count(PLACE, world.chief(PLACE), {"ballots_cast": 512}, at=deadline)
    late = world.count(PLACE, world.chief(PLACE), {"containers_sealed": 2}, at=deadline + 1)
    world.count(PLACE, world.chief(PLACE), {"ballots_cast": 512, "containers_sealed": 2}, at=deadline + 60)
    assert statuses(world, "step-missing") == {missing("closing_count")[0]: ("cleared", late.id)}
    world.count(PLACE, world.chief(PLACE), {"containers_sealed": 2}, at=deadline)
    assert missed(world) == []


# step-out-of-order


def out_of_order(world: SlipWorld) -> list[Finding]:
    return found(world, "step-out-of-order")


@pytest.mark.parametrize("name", ["results_tape_signed", "memory_removed"])
def test_a_tape_signed_or_a_device_taken_out_before_the_close_is_out_of_order(name: str) -> None:
    world = day()
    deed = world.step(name, world.chief(PLACE, people=3), KIT.scanner, at=world.time("19:59"))
    (finding,) = out_of_order(world)
    assert finding.key == f"step-out-of-order/{deed.id}"
    assert (finding.at, finding.site, finding.entries, finding.severity) == (
        deed.at,
        PLACE,
        (deed.id,),
        Severity.WARNING,
    )
    shown = {"results_tape_signed": ("", ()), "memory_removed": (".scanner", (KIT.scanner,))}[name]
    assert (finding.message, finding.items) == (f"step-out-of-order.{name}{shown[0]}", shown[1])


def test_other_steps_of_the_evening_are_not_out_of_order_and_those_elsewhere_are_not_the_places() -> None:
    world = day()
    world.step("bin_emptied", world.chief(PLACE), KIT.scanner, at=world.time("19:59"))
    world.step("memory_removed", world.party("warehouse_clerk"), KIT.scanner, at=world.time("08:00", day=-1))
    assert out_of_order(world) == []


@pytest.mark.parametrize(("seconds", "expected"), [(-1, 1), (0, 0)])
def test_without_a_closing_step_the_scheduled_time_counts(seconds: int, expected: int) -> None:
    world = day(without(step("polls_closed")))
    world.step("results_tape_signed", world.chief(PLACE, people=3), at=world.time("20:00") + seconds)
    assert len(out_of_order(world)) == expected


@pytest.mark.parametrize("named", [(KIT.scanner,), (KIT.memory,), ()])
@pytest.mark.parametrize(
    ("scanner", "clock", "expected"),
    [
        (KIT.scanner, "14:10", False),
        (KIT.scanner, "20:00", True),
        (KIT.scanner, "13:50", True),
        ("other", "14:10", True),
    ],
)
def test_a_device_that_was_replaced_before_the_close_was_not_taken_out_too_early(
    named: tuple[str, ...], scanner: str, clock: str, expected: bool
) -> None:
    world = day(until="noon")
    crew, spare = world.chief(PLACE), world.spare
    world.unpack(KIT.scanner, [KIT.memory], crew, at=world.time("13:55"))
    deed = world.step("memory_removed", crew, *named, at=world.time("14:00"))
    world.pack(spare.scanner if scanner == "other" else scanner, [spare.memory], crew, at=world.time(clock))
    if not named and scanner == "other":
        expected = False  # nobody said which scanner it was about
    assert [finding.key for finding in out_of_order(world)] == ([f"step-out-of-order/{deed.id}"] if expected else [])


def test_something_else_packed_into_the_scanner_replaces_no_device() -> None:
    world = day(until="noon")
    deed = world.step("memory_removed", world.chief(PLACE), KIT.scanner, at=world.time("14:00"))
    world.pack(KIT.scanner, [KIT.tape], world.chief(PLACE), at=world.time("14:05"))
    assert [finding.key for finding in out_of_order(world)] == [f"step-out-of-order/{deed.id}"]


# tape-signers


def signing(name: str, *people: str, observers: tuple[str, ...] = (), by: int = 3) -> SlipWorld:
    world = day(without(step(name)))
    crew = world.chief(PLACE, people=by)
    clock = world.time("06:30" if name == "zero_tape_signed" else "20:02")
    world.step(name, crew, KIT.tape, at=clock, signed_by=people, observers=list(observers) or None)
    return world


@pytest.mark.parametrize("name", ["zero_tape_signed", "results_tape_signed"])
def test_a_tape_signed_by_two_where_policy_asks_for_three(name: str) -> None:
    world = signing(name, f"CHIEF-{PLACE}", f"WORKER-1-{PLACE}")
    deed = world.log[-1]
    finding = one(world, "tape-signers")
    assert finding.key == f"tape-signers/{deed.id}"
    assert (finding.at, finding.site, finding.entries, finding.severity) == (
        deed.at,
        PLACE,
        (deed.id,),
        Severity.WARNING,
    )
    assert (finding.message, finding.params) == (f"tape-signers.{name}", {"signed": 2, "asked": 3})
    world.set_policy({"tape": {"signers": 2}})
    assert keys(world, "tape-signers") == []


def test_observers_who_sign_a_tape_count_and_people_whom_the_entry_does_not_name_do_not() -> None:
    two = (f"CHIEF-{PLACE}", f"WORKER-1-{PLACE}")
    assert keys(signing("zero_tape_signed", *two, "WATCH-1", observers=("WATCH-1",), by=2), "tape-signers") == []
    assert len(keys(signing("zero_tape_signed", *two, observers=("WATCH-1",), by=2), "tape-signers")) == 1
    assert len(keys(signing("zero_tape_signed", *two, "WATCH-1", by=2), "tape-signers")) == 1


def test_a_signature_that_comes_later_counts_too() -> None:
    world = signing("zero_tape_signed", f"CHIEF-{PLACE}", f"WORKER-1-{PLACE}")
    world.sign_later(world.log[-1], f"WORKER-2-{PLACE}", received=world.log[-1].at + 600)
    assert keys(world, "tape-signers") == []


def test_other_steps_need_no_three_signers() -> None:
    assert keys(signing("seals_verified", f"CHIEF-{PLACE}"), "tape-signers") == []
