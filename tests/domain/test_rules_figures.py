"""Figures against one another. Every test spoils one thing in a correct day; its twin is the day itself."""

from __future__ import annotations

from typing import Any

import pytest

from custody.domain.findings import Finding, Severity
from tests.domain.rule_checks import found, keys, one
from tests.domain.slips import PLACE, Slip, SlipWorld, both, day, deed_of, figures, without
from tests.world import CAST, ELECTION, LIFETIME, RECEIVED, SPOILED, UNUSED, World, reading

KIT = World(places=1).kits[PLACE]
SPARE = World(places=1).spare
BOX_1, BOX_2 = KIT.containers
RULES = ("memory-left-in", "set-short", "count-differs", "checkins-differ", "counter-not-zero")


def shown(finding: Finding) -> dict[str, Any]:
    return {name: value for name, value in finding.params.items() if name not in ("items", "place")}


def test_a_correct_day_gives_none_of_these() -> None:
    assert keys(day(), *RULES) == []


# memory-left-in


def closed_with_device_inside(**policy: bool) -> SlipWorld:
    world = SlipWorld()
    if policy:
        world.set_policy({"memory": policy})
    world.until(PLACE, "noon")
    world.at = world.time("20:00")
    return world


def test_a_scanner_sealed_after_the_close_with_its_device_inside_is_named_once() -> None:
    world = closed_with_device_inside()
    crew = world.chief(PLACE)
    world.step("polls_closed", crew)
    world.unseal([KIT.scanner], crew, "close_polls")
    deed = world.seal([KIT.scanner], crew)
    world.handoff([KIT.scanner], crew, world.drivers(PLACE), "return")
    finding = one(world, "memory-left-in")
    assert finding.key == f"memory-left-in/{ELECTION}:{KIT.scanner}"
    assert (finding.at, finding.site, finding.entries, finding.items, finding.severity) == (
        deed.at,
        PLACE,
        (deed.id,),
        (KIT.scanner,),
        Severity.CRITICAL,
    )


def test_a_scanner_handed_over_on_the_road_with_its_device_inside_is_named_there() -> None:
    world = closed_with_device_inside()
    world.step("polls_closed", world.chief(PLACE))
    drivers = world.drivers(PLACE)
    deed = world.handoff([KIT.scanner], world.chief(PLACE), drivers, "return", site=None)
    finding = one(world, "memory-left-in")
    assert (finding.at, finding.site, finding.entries) == (deed.at, None, (deed.id,))


def test_a_scanner_may_be_sealed_with_its_device_before_the_close_or_without_it_after() -> None:
    world = closed_with_device_inside()
    crew = world.chief(PLACE)
    world.unseal([KIT.scanner], crew, "service", at=world.time("15:00"))
    world.seal([KIT.scanner], crew, at=world.time("15:05"))
    world.step("polls_closed", crew)
    world.unseal([KIT.scanner], crew, "close_polls")
    world.unpack(KIT.scanner, [KIT.memory], crew)
    world.seal([KIT.scanner], crew)
    assert keys(world, "memory-left-in") == []


def test_without_a_step_the_scheduled_close_counts_and_its_very_second_is_not_after_it() -> None:
    for seconds, expected in ((0, []), (1, [f"memory-left-in/{ELECTION}:{KIT.scanner}"])):
        world = closed_with_device_inside()
        world.seal(
            [reading(KIT.scanner, "bin", world.loose[PLACE][0])],
            world.chief(PLACE),
            at=world.time("20:00") + seconds,
        )
        assert keys(world, "memory-left-in") == expected


@pytest.mark.parametrize("stays_in", [False, True])
def test_policy_may_let_devices_stay_in(stays_in: bool) -> None:
    world = closed_with_device_inside(stays_in=stays_in)
    world.step("polls_closed", world.chief(PLACE))
    world.handoff([KIT.scanner], world.chief(PLACE), world.drivers(PLACE), "return")
    assert keys(world, "memory-left-in") == ([] if stays_in else [f"memory-left-in/{ELECTION}:{KIT.scanner}"])


