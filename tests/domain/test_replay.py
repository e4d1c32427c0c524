"""The replay of holders, containers, losses and ways back: what each entry leaves, in whatever order entries arrive."""

from __future__ import annotations

import pytest

from custody.domain.book import Book, derive, work_out
from custody.domain.policy import DEFAULT_POLICY
from custody.domain.states import InScanner, ItemState, Moment, Owed
from custody.domain.views import View, item_key
from tests.domain.rule_checks import keys
from tests.world import ELECTION, MINUTE, Deed, JsonParty, World, party, reading
from tests.world_random import chance

CHIEF = party("poll_chief", "CHIEF-P01", "WORKER-1-P01", site="P01")
WORKERS = party("poll_worker", "WORKER-1-P01", "WORKER-2-P01", site="P01")
DRIVERS = party("courier", "DRIVER-1-P01", "DRIVER-2-P01")
OTHER_DRIVERS = party("courier", "DRIVER-1-P02", "DRIVER-2-P02")
DESK = party("receiving_clerk", "DESK-1", "DESK-2", site="RS")
CLERKS = party("warehouse_clerk", "CLERK-1", "CLERK-2", site="WH")
TECHNICIAN = party("technician", "TECH-1", site="P01")


def at_the_place() -> World:
    """The kit of P01 came to its chief by one handoff; nothing is sealed or packed."""
    world = World(places=2)
    kit = world.kits["P01"]
    world.enter(kit.all, CLERKS)
    world.handoff(kit.all, CLERKS, CHIEF, "issue")
    return world


def seen(world: World) -> View:
    """The world after everything on record; the same in a shuffled order of arrival."""
    in_order = derive(world.recorded(), world.register)
    shuffled = Book(world.register)
    arrivals = world.recorded()
    chance(len(arrivals)).shuffle(arrivals)
    for each in arrivals:
        work_out(shuffled, shuffled.take([each]))
    codes = sorted(world.register.items)
    assert [shuffled.tracks.last(item_key(code)) for code in codes] == [
        in_order.tracks.last(item_key(code)) for code in codes
    ]
    return View(in_order.tracks.last, world.register, DEFAULT_POLICY)


def state_of(world: World, code: str) -> ItemState:
    return seen(world).item(code)


def holders(world: World, code: str) -> list[str]:
    return sorted(seen(world).holders(code, ELECTION) or ())


def moment(deed: Deed) -> Moment:
    return Moment(deed.at, deed.id)


# Holders


def test_whoever_comes_on_record_with_a_thing_holds_it_until_it_is_received() -> None:
    world = World(places=1)
    tape = world.kits["P01"].tape
    assert seen(world).holders(tape, ELECTION) is None
    world.enter([tape], CHIEF)
    assert holders(world, tape) == ["CHIEF-P01", "WORKER-1-P01"]
    world.handoff([tape], CHIEF, DRIVERS, "return", signed_by=["CHIEF-P01"])
    assert holders(world, tape) == ["DRIVER-1-P01", "DRIVER-2-P01"]


def test_a_second_register_entry_takes_nothing_from_a_holder() -> None:
    world = at_the_place()
    kit = world.kits["P01"]
    world.pack(kit.case, [kit.tape], CHIEF)
    world.enter([kit.case, kit.tape, world.spare.tape], WORKERS)
    assert holders(world, kit.case) == holders(world, kit.tape) == ["CHIEF-P01", "WORKER-1-P01"]
    assert holders(world, world.spare.tape) == ["WORKER-1-P01", "WORKER-2-P01"]


def test_what_nobody_held_and_lies_in_a_container_is_held_with_it() -> None:
    world = at_the_place()
    kit = world.kits["P01"]
    world.pack(kit.case, [world.spare.tape], CHIEF)
    world.enter([world.spare.tape], WORKERS)
    assert holders(world, world.spare.tape) == ["CHIEF-P01", "WORKER-1-P01"]


def test_looking_sealing_and_counting_make_no_holder() -> None:
    world = at_the_place()
    kit = world.kits["P01"]
    world.inspect([reading(kit.stock, "lid", state="missing")], DRIVERS)
    world.count(kit.scanner, DRIVERS, {"public_counter": 0})
    world.step("keys_tried", DRIVERS, kit.keys)
    for code in (kit.stock, kit.scanner, kit.keys):
        assert holders(world, code) == ["CHIEF-P01", "WORKER-1-P01"]


