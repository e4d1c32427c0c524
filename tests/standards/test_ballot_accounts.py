"""Ballot accounts, counters and recounts against published ones.

Worksheets of the chief judge of a North Carolina precinct (published by its county): what was delivered, what was left, what
was used, and how much of that the scanner had not counted. Elections Canada, training figures 25 and 26: the statement of
the vote. Differences that were published: Harris County 2020 (state audit letter), Detroit precinct 152 and
Rochester Hills 2016, Shakopee 2024. All re-added by hand.
"""

from __future__ import annotations

from typing import Any

import pytest

from custody.domain.findings import Finding
from tests.world import ELECTION, World, findings_of

PLACE = "P01"


def account(received: int, *, scanned: int, **figures: int) -> World:
    """A place that opened, scanned so many ballots, closed and wrote down these figures."""
    world = World(places=1)
    crew, scanner = world.chief(PLACE), world.kits[PLACE].scanner
    world.at = world.time("06:30")
    world.count(PLACE, crew, {"ballots_received": received})
    world.count(scanner, crew, {"public_counter": 0})
    world.step("polls_opened", crew, at=world.time("07:00"))
    world.at = world.time("20:00")
    world.step("polls_closed", crew)
    world.count(scanner, crew, {"public_counter": scanned})
    world.count(PLACE, crew, figures)
    return world


def differences(world: World, now: int | None = None) -> list[Finding]:
    return [finding for finding in findings_of(world, now) if finding.rule == "count-differs"]


def numbers(finding: Finding) -> dict[str, Any]:
    return {name: value for name, value in finding.params.items() if isinstance(value, int)}


NORTH_CAROLINA = [
    # date, delivered, left, used, auxiliary, provisional, spoiled, on the scanner
    ("6 Nov 2012", 2_001, 1_166, 835, 0, 31, 16, 788),
    ("3 Nov 2015", 1_401, 963, 438, 0, 5, 2, 431),
    ("6 May 2014", 3_203, 2_685, 518, 0, 3, 3, 512),
    ("5 Nov 2013", 1_300, 1_216, 84, 0, 0, 0, 84),
]


@pytest.mark.parametrize(
    ("date", "delivered", "left", "used", "auxiliary", "provisional", "spoiled", "scanned"), NORTH_CAROLINA
)
def test_a_worksheet_of_north_carolina_adds_up_and_one_ballot_less_does_not(
    date: str, delivered: int, left: int, used: int, auxiliary: int, provisional: int, spoiled: int, scanned: int
) -> None:
    assert (delivered - left, used - auxiliary - provisional - spoiled) == (used, scanned)
    figures = {
        "ballots_cast": scanned + auxiliary,
        "ballots_unused": left,
        "ballots_spoiled": spoiled,
        "ballots_provisional": provisional,
        "ballots_auxiliary": auxiliary,
    }
    assert differences(account(delivered, scanned=scanned, **figures)) == []
    (finding,) = differences(account(delivered, scanned=scanned, **figures | {"ballots_unused": left - 1}))
    assert finding.key == f"count-differs/{ELECTION}:{PLACE}:account"
    assert numbers(finding) == {"received": delivered, "accounted": delivered - 1}


@pytest.mark.parametrize(("cast", "rejected", "spoiled", "unused"), [(105, 0, 1, 394), (100, 5, 1, 394)])
def test_a_statement_of_the_vote_of_elections_canada_adds_up(
    cast: int, rejected: int, spoiled: int, unused: int
) -> None:
    """Rejected ballots were cast and deposited too: 105 + 1 + 394 = 500, and 100 + 5 + 1 + 394 = 500."""
    in_the_box = cast + rejected
    figures = {"ballots_cast": in_the_box, "ballots_spoiled": spoiled, "ballots_unused": unused}
    assert differences(account(500, scanned=in_the_box, **figures)) == []
    found = {
        finding.scope[-1]: finding
        for finding in differences(account(500, scanned=in_the_box, **figures | {"ballots_cast": cast - 1}))
    }
    assert sorted(found) == ["account", "scanners"]
    assert numbers(found["account"]) == {"received": 500, "accounted": 500 - rejected - 1}


def test_harris_county_2020_a_replaced_device_and_401_ballots_more_than_expected() -> None:
    """19,216 + 99 = 19,315 expected, 19,716 found."""
    world = account(30_000, scanned=19_216, ballots_cast=19_315)
    spare = world.spare.scanner
    world.count(spare, world.chief(PLACE), {"public_counter": 0}, at=world.time("12:00"))
    world.count(spare, world.chief(PLACE), {"public_counter": 99}, at=world.time("20:05"))
    assert differences(world) == []
    world.count(spare, world.chief(PLACE), {"public_counter": 99 + 401}, at=world.time("20:06"))
    (finding,) = differences(world)
    assert (finding.key, numbers(finding)) == (
        f"count-differs/{ELECTION}:{PLACE}:scanners",
        {"scanned": 19_716, "expected": 19_315},
    )


@pytest.mark.parametrize(
    ("where", "cast", "boxed"), [("Detroit, precinct 152, 2016", 307, 52), ("Shakopee 2024", 329, 309)]
)
def test_ballots_left_in_a_bin_or_thrown_out_show_in_the_container(where: str, cast: int, boxed: int) -> None:
    """255 ballots short in Detroit, 20 in Shakopee."""
    for counted, expected in ((cast, []), (boxed, [{"counted": boxed, "cast": cast}])):
        world = account(1_000, scanned=cast, ballots_cast=cast, containers_sealed=1)
        crew, box = world.chief(PLACE), world.kits[PLACE].containers[0]
        world.count(box, crew, {"ballots_in_container": counted})
        world.seal([box], crew)
        found = differences(world)
        assert [numbers(finding) for finding in found] == expected
        assert {finding.scope[-1] for finding in found} == ({"containers"} if expected else set())


def test_rochester_hills_2016_a_recount_of_848_against_847() -> None:
    for again, expected in ((848, []), (847, [{"before": 848, "now": 847}])):
        world = account(1_000, scanned=848, ballots_cast=848)
        box, team = world.kits[PLACE].containers[0], world.party("receiving_clerk", "CC")
        world.count(box, world.chief(PLACE), {"ballots_in_container": 848})
        world.seal([box], world.chief(PLACE))
        world.unseal([box], team, "recount", at=world.time("09:00", day=30))
        world.count(box, team, {"ballots_in_container": again}, at=world.time("09:30", day=30))
        assert [numbers(finding) for finding in differences(world)] == expected