def test_a_spare_that_served_two_places_is_measured_by_the_last() -> None:
    """The second place stays open longer: at its own hour nothing is left in."""
    world = World(places=2)
    spare, first, second = world.spare, world.chief("P01"), world.chief("P02")
    world.at = world.time("12:00")
    world.enter([spare.scanner, spare.memory], first)
    world.pack(spare.scanner, [spare.memory], first)
    world.handoff([spare.scanner], first, second, "relieve", site="P02")
    world.step("polls_closed", first, at=world.time("20:00"))
    world.seal([reading(spare.scanner, "bin", "S0002001")], second, at=world.time("20:30"))
    world.step("polls_closed", second, at=world.time("21:00"))
    assert keys(world, "memory-left-in") == []
    world.handoff([spare.scanner], second, world.drivers("P02"), "return", at=world.time("21:10"))
    assert keys(world, "memory-left-in") == [f"memory-left-in/{ELECTION}:{spare.scanner}"]


# set-short


def not_sealed(*boxes: str) -> Slip:
    """The seals of these containers never came on record."""

    def slip(payload: dict[str, Any]) -> dict[str, Any] | None:
        if payload["kind"] == "seal":
            payload["seals"] = [each for each in payload["seals"] if each["item"] not in boxes]
        return payload if payload.get("seals") != [] else None

    return slip


def test_a_container_that_was_never_sealed_leaves_the_set_short_when_the_first_leaves() -> None:
    world = day(not_sealed(BOX_2))
    leaving = deed_of(world, "handoff", purpose="return")
    finding = one(world, "set-short")
    assert finding.key == f"set-short/{ELECTION}:{PLACE}"
    assert (finding.at, finding.site, finding.entries, finding.items) == (leaving.at, PLACE, (leaving.id,), (BOX_1,))
    assert shown(finding) == {"said": 2, "found": 1}


def test_more_containers_than_the_closing_count_says_is_a_difference_too() -> None:
    finding = one(day(figures(PLACE, {"containers_sealed": 1}, of="ballots_cast")), "set-short")
    assert (finding.items, shown(finding)) == (tuple(sorted(KIT.containers)), {"said": 1, "found": 2})


def test_a_set_that_does_not_leave_is_compared_at_the_return_deadline() -> None:
    world = day(not_sealed(BOX_2), until="pack_for_return")
    deadline = world.time("02:00", day=1)
    finding = one(world, "set-short")
    assert (finding.at, finding.site, finding.entries) == (deadline, PLACE, ())
    assert keys(world, "set-short", now=deadline - 1) == []
    world.handoff([BOX_1], world.chief(PLACE), world.drivers(PLACE), "return", at=deadline + 60)
    assert one(world, "set-short").at == deadline


def test_a_container_that_was_out_before_the_polls_opened_did_not_leave_with_the_set() -> None:
    world = day(not_sealed(BOX_2), until="pack_for_return")
    crew, drivers = world.chief(PLACE), world.drivers(PLACE)
    world.handoff([BOX_1], crew, drivers, "relieve", at=world.time("06:00"), seals=[])
    world.handoff([BOX_1], drivers, crew, "deliver", at=world.time("06:30"), seals=[])
    assert one(world, "set-short").at == world.time("02:00", day=1)


def test_a_set_of_which_nothing_is_sealed_is_told_in_other_words() -> None:
    world = day(not_sealed(BOX_1, BOX_2))
    finding = one(world, "set-short")
    assert (finding.message, finding.at, finding.items) == ("set-short.none", world.time("02:00", day=1), ())


def test_without_a_closing_count_there_is_nothing_to_compare() -> None:
    assert keys(day(figures(PLACE, {"containers_sealed": None}, of="ballots_cast")), "set-short") == []


@pytest.mark.parametrize(
    ("clock", "site", "expected"),
    [
        ("20:40", PLACE, []),
        ("23:40", PLACE, []),  # whole record: put right after the first container left
        ("06:59", PLACE, ["set-short"]),  # not a seal of the day
        ("20:40", "RS", ["set-short"]),  # put on elsewhere
    ],
)
def test_a_seal_of_the_day_is_one_put_on_at_the_place_since_the_polls_opened(
    clock: str, site: str, expected: list[str]
) -> None:
    world = day(both(not_sealed(BOX_2), leaving_with_one_box))
    crew = world.chief(PLACE)
    world.seal([reading(BOX_2, "front", "S0001039")], crew, at=world.time(clock), site=site)
    assert [finding.rule for finding in found(world, "set-short")] == expected


