"""What has not come back, was not read in, lies unopened. Every test leaves something out of a correct day."""

from __future__ import annotations

from typing import Any

import pytest

from custody.domain.findings import Severity
from tests.domain.judged import statuses
from tests.domain.rule_checks import keys, one
from tests.domain.slips import PLACE, Slip, SlipWorld, both, day, deed_of, without
from tests.world import ELECTION, HOUR, World, reading

KIT = World(places=1).kits[PLACE]
SPARE = World(places=1).spare
BOX = KIT.containers[0]
DEADLINE = World(places=1).time("02:00", day=1)
CLOSED = World(places=1).time("20:00")
RULES = ("unreturned", "not-read-in", "unopened")


def unreturned(*codes: str) -> list[str]:
    return sorted(f"unreturned/{ELECTION}:{code}" for code in codes)


def left_behind(code: str) -> Slip:
    """A thing that nobody hands over any more once the polls closed, and that nobody unpacks."""

    def slip(payload: dict[str, Any]) -> dict[str, Any] | None:
        if payload["at"] > "2026-11-04T01:00:00Z" and payload["kind"] in ("handoff", "unseal", "seal"):
            for member in ("items", "seals"):
                kept = payload.get(member, [])
                payload[member] = [
                    each for each in kept if code not in (each, each["item"] if member == "seals" else "")
                ]
            if payload["kind"] != "handoff" and not payload["seals"]:
                return None
            payload = {name: value for name, value in payload.items() if value != []}
            if payload["kind"] == "handoff" and "items" not in payload:
                return None
        return payload

    return slip


def test_a_correct_day_gives_none_of_these() -> None:
    assert keys(day(), *RULES) == []


# unreturned


def test_a_container_left_at_the_place_is_unreturned_after_the_deadline() -> None:
    world = day(left_behind(BOX))
    since = deed_of(world, "handoff", purpose="issue")
    finding = one(world, "unreturned")
    assert finding.key == unreturned(BOX)[0]
    assert (finding.at, finding.site, finding.entries, finding.items, finding.severity) == (
        DEADLINE,
        PLACE,
        (),
        (BOX,),
        Severity.CRITICAL,
    )
    assert finding.began is not None
    assert finding.began.entry == since.id
    assert keys(world, "unreturned", now=DEADLINE - 1) == []


@pytest.mark.parametrize(("seconds", "status"), [(0, None), (1, "cleared")])
def test_what_comes_in_at_the_deadline_is_in_time_and_what_comes_later_clears_it(
    seconds: int, status: str | None
) -> None:
    world = day(left_behind(BOX))
    drivers, desk = world.drivers(PLACE), world.party("receiving_clerk")
    world.handoff([BOX], world.chief(PLACE), drivers, "return", at=DEADLINE - HOUR)
    back = world.handoff([BOX], drivers, desk, "return", at=DEADLINE + seconds)
    assert statuses(world, "unreturned") == ({} if status is None else {unreturned(BOX)[0]: (status, back.id)})


def test_what_nobody_at_the_desk_signed_for_is_not_back() -> None:
    unsigned = SlipWorld()
    unsigned.until(PLACE, "pack_for_return")
    drivers = unsigned.depart(PLACE).payload["receive"]
    unsigned.handoff(
        [KIT.case],
        drivers,
        unsigned.party("receiving_clerk"),
        "return",
        signed_by=drivers["people"],
        at=DEADLINE - HOUR,
    )
    assert {*unreturned(KIT.case, KIT.memory)} < {*keys(unsigned, "unreturned")}
    deed = unsigned.log[-1]
    unsigned.sign_later(deed, "DESK-1", received=DEADLINE - 60)
    assert not {*unreturned(KIT.case, KIT.memory)} & {*keys(unsigned, "unreturned")}


@pytest.mark.parametrize(
    ("role", "code", "back"),
    [
        ("receiving_clerk", KIT.memory, True),
        ("vault_custodian", KIT.memory, True),
        ("warehouse_clerk", KIT.memory, False),
        ("warehouse_clerk", KIT.pollbook, True),
        ("courier", KIT.pollbook, False),
    ],
)
def test_who_can_take_a_thing_back(role: str, code: str, back: bool) -> None:
    world = SlipWorld()
    world.until(PLACE, "issue_kit")
    world.handoff([code], world.chief(PLACE), world.party(role, PLACE if role == "courier" else None), "return")
    assert (unreturned(code)[0] in keys(world, "unreturned")) is not back


@pytest.mark.parametrize(
    ("code", "owed"),
    [(KIT.keys, True), (KIT.pollbook, True), (KIT.envelope, True), (KIT.scanner, False)],
)
def test_policy_says_which_kinds_must_be_back(code: str, owed: bool) -> None:
    world = SlipWorld()
    world.until(PLACE, "issue_kit")
    assert (unreturned(code)[0] in keys(world, "unreturned")) is owed
    row = {"controlled": "no", "sealed": "no", "returned": not owed}
    world.set_policy({"items": {str(world.register.items[code].kind): row}})
    assert (unreturned(code)[0] in keys(world, "unreturned")) is not owed


