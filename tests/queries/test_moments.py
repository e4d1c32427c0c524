"""At every moment the derived tables and a fresh look at the entries give the same findings and the same list of what is out."""

from __future__ import annotations

from typing import Any

import pytest

from custody import store
from custody.models.log import LogKind
from custody.queries.findings import EVERYTHING, Wanted, choose_findings
from custody.queries.moments import Moment, last_time, look_at, look_back, present
from custody.queries.outstanding import outstanding_at
from tests.world import HOUR, Deed, World
from tests.world_random import BadWorld, chance, random_world
from tests.worlds_on_record import put_deeds, put_register

Answer = tuple[list[dict[str, Any]], list[dict[str, Any]], list[dict[str, Any]]]


def answer(moment: Moment) -> Answer:
    """Open findings, all findings but the journal of withdrawn ones, and what is out."""
    filters: dict[str, Any] = {"election": None, "site": None}
    shown = choose_findings(moment, Wanted())
    ever = choose_findings(moment, Wanted(statuses=EVERYTHING))
    out = outstanding_at(moment, **filters)
    return (
        [each.as_json() for each in shown],
        [each.as_json() for each in ever if each.settled.status != "withdrawn"],
        [each.as_json() for each in out],
    )


def by_time(world: BadWorld) -> list[list[Deed]]:
    """All lines of each entry together, the entries in the order of their times."""
    lines: dict[str, list[Deed]] = {}
    for deed in world.lines():
        if deed.signers:
            lines.setdefault(deed.id, []).append(deed)
    return sorted(lines.values(), key=lambda deeds: deeds[0].recorded.time)


@pytest.mark.django_db
@pytest.mark.parametrize("seed", range(6))
def test_both_ways_of_answering_agree_at_every_moment(seed: int) -> None:
    """What the tables said when the log ended there is what the whole log says of that moment later."""
    rng = chance(seed)
    world = random_world(rng, places=1, acts=14)
    put_register(world)
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    entries = by_time(world)
    answers: dict[int, Answer] = {}
    from_tables = 0
    while entries:
        count = rng.choice((1, 3, 6))
        put_deeds(log, (deed for lines in entries[:count] for deed in lines))
        now = entries[:count][-1][0].recorded.time
        entries = entries[count:]
        following = entries[0][0].recorded.time if entries else now + 2 * HOUR
        for at in {now, (now + following) // 2} if following > now else ():
            moment = look_at(log, at)
            from_tables += moment.past is None
            answers[at] = answer(moment)
    assert from_tables > 15
    assert any(shown and out for shown, _, out in answers.values())
    for at, expected in answers.items():
        assert answer(look_back(log, at)) == expected


@pytest.mark.django_db
@pytest.mark.parametrize("seed", range(6, 10))
def test_after_the_last_entry_the_tables_hold_for_ever(seed: int) -> None:
    world = random_world(chance(seed), places=1, acts=10)
    put_register(world)
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    put_deeds(log, (deed for deed in world.lines() if deed.signers))
    end = last_time(log)
    assert end is not None
    for later in (0, 1, 6 * HOUR, 80 * HOUR, 30_000 * HOUR):
        moment = look_at(log, end + later)
        assert moment.past is None
        assert answer(moment) == answer(look_back(log, end + later))


@pytest.mark.django_db
def test_the_present_of_a_rehearsal_whose_script_lies_ahead_is_its_last_entry() -> None:
    world = World(places=1)
    put_register(world)
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    assert present(log, 5) == 5
    world.prepare("P01")
    put_deeds(log, world.lines())
    end = max(deed.at for deed in world.log)
    assert (present(log, 5), present(log, end), present(log, end + 9)) == (end, end, end + 9)