def test_a_late_handoff_takes_its_place_in_the_order_of_time() -> None:
    world = at_the_place()
    tape = world.kits["P01"].tape
    last = world.handoff([tape], DRIVERS, DESK, "return", at=world.at + 60 * MINUTE)
    world.handoff([tape], CHIEF, DRIVERS, "return", at=last.at - 20 * MINUTE, received=last.received + 600 * MINUTE)
    holder = state_of(world, tape).holder
    assert holder is not None
    assert (holder.people, holder.site, holder.since) == (("DESK-1", "DESK-2"), "RS", moment(last))


# Containers


def nested() -> World:
    """The tape is in the envelope, the envelope in the case."""
    world = at_the_place()
    kit = world.kits["P01"]
    world.pack(kit.envelope, [kit.tape], CHIEF)
    world.pack(kit.case, [kit.envelope], CHIEF)
    return world


def test_what_is_packed_lies_in_its_container_and_in_those_around_it() -> None:
    world = nested()
    kit, view = world.kits["P01"], seen(world)
    assert view.around(kit.tape) == [kit.envelope, kit.case]
    assert view.outermost(kit.tape) == kit.case
    assert view.inside(kit.case) == [kit.envelope, kit.tape]
    assert view.with_contents([kit.tape, kit.case]) == [kit.tape, kit.case, kit.envelope]
    assert (view.around(kit.case), view.outermost(kit.case), view.inside(kit.tape)) == ([], kit.case, [])


def test_what_is_unpacked_keeps_what_is_in_it() -> None:
    world = nested()
    kit = world.kits["P01"]
    world.unpack(kit.case, [kit.envelope], CHIEF)
    view = seen(world)
    assert (view.inside(kit.case), view.inside(kit.envelope)) == ([], [kit.tape])


def test_a_container_that_is_handed_over_takes_along_what_is_in_it() -> None:
    world = nested()
    kit = world.kits["P01"]
    world.handoff([kit.case], CHIEF, DRIVERS, "return")
    assert [holders(world, code) for code in (kit.case, kit.envelope, kit.tape)] == [
        ["DRIVER-1-P01", "DRIVER-2-P01"]
    ] * 3


def test_a_thing_in_a_container_is_held_by_the_later_of_both_receivers() -> None:
    world = at_the_place()
    kit = world.kits["P01"]
    world.handoff([kit.tape], CHIEF, WORKERS, "relieve")
    world.pack(kit.case, [kit.tape], WORKERS)
    assert holders(world, kit.tape) == ["WORKER-1-P01", "WORKER-2-P01"]
    world.handoff([kit.case], CHIEF, DRIVERS, "return")
    assert holders(world, kit.tape) == ["DRIVER-1-P01", "DRIVER-2-P01"]


def test_a_thing_that_is_packed_into_what_somebody_received_later_is_held_by_that_party() -> None:
    world = at_the_place()
    kit = world.kits["P01"]
    world.handoff([kit.case], CHIEF, WORKERS, "relieve")
    world.pack(kit.case, [kit.tape], party("poll_worker", "WORKER-1-P01", site="P01"))
    assert holders(world, kit.tape) == ["WORKER-1-P01", "WORKER-2-P01"]


def test_what_comes_out_of_a_container_is_held_by_who_held_the_outermost_one() -> None:
    world = nested()
    kit = world.kits["P01"]
    world.handoff([kit.case], CHIEF, DESK, "return")
    world.unpack(kit.envelope, [kit.tape], party("receiving_clerk", "DESK-3", site="RS"))
    state = state_of(world, kit.tape)
    assert (state.container, state.holder) == (None, state_of(world, kit.case).holder)
    assert holders(world, kit.tape) == ["DESK-1", "DESK-2", "DESK-3"]


def test_what_was_received_later_than_its_container_comes_out_to_the_holder_of_the_container() -> None:
    world = at_the_place()
    kit = world.kits["P01"]
    world.handoff([kit.tape], CHIEF, WORKERS, "relieve")
    world.pack(kit.case, [kit.tape], WORKERS)
    world.unpack(kit.case, [kit.tape], CHIEF)
    assert holders(world, kit.tape) == ["CHIEF-P01", "WORKER-1-P01"]


