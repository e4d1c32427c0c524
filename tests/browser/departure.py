"""A polling place before its drivers leave, whose people have badges, for tests that hand things over in a browser.

Twelve things with six seals stand ready. Secrets and PIN of the badges are those of the demo, which are public.
"""

from __future__ import annotations

import base64
import csv
from dataclasses import dataclass
from pathlib import Path

from django.db import transaction
from stdnum.iso7064 import mod_37_2

from custody import store
from custody.models.register import PersonalValue
from tests.web.evening import DRILL
from tests.world import World
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_deeds, put_register

PLACE = "P01"
NAMES = {
    "CHIEF-P01": "Clover Kettlewick",
    "WORKER-1-P01": "Flint Buttonwick",
    "WORKER-2-P01": "Fern Lanternwick",
    "DRIVER-1-P01": "Sage Thimbleham",
    "DRIVER-2-P01": "Birk Saddleham",
    "DESK-1": "Hazel Bramblewick",
    "DESK-2": "Rowan Fernlee",
    "OFFICE-1": "Wren Larkham",
}
CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
DEMO_BADGES = Path(__file__).resolve().parents[2] / "fixtures_demo" / "badges.csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class Badge:
    """What stands on a badge, and what belongs to it."""

    text: str
    pin: str
    public_key: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Departure:
    """The world at 20:50, what its drivers shall take, and the badges by person."""

    world: World
    items: list[str]
    seals: list[tuple[str, str, str]]
    badges: dict[str, Badge]
    now: int


def make_departure() -> Departure:
    """Put it on record. Seals stand in the order in which the page asks for them: by kind of thing, then code."""
    world = World(places=2, log=f"{JURISDICTION}/{DRILL}")
    badges = make_badges(world)
    world.until(PLACE, "open_polls")
    more = [world.add_item("pollbook", home="WH") for _ in range(7)]
    world.enter(more, world.chief(PLACE))
    for phase in ("noon", "close_polls", "pack_for_return"):
        getattr(world, phase)(PLACE)
    kit, items = world.kits[PLACE], [*world.returned(PLACE), *more]
    sealed = [*sorted(kit.containers), kit.case, kit.stock]
    seals = [(item, point, number) for item in sealed for (of, point), number in world.in_place.items() if of == item]
    with transaction.atomic():
        put_register(world)
    for person, name in NAMES.items():
        PersonalValue.objects.create(jurisdiction=JURISDICTION, person=person, field="name", value=name, salt=b"")
    put_deeds(store.make_log(JURISDICTION, DRILL, store.LogKind.REHEARSAL), world.lines())
    return Departure(world=world, items=items, seals=seals, badges=badges, now=world.time("20:50"))


def make_badges(world: World) -> dict[str, Badge]:
    """A badge for each of the people here: its key becomes one more of theirs."""
    with DEMO_BADGES.open(encoding="utf-8", newline="") as file:
        rows = csv.DictReader(line for line in file if not line.startswith("#"))
        badges = {
            person: Badge(
                text=badge_text(person, bytes.fromhex(row["secret"])),
                pin=row["pin"],
                public_key=base64.b64decode(row["public_key"]),
            )
            for person, row in zip(NAMES, rows, strict=False)
        }
    for person, badge in badges.items():
        world.change("keys", person=person, public_key=base64.b64encode(badge.public_key).decode())
    return badges


def badge_text(person: str, secret: bytes) -> str:
    """26 symbols of Crockford's base 32 for 16 bytes, then ISO/IEC 7064 MOD 37-2 over them as the library has it."""
    number = int.from_bytes(secret)
    digits = "".join(CROCKFORD[number >> shift & 31] for shift in range(125, -1, -5))
    return f"CB1:{person}:{digits}{mod_37_2.calc_check_digit(digits)}"
