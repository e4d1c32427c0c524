"""Who held what: from the tables at every moment at which they can say it, as the entries up to then say it afresh."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from custody import store
from custody.domain.instants import dump_instant
from custody.models.log import LogKind
from custody.queries.compare import compare_holdings
from custody.queries.holdings import Holds, list_holdings
from custody.queries.moments import first_time, last_time, look_at_states, look_back
from tests.web.evening import DRILL, make_evening
from tests.world import MINUTE, World, party
from tests.world_random import chance, random_world
from tests.worlds_on_record import put_deeds, put_register

pytestmark = pytest.mark.django_db


def put(world: World) -> store.LogHead:
    put_register(world)
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    put_deeds(log, (deed for deed in world.lines() if deed.signers))
    return log


@pytest.mark.parametrize("seed", range(4))
def test_the_tables_say_what_a_fresh_look_at_the_entries_says(seed: int) -> None:
    world = random_world(chance(seed), places=1, acts=20)
    log = put(world)
    times = sorted({each.time for each in world.recorded()})
    from_tables = 0
    for at in [*times, *(each - 1 for each in times)]:
        moment = look_at_states(log, at)
        from_tables += moment.past is None
        assert list_holdings(moment) == list_holdings(look_back(log, at)), at
    assert from_tables > 10


def test_an_amendment_of_later_is_left_out_of_what_was_so_then() -> None:
    """The desk wrote down one box too many, and put it right an hour later."""
    world = World(places=1)
    world.until("P01", "pack_for_return")
    drivers, desk = world.drivers("P01"), world.party("receiving_clerk")
    world.depart("P01")
    both = list(world.kits["P01"].containers[:2])
    bring = world.handoff(both, drivers, desk, "return", at=world.at + 30 * MINUTE, site="RS")
    everybody = party("receiving_clerk", *drivers["people"], *desk["people"])
    amend = world.amend(bring, everybody, {"items": both[:1]}, at=bring.at + 60 * MINUTE)
    log = put(world)
    role = {
        at: next(each.holder.role for each in list_holdings(look_at_states(log, at)) if each.item == both[1])
        for at in (bring.at - 1, bring.at, amend.at - 1, amend.at)
    }
    assert role == {
        bring.at - 1: "courier",
        bring.at: "receiving_clerk",
        amend.at - 1: "receiving_clerk",
        amend.at: "courier",
    }
    assert look_at_states(log, bring.at - 1).past is None, "the amendment is about nothing as early as this"
    assert look_at_states(log, bring.at).past is not None


def test_an_amendment_of_the_time_has_a_say_before_it() -> None:
    world = World(places=1)
    world.until("P01", "pack_for_return")
    world.depart("P01")
    drivers, desk = world.drivers("P01"), world.party("receiving_clerk")
    box = world.kits["P01"].containers[0]
    bring = world.handoff([box], drivers, desk, "return", at=world.at + 30 * MINUTE, site="RS")
    everybody = party("receiving_clerk", *drivers["people"], *desk["people"])
    late = bring.at + 20 * MINUTE
    world.amend(bring, everybody, {"at": dump_instant(late)}, at=bring.at + 60 * MINUTE)
    log = put(world)
    for at in (bring.at - 1, bring.at + 1, late + 1):
        assert list_holdings(look_at_states(log, at)) == list_holdings(look_back(log, at))


def test_a_person_a_place_or_an_item_can_be_asked_about() -> None:
    evening = make_evening()
    moment = look_at_states(store.open_log("ALDER", DRILL), evening.now)
    everything = list_holdings(moment)
    case = evening.world.kits["P02"].case
    for asked, fits in (
        (Holds(person="DRIVER-2-P02"), lambda each: "DRIVER-2-P02" in each.holder.people),
        (Holds(site="RS"), lambda each: each.holder.site == "RS"),
        (Holds(item=case), lambda each: each.item == case),
        (Holds(person="DRIVER-2-P02", item=case), lambda each: each.item == case),
        (Holds(site="RS", item=case), lambda _: False),
    ):
        found = list_holdings(moment, asked)
        assert found == [each for each in everything if fits(each)]
        assert len(found) < len(everything)


def test_what_came_and_went_is_told_from_what_changed_hands() -> None:
    """At 21:00 the things of the second place went from its chief to the drivers."""
    evening = make_evening()
    log, kit = store.open_log("ALDER", DRILL), evening.world.kits["P02"]
    before, after = (list_holdings(look_at_states(log, evening.lone.at + each)) for each in (-1, 1))
    there, still = ({each.item for each in held if each.holder.site == "P02"} for held in (before, after))
    moved = there - still
    assert kit.case in moved and len(moved) > 5

    def how(asked: Holds) -> dict[str, set[str]]:
        changes = compare_holdings(before, after, asked)
        return {each: {change.item for change in changes if change.how == each} for each in {c.how for c in changes}}

    assert moved <= how(Holds())["holder"]
    assert how(Holds(site="P02")) == {"went": moved}
    assert how(Holds(person="DRIVER-1-P02")) == {"came": moved}
    assert how(Holds(site="RS")) == {}
    assert how(Holds(item=kit.case)) == {"holder": {kit.case}}


def test_what_was_put_into_a_container_changed_container() -> None:
    evening = make_evening()
    log, kit = store.open_log("ALDER", DRILL), evening.world.kits["P01"]
    packed = next(deed for deed in evening.world.log if deed.payload.get("container") == kit.envelope)
    before, after = (list_holdings(look_at_states(log, packed.at + each)) for each in (-1, 1))
    (change,) = [each for each in compare_holdings(before, after, Holds()) if each.item == kit.memory]
    assert (change.how, change.after and change.after.container) == ("container", kit.envelope)


def test_first_and_last_time() -> None:
    evening = make_evening()
    log = store.open_log("ALDER", DRILL)
    times = [each.recorded.time for each in evening.world.log]
    assert (first_time(log), last_time(log)) == (min(times), max(times))


@pytest.mark.parametrize("places", [2, 6])
def test_holdings_take_as_many_queries_however_much_is_held(places: int) -> None:
    evening = make_evening(places=places)
    log = store.open_log("ALDER", DRILL)
    look_at_states(log, evening.now)  # the register is read once
    counts = []
    for at in (evening.now, evening.lone.at - 1):
        with CaptureQueriesContext(connection) as queries:
            assert len(list_holdings(look_at_states(log, at))) > 9 * places
        counts.append(len(queries))
    assert max(counts) <= 5