def test_a_thing_handed_over_on_its_own_was_not_in_its_container() -> None:
    world = nested()
    kit = world.kits["P01"]
    world.handoff([kit.tape], CHIEF, DRIVERS, "return")
    view = seen(world)
    assert (view.item(kit.tape).container, view.inside(kit.case)) == (None, [kit.envelope])


def test_a_thing_handed_over_with_its_container_stays_in_it() -> None:
    world = nested()
    kit = world.kits["P01"]
    world.handoff([kit.tape, kit.case], CHIEF, DRIVERS, "return")
    assert seen(world).inside(kit.case) == [kit.envelope, kit.tape]


def test_a_thing_packed_elsewhere_is_no_longer_where_it_was() -> None:
    world = nested()
    kit = world.kits["P01"]
    world.pack(kit.containers[0], [kit.tape], CHIEF)
    view = seen(world)
    assert (view.inside(kit.envelope), view.inside(kit.containers[0])) == ([], [kit.tape])


def test_a_thing_unpacked_from_where_the_record_does_not_have_it_is_out_of_everything() -> None:
    world = nested()
    kit = world.kits["P01"]
    world.unpack(kit.containers[0], [kit.tape], CHIEF)
    view = seen(world)
    assert (view.around(kit.tape), view.inside(kit.envelope)) == ([], [])


@pytest.mark.parametrize("how", ["shown empty", "disposed of"])
def test_an_empty_container_holds_nothing_but_what_the_entry_names(how: str) -> None:
    world = nested()
    kit = world.kits["P01"]
    if how == "shown empty":
        world.step("shown_empty", CHIEF, kit.case)
    else:
        world.dispose([kit.case], CHIEF, "released")
    view = seen(world)
    assert (view.inside(kit.case), view.around(kit.tape)) == ([], [kit.envelope])


def test_a_ring_of_containers_is_cut_where_the_last_entry_says_otherwise() -> None:
    world = nested()
    kit = world.kits["P01"]
    world.pack(kit.tape, [kit.case], CHIEF)
    view = seen(world)
    assert view.around(kit.case) == [kit.tape, kit.envelope]
    assert (view.inside(kit.envelope), view.inside(kit.case)) == ([kit.tape, kit.case], [])
    assert view.item(kit.envelope).container is None


def test_what_a_cut_ring_leaves_behind_is_in_one_container_only() -> None:
    world = at_the_place()
    kit = world.kits["P01"]
    box, other = kit.containers
    world.pack(kit.case, [kit.tape, box], CHIEF)
    world.pack(other, [kit.case], CHIEF)
    world.pack(box, [kit.tape, other], CHIEF)
    view = seen(world)
    assert (view.item(box).contents, view.item(kit.case).contents) == (tuple(sorted((kit.tape, other))), (box,))
    assert (view.around(kit.tape), view.around(kit.case)) == ([box, kit.case], [])


def test_a_container_is_never_in_itself() -> None:
    world = at_the_place()
    case = world.kits["P01"].case
    world.pack(case, [case], CHIEF)
    assert (state_of(world, case).container, state_of(world, case).contents) == (None, ())


@pytest.mark.parametrize("seed", range(12))
def test_packing_anything_into_anything_never_hangs_and_never_makes_a_ring(seed: int) -> None:
    world, rng = at_the_place(), chance(seed)
    things = sorted(world.kits["P01"].all[:5])
    for _ in range(30):
        inside = rng.sample(things, rng.randint(1, 3))
        act = world.pack if rng.random() < 0.8 else world.unpack
        act(rng.choice(things), inside, CHIEF)
    view = seen(world)
    for code in things:
        around = view.around(code)
        assert code not in around
        assert code not in view.inside(code)
        assert all(code in view.inside(each) for each in around)
        assert [each for each in things if view.item(each).container == code] == sorted(view.item(code).contents)


def test_states_that_contradict_each_other_are_walked_to_an_end() -> None:
    ring = {
        item_key("A"): ItemState(container="B", contents=("B",)),
        item_key("B"): ItemState(container="A", contents=("A",)),
        item_key("C"): ItemState(container="A"),
    }
    view = View(ring.__getitem__, World(places=1).register, DEFAULT_POLICY)
    assert (view.around("A"), view.inside("A")) == (["B"], ["B"])
    assert (view.around("C"), view.outermost("C")) == (["A", "B"], "B")


# A device at work