def test_an_unplanned_spare_is_owed_from_its_use_on() -> None:
    world = day()
    assert keys(world, "unreturned") == []
    used = world.pack(KIT.scanner, [SPARE.memory], world.chief(PLACE), at=world.time("14:00"))
    finding = one(world, "unreturned")
    assert (finding.key, finding.site, finding.at) == (unreturned(SPARE.memory)[0], PLACE, DEADLINE)
    assert finding.began is not None
    assert finding.began.entry == used.id


def test_what_is_put_to_use_after_the_deadline_is_unreturned_at_once() -> None:
    world = day()
    used = world.inspect(
        [(SPARE.case, "latch"), reading(SPARE.case, "latch", "S9")], world.chief(PLACE), at=DEADLINE + 9
    )
    finding = one(world, "unreturned")
    assert (finding.key, finding.at, finding.entries) == (unreturned(SPARE.case)[0], used.at, (used.id,))


def test_a_spare_that_went_on_to_another_place_is_asked_of_the_last() -> None:
    world = World(places=2)
    first = world.handoff([SPARE.memory], world.party("warehouse_clerk"), world.chief("P01"), "deliver")
    world.handoff([SPARE.memory], world.chief("P01"), world.chief("P02"), "transfer")
    finding = one(world, "unreturned")
    assert finding.site == "P02"
    assert finding.began is not None
    assert finding.began.entry == first.id
    world.handoff([SPARE.memory], world.chief("P02"), world.party("receiving_clerk"), "return")
    assert keys(world, "unreturned") == []


def test_a_thing_that_is_on_no_register_is_owed_by_nobody() -> None:
    world = World(places=1)
    world.handoff(["BC99999X"], world.party("warehouse_clerk"), world.chief(PLACE), "issue")
    assert keys(world, "unreturned") == []


# not-read-in

READ_IN = {"kind": "step", "step": "results_read_in"}


def test_a_device_at_work_that_was_not_read_in_within_a_day_of_the_close() -> None:
    world = day(without(READ_IN))
    packed = deed_of(world, "pack", container=KIT.scanner)
    limit = CLOSED + 24 * HOUR
    finding = one(world, "not-read-in")
    assert finding.key == f"not-read-in/{ELECTION}:{KIT.memory}"
    assert (finding.at, finding.site, finding.entries, finding.items, finding.severity) == (
        limit,
        PLACE,
        (),
        (KIT.memory,),
        Severity.WARNING,
    )
    assert finding.began is not None
    assert finding.began.entry == packed.id
    assert keys(world, "not-read-in", now=limit - 1) == []


def test_reading_in_clears_it_late_and_prevents_it_in_time() -> None:
    key = f"not-read-in/{ELECTION}:{KIT.memory}"
    for seconds, expected in ((0, False), (1, True)):
        world = day(without(READ_IN))
        team = world.party("receiving_clerk", "CC")
        done = world.step("results_read_in", team, KIT.memory, at=CLOSED + 24 * HOUR + seconds)
        assert statuses(world, "not-read-in") == ({key: ("cleared", done.id)} if expected else {})


def test_the_limit_runs_from_the_step_by_which_the_polls_closed() -> None:
    world = day(both(without(READ_IN), without({"kind": "step", "step": "polls_closed"})))
    assert one(world, "not-read-in").at == CLOSED + 24 * HOUR
    world.step("polls_closed", world.chief(PLACE), at=CLOSED + 600)
    assert one(world, "not-read-in").at == CLOSED + 600 + 24 * HOUR
    world.set_policy({"read_in": {"hours": 10}})
    assert one(world, "not-read-in").at == CLOSED + 600 + 10 * HOUR


def test_a_reading_in_before_the_polls_opened_was_a_test() -> None:
    world = day(without(READ_IN))
    world.step("results_read_in", world.party("receiving_clerk", "CC"), KIT.memory, at=world.time("06:00"))
    assert len(keys(world, "not-read-in")) == 1
    world.step("results_read_in", world.party("receiving_clerk", "CC"), KIT.memory, at=world.time("21:00"))
    assert keys(world, "not-read-in") == []


@pytest.mark.parametrize(
    ("packed", "unpacked", "expected"),
    [
        ("05:00", "06:30", False),
        ("05:00", "12:30", True),
        ("14:00", None, True),
        ("20:01", None, False),
        (None, None, False),
    ],
)
def test_only_a_device_that_was_in_a_scanner_while_the_polls_were_open_is_asked_for(
    packed: str | None, unpacked: str | None, expected: bool
) -> None:
    world = day()
    crew, spare = world.chief(PLACE), SPARE
    world.handoff([spare.memory], world.party("warehouse_clerk"), crew, "deliver", at=world.time("04:50"))
    if packed:
        world.pack(spare.scanner, [spare.memory], crew, at=world.time(packed))
    if unpacked:
        world.unpack(spare.scanner, [spare.memory], crew, at=world.time(unpacked))
    assert keys(world, "not-read-in") == ([f"not-read-in/{ELECTION}:{spare.memory}"] if expected else [])