def test_a_number_that_was_only_read_there_was_put_on_by_nobody() -> None:
    """The handoff reads a seal on the second container; nobody recorded that it was put on."""
    world = day(not_sealed(BOX_2))
    assert deed_of(world, "handoff", purpose="return").payload["seals"][-1]["item"] == BOX_2
    assert one(world, "set-short").items == (BOX_1,)


def leaving_with_one_box(payload: dict[str, Any]) -> dict[str, Any]:
    """The second container stays at the place."""
    if payload["kind"] == "handoff" and payload["purpose"] in ("return", "transfer"):
        payload["items"] = [code for code in payload["items"] if code != BOX_2]
        if "seals" in payload:
            payload["seals"] = [each for each in payload["seals"] if each["item"] != BOX_2]
    return payload


def test_what_counts_is_the_seals_in_place_when_a_container_leaves() -> None:
    world = day()
    world.unseal([BOX_1], world.party("vault_custodian"), "audit", at=world.time("09:00", day=2))
    assert keys(world, "set-short") == []


def test_a_container_that_left_and_came_back_has_not_left() -> None:
    world = day(not_sealed(BOX_2), until="pack_for_return")
    crew, drivers = world.chief(PLACE), world.drivers(PLACE)
    world.handoff([BOX_2], crew, drivers, "return", seals=[])
    world.handoff([BOX_2], drivers, crew, "deliver", seals=[])
    assert keys(world, "set-short") == [f"set-short/{ELECTION}:{PLACE}"]
    world.seal([reading(BOX_2, "front", "S0001039")], crew)
    assert keys(world, "set-short") == []


# count-differs


def comparisons(world: SlipWorld, now: int | None = None) -> list[str]:
    return keys(world, "count-differs", now=now)


def differs(comparison: str, scope: str = PLACE) -> str:
    return f"count-differs/{ELECTION}:{scope}:{comparison}"


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        ({"ballots_unused": UNUSED - 1}, [differs("account")]),
        ({"ballots_spoiled": SPOILED + 1}, [differs("account")]),
        ({"ballots_provisional": 0}, [differs("account")]),
        ({"ballots_unused": None}, []),
        ({"ballots_spoiled": None, "ballots_unused": UNUSED + SPOILED}, []),  # not given: none
        ({"ballots_received": RECEIVED + 5}, [differs("account")]),  # a closing figure goes before the opening one
    ],
)
def test_the_ballot_account(changed: dict[str, int | None], expected: list[str]) -> None:
    assert comparisons(day(figures(PLACE, changed, of="ballots_cast"))) == expected


def test_an_account_differs_at_the_last_of_its_counts() -> None:
    world = day(figures(PLACE, {"ballots_unused": UNUSED - 1}, of="ballots_cast"))
    closing = next(deed for deed in world.log if "ballots_cast" in deed.payload.get("figures", {}))
    finding = one(world, "count-differs")
    assert (finding.at, finding.entries, finding.site, finding.items) == (closing.at, (closing.id,), PLACE, ())
    assert shown(finding) == {"received": RECEIVED, "accounted": RECEIVED - 1}


def test_ballots_received_may_have_been_counted_in_the_warehouse() -> None:
    world = SlipWorld(figures(PLACE, {"ballots_received": None, "voters_checked_in": 0}, of="ballots_received"))
    world.at = world.time("09:00", day=-3)
    world.slip, slip = None, world.slip
    world.count(PLACE, world.party("warehouse_clerk"), {"ballots_received": RECEIVED + 1})
    world.slip = slip
    world.clean_day(PLACE)
    assert comparisons(world) == [differs("account")]


def test_a_count_before_the_close_or_after_the_first_controlled_item_left_is_no_closing_figure() -> None:
    for clock, expected in (("19:59", []), ("20:59", [differs("account")]), ("21:10", [])):
        world = day()
        world.count(PLACE, world.chief(PLACE), {"ballots_unused": UNUSED - 1}, at=world.time(clock))
        assert comparisons(world) == expected


def test_the_last_count_in_time_is_the_closing_one() -> None:
    world = day(figures(PLACE, {"ballots_unused": UNUSED - 1}, of="ballots_cast"), until="pack_for_return")
    world.count(PLACE, world.chief(PLACE), {"ballots_unused": UNUSED})
    assert comparisons(world) == []


