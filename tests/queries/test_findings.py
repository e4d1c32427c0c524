"""Lists of findings: which are shown, in which order, and how each stands."""

from __future__ import annotations

from collections import Counter

import pytest

from custody import store
from custody.domain.instants import dump_instant
from custody.models.log import LogKind
from custody.queries.findings import ListedFinding, list_findings
from tests.world import HOUR, MINUTE, World, party
from tests.worlds_on_record import put_deeds, put_register

pytestmark = pytest.mark.django_db
PLACE = "P01"


@pytest.fixture
def world() -> World:
    """The ballot containers leave with seals of which one was swapped on the way; the rest of the kit stays out."""
    world = World(places=2)
    for place in world.places:
        world.until(place, "pack_for_return")
    world.depart(PLACE)
    kit = world.kits[PLACE]
    world.in_place[kit.containers[0], "front"] = "S9000001"  # as the desk reads it
    world.arrive(PLACE)
    return world


def put(world: World) -> store.LogHead:
    put_register(world)
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    put_deeds(log, world.lines())
    return log


def keys(listed: list[ListedFinding]) -> list[str]:
    return [each.finding.key for each in listed]


def mismatch(world: World) -> str:
    arrival = next(deed for deed in world.log if deed.payload.get("site") == "RS")
    return f"seal-mismatch/{arrival.id}:{world.kits[PLACE].containers[0]}:front"


def test_a_finding_says_what_is_so_and_what_to_do(world: World) -> None:
    log = put(world)
    (found,) = list_findings(log, now=world.at, rule="seal-mismatch")
    arrival = next(deed for deed in world.log if deed.payload.get("site") == "RS")
    code = world.kits[PLACE].containers[0]
    document = found.as_json()
    assert (document["message"], document["next"]) == (found.message, found.next)
    assert code in document.pop("message")
    assert document.pop("next") != ""
    assert document == {
        "key": mismatch(world),
        "rule": "seal-mismatch",
        "severity": "critical",
        "at": dump_instant(arrival.at),
        "site": "RS",
        "items": [code],
        "people": [],
        "entries": [arrival.id],
        "seals": sorted(document["seals"]),
        "status": "open",
    }
    assert "S9000001" in document["seals"]


def test_critical_findings_come_first_then_time_and_key(world: World) -> None:
    log = put(world)
    listed = list_findings(log, now=world.at + 100 * HOUR)
    order = ["critical", "warning", "notice"]
    ranks = [(order.index(each.finding.severity), each.finding.at, each.finding.key) for each in listed]
    assert ranks == sorted(ranks)
    assert Counter(rank for rank, _, _ in ranks)[0] > 5
    assert {rank for rank, _, _ in ranks} > {0}


def test_a_finding_at_a_limit_is_shown_once_it_has_passed(world: World) -> None:
    log = put(world)
    deadline = world.time("02:00", day=1)
    assert world.at < deadline
    at_it = list_findings(log, now=deadline, rule="unreturned")
    after = list_findings(log, now=deadline + 1, rule="unreturned")
    assert at_it == []
    assert {each.finding.at for each in after} == {deadline}
    assert len(after) > 5


def test_filters_choose_by_election_place_and_rule(world: World) -> None:
    log = put(world)
    later = world.at + 100 * HOUR
    everywhere = list_findings(log, now=later)
    for code in ("P01", "P02", "RS"):
        expected = [each for each in everywhere if each.finding.site == code]
        assert list_findings(log, now=later, site=code) == expected
        assert expected != []
    assert list_findings(log, now=later, election="GEN26") == everywhere
    assert list_findings(log, now=later, election="OTHER") == []
    assert {each.finding.rule for each in list_findings(log, now=later, rule="unopened")} == {"unopened"}


def test_a_resolved_finding_is_shown_on_request_only(world: World) -> None:
    said = world.resolve(mismatch(world), party("official", "OFFICE-1", "OFFICE-2"), at=world.at + HOUR)
    log = put(world)
    now = said.at + HOUR
    assert mismatch(world) not in keys(list_findings(log, now=now))
    assert mismatch(world) in keys(list_findings(log, now=said.at - 1))
    found = {each.finding.key: each for each in list_findings(log, now=now, everything=True)}[mismatch(world)]
    assert found.settled.status == "resolved"
    assert found.settled.by is not None
    assert found.settled.by.entry == said.id