def test_a_device_that_reached_the_place_after_the_close_was_not_at_work_there() -> None:
    world = day()
    clerks = world.party("warehouse_clerk")
    world.pack(SPARE.scanner, [SPARE.memory], clerks, at=world.time("08:00"))
    world.handoff([SPARE.scanner], clerks, world.chief(PLACE), "deliver", at=world.time("20:10"))
    assert keys(world, "not-read-in") == []
    world.handoff([SPARE.scanner], clerks, world.chief(PLACE), "deliver", at=world.time("19:50"))
    assert keys(world, "not-read-in") == [f"not-read-in/{ELECTION}:{SPARE.memory}"]


@pytest.mark.parametrize("other", ["P01", "P02"])
def test_a_device_that_two_places_had_at_work_is_asked_of_one_of_them_whatever_came_first(other: str) -> None:
    """`one` shuffles the order of arrival; both places close at the same hour."""
    world = World(places=2)
    first = "P02" if other == "P01" else "P01"
    kit = world.until(first, "open_polls")
    world.until(other, "issue_kit")
    world.act("handoff", items=[kit.scanner], release=world.chief(first), receive=world.chief(other),
              purpose="deliver", at=world.time("13:00"))  # fmt: skip
    found = [key for key in keys(world, "not-read-in") if kit.memory in key]
    assert found == [f"not-read-in/{ELECTION}:{kit.memory}"]


# unopened


def at_the_count_center(*, slip: Slip | None = None) -> SlipWorld:
    """The case comes to the count center, sealed, and nobody does anything with it there."""
    return day(slip, until="move_on")


def test_a_case_that_lies_unopened_for_three_days() -> None:
    world = at_the_count_center()
    received = next(deed for deed in reversed(world.log) if deed.payload.get("receive", {}).get("site") == "CC")
    limit = CLOSED + 72 * HOUR
    finding = one(world, "unopened")
    assert finding.key == f"unopened/{ELECTION}:{KIT.case}"
    assert (finding.at, finding.site, finding.entries, finding.items, finding.severity) == (
        limit,
        "CC",
        (),
        (KIT.case,),
        Severity.WARNING,
    )
    assert finding.began is not None
    assert finding.began.entry == received.id
    assert keys(world, "unopened", now=limit - 1) == []
    world.set_policy({"opened": {"hours": 80}})
    assert one(world, "unopened").at == CLOSED + 80 * HOUR


@pytest.mark.parametrize("what", ["unsealed", "handed on", "unsealed elsewhere", "unsealed on the road"])
@pytest.mark.parametrize(("seconds", "late"), [(0, False), (1, True)])
def test_unsealing_there_and_handing_on_put_it_right(what: str, seconds: int, late: bool) -> None:
    world = at_the_count_center()
    team, at = world.party("receiving_clerk", "CC"), CLOSED + 72 * HOUR + seconds
    if what == "handed on":
        done = world.handoff([KIT.case], team, world.party("vault_custodian"), "store", at=at)
    else:
        site = {"unsealed": "CC", "unsealed elsewhere": "WH"}.get(what)
        done = world.unseal([KIT.case], team, "count", at=at, site=site)
    key = f"unopened/{ELECTION}:{KIT.case}"
    expected = {key: ("cleared", done.id)} if late else {}
    assert statuses(world, "unopened") == (expected if what in ("unsealed", "handed on") else {key: ("open", None)})


def test_what_is_received_after_the_limit_is_unopened_from_its_receipt() -> None:
    world = at_the_count_center()
    team, at = world.party("receiving_clerk", "CC"), CLOSED + 90 * HOUR
    moved = world.handoff([KIT.case], team, world.party("receiving_clerk"), "transfer", at=at)
    finding = one(world, "unopened")
    assert (finding.at, finding.site, finding.entries) == (at, "RS", (moved.id,))


def test_without_a_seal_of_the_day_or_inside_another_nothing_need_be_opened() -> None:
    def no_seal_on_case(payload: dict[str, Any]) -> dict[str, Any] | None:
        on_case = payload["kind"] == "seal" and payload["seals"][0]["item"] == KIT.case
        return None if on_case else payload

    def no_reading(payload: dict[str, Any]) -> dict[str, Any] | None:
        if payload["kind"] == "handoff" and "seals" in payload:
            payload["seals"] = [each for each in payload["seals"] if each["item"] != KIT.case]
        return payload

    assert keys(at_the_count_center(slip=both(no_seal_on_case, no_reading)), "unopened") == []
    world = at_the_count_center()
    assert f"unopened/{ELECTION}:{KIT.envelope}" not in keys(world, "unopened")


def test_a_container_in_the_vault_waits_there_for_good() -> None:
    world = day(until="move_on")
    assert not [key for key in keys(world, "unopened") if BOX in key]
    world = day(until="bring_back")
    assert f"unopened/{ELECTION}:{BOX}" in keys(world, "unopened")