def at_close(changed: dict[str, int | None]) -> Slip:
    """The scanner's counters read otherwise at the close, not at the opening."""

    def slip(payload: dict[str, Any]) -> dict[str, Any]:
        if payload["kind"] == "count" and payload["subject"] == KIT.scanner and payload["figures"]["public_counter"]:
            return figures(KIT.scanner, changed)(payload) or payload
        return payload

    return slip


def test_fewer_scanned_than_cast_is_a_difference_and_auxiliary_ballots_are_not_scanned() -> None:
    less_two = at_close({"public_counter": CAST - 2, "protective_counter": LIFETIME + CAST - 2})
    finding = one(day(less_two), "count-differs")
    assert (finding.key, finding.items) == (differs("scanners"), (KIT.scanner,))
    assert shown(finding) == {"scanned": CAST - 2, "expected": CAST}
    assert comparisons(day(both(less_two, figures(PLACE, {"ballots_auxiliary": 2}, of="ballots_cast")))) == []


@pytest.mark.parametrize("protective", [LIFETIME + CAST + 1, LIFETIME])
def test_a_lifetime_counter_that_moved_otherwise_is_a_difference(protective: int) -> None:
    finding = one(day(at_close({"protective_counter": protective})), "count-differs")
    assert (finding.key, finding.items) == (differs("protective", KIT.scanner), (KIT.scanner,))
    assert shown(finding) == {"public": CAST, "protective": protective - LIFETIME}


def test_a_lifetime_counter_read_once_is_compared_with_nothing() -> None:
    assert comparisons(day(at_close({"protective_counter": None}))) == []


def with_spare(*counts: dict[str, int], at_noon: int = 250) -> SlipWorld:
    """The scanner fails at noon, read once more; a spare does the rest, read as often as there are counts."""
    world = day(at_close({"public_counter": at_noon, "protective_counter": LIFETIME + at_noon}), until="close_polls")
    clocks = [f"{12 + hour}:30" for hour in range(len(counts) - 1)] + ["20:05"]
    for clock, counted in zip(clocks, counts, strict=True):
        world.count(SPARE.scanner, world.chief(PLACE), counted, at=world.time(clock))
    return world


@pytest.mark.parametrize(
    ("counts", "expected"),
    [
        ([{"public_counter": 0, "protective_counter": 70}, {"public_counter": 262, "protective_counter": 332}], []),
        ([{"public_counter": 0}, {"public_counter": 263}], [differs("scanners")]),
        ([{"public_counter": 5}, {"public_counter": 262}], []),  # its opening is not known: not compared
        ([{"public_counter": 0}], [differs("scanners")]),
        (
            [{"public_counter": 0, "protective_counter": 70}, {"public_counter": 262, "protective_counter": 331}],
            [differs("protective", SPARE.scanner)],
        ),
    ],
)
def test_a_spare_put_to_use_at_noon_opens_with_its_first_count(
    counts: list[dict[str, int]], expected: list[str]
) -> None:
    assert comparisons(with_spare(*counts)) == expected


def test_scanners_are_not_compared_unless_each_was_read_at_both_ends() -> None:
    world = day(at_close({"public_counter": 250, "protective_counter": LIFETIME + 250}), until="close_polls")
    assert comparisons(world) == [differs("scanners")]
    world.count(SPARE.scanner, world.chief(PLACE), {"public_counter": 5}, at=world.time("06:40"))
    assert comparisons(world) == []


@pytest.mark.parametrize(("day_after", "compared"), [(0, False), (1, True)])
@pytest.mark.parametrize("until", ["pack_for_return", "bring_back"])
def test_a_scanner_first_counted_late_that_day_stops_the_comparison_and_one_of_the_next_day_does_not(
    until: str, day_after: int, compared: bool
) -> None:
    """Whether the things have left by then or not: what counts is the day."""
    world = day(figures(PLACE, {"ballots_cast": CAST + 1}, of="ballots_cast"), until=until)
    key = f"count-differs/{ELECTION}:{PLACE}:scanners"
    assert key in keys(world, "count-differs")
    crew = world.chief(PLACE)
    world.count(
        SPARE.scanner, crew, {"public_counter": 7}, at=world.time("23:30" if not day_after else "00:00", day=day_after)
    )
    assert (key in keys(world, "count-differs")) is compared


