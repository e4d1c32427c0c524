"""The findings about places and what comes back can all be said in words, and the words name what they should."""

from __future__ import annotations

import re

from custody.domain.findings import Finding
from custody.messages import figures, night, opening, render
from tests.domain.slips import PLACE, day
from tests.world import World, findings_of
from tests.world_random import chance, random_world

TABLES = figures.MESSAGES | opening.MESSAGES | night.MESSAGES
BAD_DAYS = (58, 35, 6, 16, 11, 15, *range(100))  # as many as it takes; the first few have most of them


def rare_findings() -> list[Finding]:
    world = day()
    kit, team = world.kits[PLACE], world.party("receiving_clerk", "CC")
    world.count(PLACE, world.chief(PLACE), {"public_counter": 3}, at=world.time("06:50"))
    world.unseal([kit.containers[0]], team, "recount", at=world.time("09:00", day=9))
    world.count(kit.containers[0], team, {"ballots_in_container": 299}, at=world.time("09:10", day=9))
    return findings_of(world)


def test_every_text_of_these_families_is_filled_in_by_its_findings() -> None:
    listed = rare_findings()
    for seed in BAD_DAYS:
        listed += findings_of(random_world(chance(seed)))
        if {finding.message for finding in listed} >= set(TABLES):
            break
    listed = [finding for finding in listed if finding.message in TABLES]
    assert {finding.message for finding in listed} == set(TABLES)
    for finding in listed:
        what, then = render(finding)
        assert not re.search(r"[{}\[\]]|None|_", what + then)
        assert all(code in what for code in finding.items)


def test_a_text_says_in_plain_words_what_is_so_and_what_to_do() -> None:
    world = World(places=1)
    kit = world.until(PLACE, "pack_for_return")
    deadline = world.time("02:00", day=1)
    (back, *_) = [finding for finding in findings_of(world, deadline + 1) if finding.items == (kit.pollbook,)]
    assert render(back) == (
        f"Not yet back from P01: {kit.pollbook}.",
        "Ring whoever has it on record, and have the place looked through once more: bags, cabinets, the scanner.",
    )
