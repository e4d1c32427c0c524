"""One evening for the pages: a place that is back, one whose things are with its drivers, and findings of each status."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction

from custody import store
from custody.models.register import PersonalValue
from custody.services.record import Receipt
from tests.world import World, reading
from tests.world_acts import Deed
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_deeds, put_register

DRILL = "drill"
NAMES = {"CHIEF-P02": "Clover Kettlewick", "DRIVER-1-P02": "Reed Bramblestoke"}
PHONE = "555-0142"


@dataclass(frozen=True, slots=True, kw_only=True)
class Evening:
    """What is on record. `lone` was handed over by one driver alone, `explained` settles half of that."""

    world: World
    receipts: dict[str, Receipt]
    now: int
    lone: Deed
    misread: Deed
    put_right: Deed
    explained: Deed


def make_evening(*, log: str = DRILL, places: int = 2, register_of: int | None = None) -> Evening:
    """`register_of` places are on the register, if more than have anything on record.

    Everything but the first place is still on its way at 22:00.
    """
    world = World(places=register_of or places, log=f"{JURISDICTION}/{log}")
    world.until("P01", "bring_back")
    desk = world.party("receiving_clerk")
    box = world.kits["P01"].containers[0]
    misread = world.inspect([reading(box, "front", "S0099999")], desk)
    put_right = world.inspect([box], desk)
    lone = world.log[-1]
    for place in world.places[1:places]:
        world.until(place, "pack_for_return")
        chief, drivers = world.chief(place), world.drivers(place)
        signed_by = [*chief["people"], drivers["people"][0]]
        lone = world.handoff(
            world.returned(place), chief, drivers, "return", signed_by=signed_by, at=world.time("21:00")
        )
    world.at = world.time("21:45")
    key = f"signer-missing/{lone.id}:receive"
    explained = world.resolve(key, world.party("official", None, people=0) | {"people": ["OFFICE-1"]})
    with transaction.atomic():
        put_register(world)
    for person, name in NAMES.items():
        for field, value in (("name", name), ("phone", PHONE)):
            PersonalValue.objects.create(jurisdiction=JURISDICTION, person=person, field=field, value=value, salt=b"")
    kind = store.LogKind.MAIN if log == "main" else store.LogKind.REHEARSAL
    receipts = put_deeds(store.make_log(JURISDICTION, log, kind), world.lines())
    return Evening(
        world=world,
        receipts={each.id: each for each in receipts},
        now=world.time("22:00"),
        lone=lone,
        misread=misread,
        put_right=put_right,
        explained=explained,
    )
