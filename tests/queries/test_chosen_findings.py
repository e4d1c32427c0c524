"""Findings chosen in the database are those that a look at every finding would choose, of tables and of the past alike."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from custody import store
from custody.models.log import LogKind
from custody.queries.findings import EVERYTHING, ListedFinding, Wanted, choose_findings, list_findings, list_occurring
from custody.queries.moments import last_time, look_at, look_back
from tests.web.evening import DRILL, make_evening
from tests.world import HOUR
from tests.world_random import chance, random_world
from tests.worlds_on_record import put_deeds, put_register

pytestmark = pytest.mark.django_db


def values(listed: list[ListedFinding]) -> dict[str, set[str]]:
    """By member of `Wanted`, every value that some finding has, and one that none has."""
    findings = [each.finding for each in listed]
    return {
        "key": {finding.key for finding in findings} | {"lost/NONE"},
        "election": {finding.election for finding in findings} | {"NONE"},
        "site": {finding.site for finding in findings if finding.site} | {"NONE"},
        "rule": {finding.rule for finding in findings} | {"none"},
        "severity": {finding.severity.value for finding in findings} | {"none"},
        "item": {code for finding in findings for code in finding.items} | {"NONE", "%", "_"},
        "person": {code for finding in findings for code in finding.people} | {"NONE"},
        "entry": {entry for finding in findings for entry in finding.entries} | {"none"},
    }


def has(each: ListedFinding, name: str, value: str) -> bool:
    """What `Wanted` means, said once more: by the finding as outside programs know it."""
    document = each.as_json() | {"election": each.finding.election}
    within = {"item": "items", "person": "people", "entry": "entries"}
    return value in document[within[name]] if name in within else bool(document[name] == value)


@pytest.mark.parametrize("seed", [1, 3])  # worlds with findings of each of these statuses
def test_every_choice_is_that_of_a_look_at_all(seed: int) -> None:
    rng = chance(seed)
    world = random_world(rng, places=2, acts=14)
    put_register(world)
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    put_deeds(log, (deed for deed in world.lines() if deed.signers), batch=1)
    now = (last_time(log) or 0) + 40 * HOUR
    statuses: set[str] = set()
    for moment in (look_at(log, now), look_back(log, now - 44 * HOUR)):
        everything = choose_findings(moment, Wanted(statuses=EVERYTHING))
        assert len(everything) > 8
        statuses |= {each.settled.status for each in everything}
        asked: dict[str, Any] = values(everything)
        for name, wanted in asked.items():
            for value in sorted(wanted):
                found = choose_findings(moment, Wanted(statuses=EVERYTHING, **{name: value}))
                assert found == [each for each in everything if has(each, name, value)], (name, value)
        for status in EVERYTHING:
            found = choose_findings(moment, Wanted(statuses=frozenset({status})))
            assert found == [each for each in everything if each.settled.status == status]
        met = 0
        for _ in range(20):
            both = {name: rng.choice(sorted(asked[name])) for name in rng.sample(sorted(asked), 2)}
            found = choose_findings(moment, Wanted(**both))
            open_ones = [each for each in everything if each.settled.status == "open"]
            assert found == [each for each in open_ones if all(has(each, *pair) for pair in both.items())], both
            met += bool(found)
        assert met > 0
    assert statuses >= {"open", "cleared", "withdrawn"}


def test_the_filters_offer_what_was_found() -> None:
    evening = make_evening()
    log = store.open_log("ALDER", DRILL)
    everything = list_findings(log, now=evening.now + 100 * HOUR, everything=True)
    offered = list_occurring(log)
    assert offered.rules == sorted({each.finding.rule for each in everything})
    assert offered.sites == sorted({each.finding.site for each in everything if each.finding.site})
    assert "P02" in offered.sites and "unreturned" in offered.rules


@pytest.mark.parametrize("places", [2, 6])
def test_a_choice_takes_as_many_queries_however_much_there_is(places: int) -> None:
    evening = make_evening(places=places)
    moment = look_at(store.open_log("ALDER", DRILL), evening.now + 100 * HOUR)
    asked = {
        "open": (Wanted(), 1),
        "an item's": (Wanted(item=evening.world.kits["P02"].memory), 1),
        "an entry's": (Wanted(entry=evening.lone.id, statuses=EVERYTHING), 2),
        "everything": (Wanted(statuses=EVERYTHING), 3),  # the journal, and the clocks of places for what may be waiting
    }
    counts = {}
    for name, (wanted, _) in asked.items():
        with CaptureQueriesContext(connection) as queries:
            assert choose_findings(moment, wanted)
        counts[name] = len(queries)
    assert counts == {name: count for name, (_, count) in asked.items()}