def test_a_device_is_at_work_while_it_is_packed_in_a_scanner() -> None:
    world = at_the_place()
    kit = world.kits["P01"]
    put_in = world.pack(kit.scanner, [kit.memory], CHIEF)
    working = InScanner(election=ELECTION, site="P01", scanner=kit.scanner, since=moment(put_in))
    assert state_of(world, kit.memory).in_scanner == (working,)
    taken_out = world.unpack(kit.scanner, [kit.memory], CHIEF)
    assert state_of(world, kit.memory).in_scanner == (working._replace(until=moment(taken_out)),)
    world.pack(kit.envelope, [kit.memory], CHIEF)
    assert len(state_of(world, kit.memory).in_scanner) == 1


# Lost and found


def test_who_finds_a_thing_holds_it_and_all_that_is_in_it() -> None:
    world = nested()
    kit = world.kits["P01"]
    world.incident("lost", CHIEF, kit.case)
    world.incident("found", DRIVERS, kit.case)
    assert holders(world, kit.case) == holders(world, kit.tape) == ["DRIVER-1-P01", "DRIVER-2-P01"]


def test_who_finds_a_thing_outside_its_container_may_hand_it_over() -> None:
    world = nested()
    kit = world.kits["P01"]
    world.incident("found", DRIVERS, kit.tape)
    assert holders(world, kit.tape) == ["DRIVER-1-P01", "DRIVER-2-P01"]
    assert holders(world, kit.envelope) == ["CHIEF-P01", "WORKER-1-P01"]
    world.handoff([kit.tape], DRIVERS, DESK, "return")
    assert keys(world, "custody-gap") == []


def test_an_incident_of_another_kind_makes_no_holder() -> None:
    world = at_the_place()
    world.incident("damaged", DRIVERS, world.kits["P01"].tape)
    assert holders(world, world.kits["P01"].tape) == ["CHIEF-P01", "WORKER-1-P01"]


# Ways back


def stretches(world: World, code: str) -> list[tuple[tuple[str, ...], bool, bool]]:
    """`(people, over, delivered)` of the only way back of an item."""
    (travel,) = state_of(world, code).travels
    return [(each.people, each.until is not None, each.delivered) for each in travel.carried]


PAIR, OTHER_PAIR = ("DRIVER-1-P01", "DRIVER-2-P01"), ("DRIVER-1-P02", "DRIVER-2-P02")


def test_a_way_back_begins_with_the_first_handoff_at_a_polling_place_to_a_courier() -> None:
    world = nested()
    kit = world.kits["P01"]
    away = world.handoff([kit.case], CHIEF, DRIVERS, "return")
    for code in (kit.case, kit.envelope, kit.tape):
        travel = state_of(world, code).travel
        assert travel is not None
        assert (travel.since, travel.site, travel.couriers) == (moment(away), "P01", PAIR)
        assert stretches(world, code) == [(PAIR, False, False)]
    assert state_of(world, kit.stock).travels == ()


@pytest.mark.parametrize(
    ("release", "receive"),
    [(CLERKS, DRIVERS), (DESK, DRIVERS), (DRIVERS, OTHER_DRIVERS), (CHIEF, DESK), (CHIEF, TECHNICIAN)],
    ids=["from the warehouse", "from a desk", "on the road", "to a desk", "to a technician"],
)
def test_other_handoffs_begin_no_way_back(release: JsonParty, receive: JsonParty) -> None:
    world = at_the_place()
    world.handoff([world.kits["P01"].tape], release, receive, "return")
    assert state_of(world, world.kits["P01"].tape).travels == ()


def test_a_way_back_goes_on_through_every_car_until_it_is_received() -> None:
    world = at_the_place()
    tape = world.kits["P01"].tape
    world.handoff([tape], CHIEF, DRIVERS, "return")
    world.handoff([tape], DRIVERS, OTHER_DRIVERS, "return")
    assert stretches(world, tape) == [(PAIR, True, False), (OTHER_PAIR, False, False)]
    world.handoff([tape], OTHER_DRIVERS, DESK, "return", signed_by=OTHER_PAIR)
    assert stretches(world, tape) == [(PAIR, True, False), (OTHER_PAIR, True, True)]
    (travel,) = state_of(world, tape).travels
    assert travel.ended is None
    taken = world.handoff([tape], DESK, DESK, "transfer")
    (travel,) = state_of(world, tape).travels
    assert (travel.ended, travel.couriers) == (moment(taken), tuple(sorted((*PAIR, *OTHER_PAIR))))