def test_a_referred_finding_stays_open(world: World) -> None:
    said = world.resolve(mismatch(world), party("official", "OFFICE-1", "OFFICE-2"), "referred")
    log = put(world)
    (found,) = list_findings(log, now=world.at + HOUR, rule="seal-mismatch")
    assert found.settled.status == "open"
    assert found.settled.referred is not None
    assert found.settled.referred.entry == said.id


def test_a_finding_that_was_put_right_is_cleared_by_the_entry_that_did_it(world: World) -> None:
    kit = world.kits[PLACE]
    desk = world.party("receiving_clerk")
    again = world.inspect(
        [{"item": kit.containers[0], "point": "front", "number": "S0001000", "state": "intact"}], desk
    )
    departure = next(deed for deed in world.log if deed.payload.get("purpose") == "return")
    number = next(
        seal["number"]
        for seal in departure.payload["seals"]
        if (seal["item"], seal["point"]) == (kit.containers[0], "front")
    )
    assert number == again.payload["seals"][0]["number"]
    log = put(world)
    now = world.at + HOUR
    assert mismatch(world) not in keys(list_findings(log, now=now))
    found = {each.finding.key: each for each in list_findings(log, now=now, everything=True)}[mismatch(world)]
    assert (found.settled.status, found.settled.by and found.settled.by.entry) == ("cleared", again.id)


def test_what_was_shown_and_never_was_is_told_as_withdrawn(world: World) -> None:
    """A handover that was missing comes in late: the gap that was shown had never been one."""
    kit = world.kits["P02"]
    chief, drivers, desk = world.chief("P02"), world.party("courier", "P02"), world.party("receiving_clerk")
    bring = world.handoff([kit.keys], drivers, desk, "return", at=world.at + HOUR)
    log = put(world)
    key = f"custody-gap/{bring.id}"
    now = bring.at + HOUR
    assert key in keys(list_findings(log, now=now))
    fetch = world.handoff([kit.keys], chief, drivers, "return", at=bring.at - 10 * MINUTE, received=bring.at + HOUR)
    put_deeds(log, [fetch])
    assert key not in keys(list_findings(log, now=now))
    found = {each.finding.key: each for each in list_findings(log, now=now, everything=True)}[key]
    assert (found.settled.status, found.settled.by and found.settled.by.entry) == ("withdrawn", fetch.id)
    assert found.as_json()["status"] == "withdrawn"


def test_a_finding_that_stands_again_is_not_told_as_withdrawn(world: World) -> None:
    kit = world.kits["P02"]
    chief, drivers, desk = world.chief("P02"), world.party("courier", "P02"), world.party("receiving_clerk")
    bring = world.handoff([kit.keys], drivers, desk, "return", at=world.at + HOUR)
    log = put(world)
    fetch = world.handoff([kit.keys], chief, drivers, "return", at=bring.at - 10 * MINUTE, received=bring.at + HOUR)
    put_deeds(log, [fetch])
    # It was other things after all.
    amend = world.amend(
        fetch, party("courier", *chief["people"], *drivers["people"]), {"items": [kit.pollbook]}, at=bring.at + HOUR
    )
    put_deeds(log, [amend])
    found = [
        each
        for each in list_findings(log, now=amend.at + HOUR, everything=True)
        if each.finding.key == f"custody-gap/{bring.id}"
    ]
    assert [each.settled.status for each in found] == ["open"]


def test_what_waits_for_a_place_without_a_network_is_marked(world: World) -> None:
    """Its things come in, and nothing has been heard from the place since its polls closed."""
    quiet = World(places=1)
    kit = quiet.until(PLACE, "noon")
    drivers, desk = quiet.drivers(PLACE), quiet.party("receiving_clerk")
    bring = quiet.handoff([kit.keys], drivers, desk, "return", at=quiet.time("21:30"), site="RS")
    log = put(quiet)
    (found,) = list_findings(log, now=bring.at + MINUTE, rule="custody-gap")
    assert found.waiting
    assert found.as_json()["waiting"] is True
    (late,) = list_findings(log, now=quiet.time("02:00", day=1) + 1, rule="custody-gap")
    assert not late.waiting
    assert "waiting" not in late.as_json()