@pytest.mark.parametrize(
    ("clock", "day_after", "expected"),
    [("23:00", -1, [differs("scanners")]), ("09:00", 1, [differs("scanners")]), ("21:10", 0, []), ("00:00", 0, [])],
)
def test_scanners_are_compared_when_every_one_counted_that_day_has_both_figures(
    clock: str, day_after: int, expected: list[str]
) -> None:
    """The spare's closing figure is not known; counted on another day only it is none of that day."""
    world = day(at_close({"public_counter": CAST - 2, "protective_counter": None}))
    world.count(SPARE.scanner, world.chief(PLACE), {"public_counter": 7}, at=world.time(clock, day=day_after))
    assert comparisons(world) == expected


@pytest.mark.parametrize(
    ("clock", "site", "expected"),
    [("20:50", PLACE, [differs("scanners")]), ("20:50", "WH", []), ("21:10", PLACE, [])],
)
def test_a_scanner_closes_with_its_last_count_at_the_place_before_anything_controlled_left(
    clock: str, site: str, expected: list[str]
) -> None:
    world = day(at_close({"protective_counter": None}))
    counted = {"public_counter": CAST + 1}
    world.count(KIT.scanner, world.chief(PLACE), counted, at=world.time(clock), site=site)
    assert comparisons(world) == expected


def test_ballots_in_the_sealed_containers_are_compared_with_the_ballots_cast() -> None:
    world = day(figures(BOX_2, {"ballots_in_container": 211}))
    finding = one(world, "count-differs")
    closing = next(deed for deed in world.log if "ballots_cast" in deed.payload.get("figures", {}))
    assert (finding.key, finding.at, finding.entries) == (differs("containers"), closing.at, (closing.id,))
    assert (finding.items, shown(finding)) == (tuple(sorted(KIT.containers)), {"counted": CAST - 1, "cast": CAST})


def test_containers_are_not_compared_unless_each_was_counted() -> None:
    assert comparisons(day(without({"kind": "count", "subject": BOX_2}))) == []


def test_a_count_of_a_container_elsewhere_or_before_the_polls_opened_does_not_count_for_the_place() -> None:
    for by, site, clock in ((PLACE, PLACE, "06:10"), ("RS", "RS", "23:00")):
        world = day()
        party = world.chief(by) if by == PLACE else world.party("receiving_clerk")
        world.count(BOX_2, party, {"ballots_in_container": 1}, at=world.time(clock), site=site)
        assert comparisons(world) == []


def test_while_the_crew_is_still_sealing_part_of_a_set_is_no_difference() -> None:
    """The closing count is written down first; the second container is sealed ten minutes after the first."""
    world = day(both(not_sealed(BOX_1, BOX_2), figures(BOX_2, {"ballots_in_container": 211})), until="close_polls")
    crew, clock = world.chief(PLACE), world.time("20:20")
    world.seal([reading(BOX_1, "front", "S0001030")], crew, at=clock)
    assert comparisons(world, now=clock) == []
    last = world.seal([reading(BOX_2, "front", "S0001031")], crew, at=clock + 600)
    finding = one(world, "count-differs")
    assert (finding.key, finding.at, finding.entries) == (differs("containers"), last.at, (last.id,))


def test_a_set_that_is_short_is_compared_when_it_leaves() -> None:
    world = day(not_sealed(BOX_2))
    leaving = deed_of(world, "handoff", purpose="return")
    finding = one(world, "count-differs")
    assert (finding.key, finding.at, finding.items) == (differs("containers"), leaving.at, (BOX_1,))


# count-differs: recount


def recounted(reason: str, *counts: int, before: int | None = 212) -> SlipWorld:
    slip = without({"kind": "count", "subject": BOX_2}) if before is None else None
    world = day(slip)
    team = world.party("receiving_clerk", "CC")
    world.at = world.time("09:00", day=7)
    world.unseal([BOX_2], team, reason)
    for ballots in counts:
        world.count(BOX_2, team, {"ballots_in_container": ballots})
    return world