def test_a_thing_may_be_on_a_way_back_again() -> None:
    world = at_the_place()
    tape = world.kits["P01"].tape
    first = world.handoff([tape], CHIEF, DRIVERS, "return")
    world.handoff([tape], DRIVERS, CHIEF, "return")
    second = world.handoff([tape], CHIEF, DRIVERS, "return")
    travels = state_of(world, tape).travels
    assert [(each.since, each.ended is not None) for each in travels] == [
        (moment(first), True),
        (moment(second), False),
    ]


def test_a_countersignature_that_arrives_later_ends_a_way_back_at_the_handoff() -> None:
    world = at_the_place()
    tape = world.kits["P01"].tape
    world.handoff([tape], CHIEF, DRIVERS, "return")
    arrival = world.handoff([tape], DRIVERS, DESK, "return", signed_by=PAIR)
    assert state_of(world, tape).travels[0].ended is None
    world.sign_later(arrival, "DESK-1", received=arrival.received + 30 * MINUTE)
    assert state_of(world, tape).travels[0].ended == moment(arrival)


# Owed and back


def owes(world: World, code: str) -> list[tuple[str, bool]]:
    """The places that owe an item, and whether it came back."""
    return [(each.site, each.back is not None) for each in state_of(world, code).owed]


def fresh() -> World:
    """Two places and the spares; nothing has happened."""
    return World(places=2)


def use(world: World, how: str) -> None:
    """Something is done with the spare tape, alone or in the spare envelope."""
    tape, envelope = world.spare.tape, world.spare.envelope
    match how:
        case "handed to the place":
            world.handoff([tape], DRIVERS, CHIEF, "deliver")
        case "issued with a kit":
            world.change("kits", election=ELECTION, site="P01", item=tape)
            world.handoff([tape], CLERKS, DRIVERS, "issue")
        case "issued to the place":
            world.handoff([tape], CLERKS, CHIEF, "issue")
        case "registered":
            world.enter([tape], CHIEF)
        case "packed":
            world.pack(envelope, [tape], CHIEF)
        case "unpacked":
            world.unpack(envelope, [tape], CHIEF)
        case "inspected":
            world.inspect([{"item": tape, "point": "flap", "state": "missing"}], CHIEF)
        case "counted":
            world.count(tape, CHIEF, {"ballots_cast": 1})
        case "named in a step":
            world.step("zero_tape_signed", CHIEF, tape)
        case "in a container that is named":
            world.pack(envelope, [tape], CLERKS)
            world.step("seals_verified", CHIEF, envelope)
        case "in a container that is handed over":
            world.pack(envelope, [tape], CLERKS)
            world.handoff([envelope], CLERKS, CHIEF, "deliver")
        case "reported damaged":
            world.incident("damaged", CHIEF, tape)
        case "handed to a courier":
            world.handoff([tape], CLERKS, DRIVERS, "issue")
        case "handed out by the place":
            world.handoff([tape], CHIEF, DRIVERS, "return")
        case "used in the warehouse":
            world.pack(envelope, [tape], CLERKS)
        case _:
            raise AssertionError(how)


@pytest.mark.parametrize(
    "how",
    [
        "handed to the place",
        "issued with a kit",
        "issued to the place",
        "registered",
        "packed",
        "unpacked",
        "inspected",
        "counted",
        "named in a step",
        "in a container that is named",
        "in a container that is handed over",
    ],
)
def test_a_thing_used_at_a_place_is_owed_by_it_planned_or_not(how: str) -> None:
    world = fresh()
    use(world, how)
    last = world.log[-1]
    assert state_of(world, world.spare.tape).owed == (Owed(election=ELECTION, site="P01", since=moment(last)),)


@pytest.mark.parametrize(
    "how", ["reported damaged", "handed to a courier", "handed out by the place", "used in the warehouse"]
)
def test_a_thing_not_used_at_a_place_is_owed_by_nobody(how: str) -> None:
    world = fresh()
    use(world, how)
    assert owes(world, world.spare.tape) == []


VAULT = party("vault_custodian", "VAULT-1", "VAULT-2", site="VA")


@pytest.mark.parametrize(
    ("receive", "tape_back", "pollbook_back"),
    [
        (DESK, True, True),
        (VAULT, True, True),
        (CLERKS, False, True),
        (DRIVERS, False, False),
        (TECHNICIAN, False, False),
    ],
    ids=["a receiving clerk", "a vault custodian", "a warehouse clerk", "a courier", "a technician"],
)
def test_what_is_controlled_is_back_at_a_desk_or_in_the_vault_and_nowhere_else(
    receive: JsonParty, tape_back: bool, pollbook_back: bool
) -> None:
    world = at_the_place()
    kit = world.kits["P01"]
    world.handoff([kit.tape, kit.pollbook], CHIEF, receive, "return")
    assert owes(world, kit.tape) == [("P01", tape_back)]
    assert owes(world, kit.pollbook) == [("P01", pollbook_back)]


@pytest.mark.parametrize(("signer", "back"), [("CHIEF-P01", False), ("DESK-2", True)])
def test_a_thing_is_back_when_the_receiving_end_signed(signer: str, back: bool) -> None:
    world = at_the_place()
    tape = world.kits["P01"].tape
    arrival = world.handoff([tape], CHIEF, DESK, "return", signed_by=[signer])
    assert [each.back for each in state_of(world, tape).owed] == [moment(arrival) if back else None]


def test_a_receiving_clerk_at_a_polling_place_makes_the_place_owe_and_brings_nothing_back() -> None:
    world = fresh()
    tape = world.spare.tape
    world.handoff([tape], CLERKS, party("receiving_clerk", "DESK-1", site="P01"), "transfer")
    assert owes(world, tape) == [("P01", False)]


def test_a_thing_is_back_with_the_container_around_it() -> None:
    world = nested()
    kit = world.kits["P01"]
    world.handoff([kit.case], CHIEF, DESK, "return")
    assert [owes(world, code) for code in (kit.case, kit.envelope, kit.tape)] == [[("P01", True)]] * 3


def test_a_thing_that_is_used_again_after_it_came_back_is_owed_again() -> None:
    world = at_the_place()
    tape = world.kits["P01"].tape
    world.handoff([tape], CHIEF, DESK, "return")
    world.handoff([tape], DESK, CHIEF, "deliver")
    assert owes(world, tape) == [("P01", False)]
    world.handoff([tape], CHIEF, DESK, "return")
    assert owes(world, tape) == [("P01", True)]


def test_a_thing_that_was_at_two_places_is_owed_by_both_until_it_is_back() -> None:
    world = at_the_place()
    tape = world.kits["P01"].tape
    world.handoff([tape], CHIEF, party("poll_chief", "CHIEF-P02", site="P02"), "transfer")
    assert owes(world, tape) == [("P01", False), ("P02", False)]
    world.handoff([tape], party("poll_chief", "CHIEF-P02", site="P02"), DESK, "return")
    assert owes(world, tape) == [("P01", True), ("P02", True)]


# A technician's service


def serviced(reason: str = "service", by: JsonParty = TECHNICIAN) -> World:
    world = at_the_place()
    world.seal([world.kits["P01"].scanner], CHIEF)
    world.unseal([world.kits["P01"].scanner], by, reason)
    return world


@pytest.mark.parametrize(
    ("reason", "by", "people"),
    [("service", TECHNICIAN, ("TECH-1",)), ("emergency", TECHNICIAN, ()), ("service", CHIEF, ())],
    ids=["a technician for service", "for another reason", "somebody else"],
)
def test_service_begins_when_a_technician_unseals_for_it(reason: str, by: JsonParty, people: tuple[str, ...]) -> None:
    world = serviced(reason, by)
    assert state_of(world, world.kits["P01"].scanner).service == people


def test_service_ends_with_his_seal_after_which_no_point_is_open() -> None:
    world = serviced()
    scanner = world.kits["P01"].scanner
    world.seal([(scanner, "memory")], TECHNICIAN)
    assert state_of(world, scanner).service == ("TECH-1",)
    world.seal([(scanner, "bin")], TECHNICIAN)
    assert state_of(world, scanner).service == ()


def test_service_does_not_end_with_somebody_else_s_seal() -> None:
    world = serviced()
    scanner = world.kits["P01"].scanner
    world.seal([scanner], CHIEF)
    assert state_of(world, scanner).service == ("TECH-1",)