@pytest.mark.parametrize("reason", ["count", "audit", "recount"])
def test_a_recount_that_differs_from_the_last_count_is_named_by_its_entry(reason: str) -> None:
    world = recounted(reason, 210)
    counted = world.log[-1]
    finding = one(world, "count-differs")
    assert finding.key == f"count-differs/{ELECTION}:{BOX_2}:recount:{counted.id}"
    assert (finding.at, finding.site, finding.entries, finding.items) == (counted.at, "CC", (counted.id,), (BOX_2,))
    assert shown(finding) == {"before": 212, "now": 210}


def test_only_the_first_count_after_the_opening_is_compared_with_the_last_before() -> None:
    assert comparisons(recounted("audit", 212, 199)) == []
    assert len(comparisons(recounted("audit", 199, 198))) == 1


def test_a_recount_without_an_earlier_count_or_after_another_opening_has_nothing_to_differ_from() -> None:
    assert comparisons(recounted("recount", 210, before=None)) == []
    assert comparisons(recounted("replace_seal", 210)) == []


# checkins-differ


@pytest.mark.parametrize(
    ("public", "checked_in", "differ"), [(250, 255, False), (250, 256, True), (256, 250, True), (255, 250, False)]
)
def test_check_ins_and_counter_may_differ_by_five(public: int, checked_in: int, differ: bool) -> None:
    world = day(figures(PLACE, {"public_counter": public, "voters_checked_in": checked_in}, of="public_counter"))
    counted = deed_of(
        world, "count", subject=PLACE, figures={"public_counter": public, "voters_checked_in": checked_in}
    )
    listed = found(world, "checkins-differ")
    assert [finding.key for finding in listed] == ([f"checkins-differ/{counted.id}"] if differ else [])
    if differ:
        (finding,) = listed
        assert (finding.at, finding.site, finding.severity) == (counted.at, PLACE, Severity.NOTICE)
        assert shown(finding) == {"public": public, "checked_in": checked_in}


def test_policy_says_how_much_they_may_differ() -> None:
    world = day()
    assert keys(world, "checkins-differ") == []
    world.set_policy({"checkins": {"differ_at_most": 1}})
    assert len(keys(world, "checkins-differ")) == 1


def test_after_the_close_and_for_a_scanner_alone_they_are_not_compared() -> None:
    figures_far_apart = {"public_counter": 250, "voters_checked_in": 300}
    for subject, clock, expected in ((PLACE, "19:59", 1), (PLACE, "20:01", 0), (KIT.scanner, "19:59", 0)):
        world = day()
        world.count(subject, world.chief(PLACE), figures_far_apart, at=world.time(clock))
        assert len(keys(world, "checkins-differ")) == expected


# counter-not-zero


@pytest.mark.parametrize(
    ("clock", "day_after", "site", "expected"),
    [
        ("06:40", 0, PLACE, True),
        ("07:01", 0, PLACE, False),
        ("06:40", 0, "WH", False),
        ("23:30", -1, PLACE, False),
        ("00:00", 0, PLACE, True),
    ],
)
@pytest.mark.parametrize("subject", [KIT.scanner, PLACE])
def test_a_counter_that_is_not_zero_at_the_place_that_day_before_the_polls_open(
    subject: str, clock: str, day_after: int, site: str, expected: bool
) -> None:
    world = day()
    counted = world.count(
        subject, world.chief(PLACE), {"public_counter": 3}, at=world.time(clock, day=day_after), site=site
    )
    zero = world.count(subject, world.chief(PLACE), {"public_counter": 0}, at=world.time("06:50"))
    listed = found(world, "counter-not-zero")
    assert [finding.key for finding in listed] == ([f"counter-not-zero/{counted.id}"] if expected else [])
    assert zero.id not in [entry for finding in listed for entry in finding.entries]
    assert all(finding.items == (() if subject == PLACE else (KIT.scanner,)) for finding in listed)


def test_without_a_step_the_polls_open_as_scheduled() -> None:
    for seconds, expected in ((-1, 1), (0, 0)):
        world = day(without({"kind": "step", "step": "polls_opened"}))
        world.count(KIT.scanner, world.chief(PLACE), {"public_counter": 3}, at=world.time("07:00") + seconds)
        assert len(keys(world, "counter-not-zero")) == expected
