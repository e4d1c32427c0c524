"""Bad days: the phases of a day with anything wrong in them, and acts between that make no sense; from one `Random`.

For tests of properties that must hold for every log: whatever comes out here is well formed, and some of it happened.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Callable, Sequence
from typing import Any

from custody.domain.instants import dump_instant, parse_instant
from custody.domain.parsing import parse_entry
from custody.domain.vocabulary import (
    Category,
    DisposalMethod,
    Figure,
    Outcome,
    Purpose,
    Role,
    SealState,
    StepName,
    UnsealReason,
)
from custody.errors import Refused
from tests.world import DAY, HOUR, MINUTE, Deed, JsonParty, World, findings_of, party, reading
from tests.world_acts import Thing, entry_id

NOWHERE, NOBODY, NOTHING = "P99", "NOBODY", "BC99999X"  # codes that no register has


def chance(seed: int) -> random.Random:
    """The generator that a seed stands for."""
    return random.Random(seed)  # noqa: S311 - it has to come out the same again


class BadWorld(World):
    """A world in which every act may go wrong, with this chance. `rng` decides everything."""

    def __init__(self, rng: random.Random, *, places: int = 2, mischief: float = 0.25) -> None:
        super().__init__(places=places, seed=rng.getrandbits(32))
        self.rng, self.mischief = rng, mischief
        self.codes = sorted(self.register.items)
        self.persons = sorted(self.register.people)
        self.sites = sorted(self.register.sites)

    def write(self, payload: dict[str, Any], *, signers: Sequence[str], received: int) -> Deed:
        rng = self.rng
        if payload.get("seals") == []:  # nothing was sealed, as far as this world remembers
            payload |= {"seals": [reading(NOTHING, "front", "X3")]}
        if rng.random() >= self.mischief:
            return super().write(payload, signers=signers, received=received)
        changed = copy.deepcopy(payload)
        for _ in range(rng.randint(0, 2)):
            rng.choice(SPOILERS)(self, changed)
        try:
            parse_entry(changed)
        except Refused:
            changed = payload
        signers = self._other_signers(signers) if rng.random() < 0.4 else signers
        received += rng.choice([0, 0, 0, HOUR, 5 * HOUR, 26 * HOUR, -2 * MINUTE, -10 * MINUTE])
        deed = super().write(changed, signers=signers, received=received)
        if rng.random() < 0.15:
            self.log.pop()  # it was done, and nobody wrote it down
        return deed

    def _other_signers(self, signers: Sequence[str]) -> list[str]:
        kept = [person for person in signers if self.rng.random() < 0.6]
        if not kept or self.rng.random() < 0.2:
            kept.append(self.rng.choice(self.persons))
        return list(dict.fromkeys(kept))

    def fresh(self, site: str, *things: Thing) -> list[dict[str, str]]:
        """As careful people's, but that a number may be any number."""
        points = [point for thing in things for point in self._points(thing)]
        return [reading(item, point, self.a_number(site)) for item, point in points]

    # Anything

    def a_number(self, site: str = "") -> str:
        loose, rng = self.loose.get(site) or [], self.rng
        if loose and rng.random() < 0.8:
            return loose.pop(0)
        used = sorted(self.in_place.values())
        return rng.choice([*used, f"S{rng.randint(1_000, 2_040):07}", f"T{rng.randint(1, 50):07}", "X1"])

    def a_code(self) -> str:
        return self.rng.choice(self.codes) if self.rng.random() < 0.97 else NOTHING

    def some_codes(self, least: int = 1) -> list[str]:
        return list(dict.fromkeys(self.a_code() for _ in range(self.rng.randint(least, 4))))

    def a_party(self) -> JsonParty:
        rng = self.rng
        role = rng.choice(list(Role))
        if rng.random() < 0.7:
            known = party(str(role), *rng.choice(self._shifts(role)))
        else:
            known = party(str(role), *rng.sample(self.persons, rng.randint(0, 3)))
        return known | rng.choice([{}, {"site": rng.choice(self.sites)}])

    def _shifts(self, role: Role) -> list[list[str]]:
        return [sorted(people) for (_, each, _), people in sorted(self.register.desks.items()) if each is role]

    def a_reading(self) -> dict[str, str]:
        rng = self.rng
        item, point = rng.choice(sorted(self.in_place) or [(self.a_code(), "front")])
        state = rng.choice(["intact", "intact", *SealState])
        number = "" if state in ("missing", "unreadable") else self.in_place.get((item, point), "X2")
        if number and rng.random() < 0.3:
            number = self.a_number()
        return reading(item, point, number, str(state))

    def some_readings(self) -> list[Thing]:
        return [self.a_reading() for _ in range(self.rng.randint(1, 3))]

    def some_figures(self) -> dict[str, int]:
        names = self.rng.sample([str(each) for each in Figure], self.rng.randint(1, 4))
        return {name: self.rng.choice([0, 1, 300, 512, 3_203]) for name in names}

    def an_entry(self) -> str:
        """The id of an entry on record; now and then of one to come, or of none."""
        if self.log and self.rng.random() < 0.9:
            return self.rng.choice(self.log).id
        return entry_id(self.at, self._counter + self.rng.randint(1, 3), self.seed)

    def a_finding(self) -> str:
        if self.rng.random() < 0.6:
            found = [each.key for each in findings_of(self)]
            if found:
                return self.rng.choice(found)
        return f"end-unsigned/{self.an_entry()}:by"

    def some_values(self) -> dict[str, Any]:
        """What an amendment may put in place of what was there, right or wrong."""
        rng = self.rng
        at = dump_instant(self.at + rng.randint(-6, 6) * HOUR)
        readings = self.read(*self.some_readings())
        members: dict[str, Any] = {
            "at": at,
            "site": rng.choice([*self.sites, ""]),
            "items": self.some_codes(0),
            "seals": readings,
        }
        members |= {"figures": self.some_figures(), "note": "", "subject": rng.choice(self.sites), "amends": ""}
        members |= {"amends": self.an_entry(), "replaces": {"note": "x"}, "container": self.a_code()}
        chosen = rng.sample(sorted(members), rng.randint(1, 2))
        return {name: members[name] for name in chosen}

    def anything(self) -> None:
        """One act of any kind, by anybody, with anything."""
        self.rng.choice(ANYTHING)(self)


def spoil_time(world: BadWorld, payload: dict[str, Any]) -> None:
    at = parse_instant(payload["at"]) + world.rng.randint(-90, 90) * MINUTE
    payload["at"] = dump_instant(at)


def spoil_site(world: BadWorld, payload: dict[str, Any]) -> None:
    payload.pop("site", None)
    if world.rng.random() < 0.7:
        payload["site"] = world.rng.choice([*world.sites, NOWHERE])


def spoil_items(world: BadWorld, payload: dict[str, Any]) -> None:
    items = payload.get("items")
    if items and world.rng.random() < 0.6:
        items.remove(world.rng.choice(items))
    elif items is not None:
        items.append(world.a_code())


def spoil_seals(world: BadWorld, payload: dict[str, Any]) -> None:
    seals = payload.get("seals") or []
    if not seals:
        return
    index = world.rng.randrange(len(seals))
    if payload["kind"] == "seal":
        seals[index]["number"] = world.a_number()
    elif world.rng.random() < 0.3:
        del seals[index]
    else:
        read = world.a_reading()
        seals[index] = read | {"item": seals[index]["item"], "point": seals[index]["point"]}


def spoil_party(world: BadWorld, payload: dict[str, Any]) -> None:
    end = world.rng.choice([end for end in ("release", "receive", "by") if end in payload])
    people, rng = payload[end]["people"], world.rng
    if people and rng.random() < 0.5:
        people.remove(rng.choice(people))
    elif rng.random() < 0.7:
        people.append(rng.choice([*world.persons, NOBODY]))
    else:
        payload[end] = world.a_party()


def spoil_words(world: BadWorld, payload: dict[str, Any]) -> None:
    rng = world.rng
    if "purpose" in payload and payload["kind"] == "handoff":
        payload["purpose"] = str(rng.choice(list(Purpose)))
    if "figures" in payload:
        payload["figures"] |= world.some_figures()
    if rng.random() < 0.4:
        paper = {"paper": "F-1", "transcriber": rng.choice(world.persons)}
        payload |= paper | rng.choice([{}, {"photos": ["0" * 64]}])


SPOILERS: tuple[Callable[[BadWorld, dict[str, Any]], None], ...] = (
    spoil_time,
    spoil_site,
    spoil_items,
    spoil_seals,
    spoil_party,
    spoil_words,
)


def some_handoff(world: BadWorld) -> None:
    rng = world.rng
    loose = rng.choice([(), ("S0001010..S0001015",), ("S0001990", "S0002001..S0002040")])
    seals = rng.choice([None, world.some_readings()])
    purpose = str(rng.choice(list(Purpose)))
    world.handoff(world.some_codes(), world.a_party(), world.a_party(), purpose, seals=seals, loose=loose)


def some_seal(world: BadWorld) -> None:
    code = world.a_code()
    things: list[Thing] = [*world.fresh("WH", code)] or [reading(code, "front", world.a_number())]
    world.seal(things, world.a_party())


def some_packing(world: BadWorld) -> None:
    rng, containers = world.rng, [code for code in world.codes if code[:2] in ("BC", "TC", "EN", "SC")]
    container = rng.choice([*containers, world.a_code()])
    if rng.random() < 0.5:
        world.pack(container, world.some_codes(), world.a_party())
    else:
        inside = [code for code, around in sorted(world.inside.items()) if around == container]
        world.unpack(container, inside or world.some_codes(), world.a_party())


def some_incident(world: BadWorld) -> None:
    category = str(world.rng.choice(["lost", "found", *Category]))
    loose = world.rng.choice([(), ("S0001003..S0001006",)])
    world.incident(category, world.a_party(), *world.some_codes(0), loose=loose)


def some_hold(world: BadWorld) -> None:
    placed = [deed for deed in world.log if deed.payload.get("movement") == "place"]
    lifts = world.rng.choice([None, *placed])
    world.hold(world.a_party(), *world.some_codes(0), lifts=lifts)


def some_signature(world: BadWorld) -> None:
    if world.log:
        late = world.at + world.rng.choice([0, 0, HOUR, 30 * HOUR])
        world.sign_later(world.rng.choice(world.log), *world.rng.sample(world.persons, 2), received=late)


def some_amendments(world: BadWorld) -> None:
    """One amendment, or two that amend each other."""
    world.amend(world.an_entry(), world.a_party(), world.some_values())
    if world.rng.random() < 0.2:
        ids = [entry_id(world.at, world._counter + 8 + number, world.seed) for number in (0, 1)]
        for own, other in (ids, reversed(ids)):
            world.amend(other, world.a_party(), {"note": "round and round"}, id=own)
        world._counter += 16


def some_step(world: BadWorld) -> None:
    world.step(str(world.rng.choice(list(StepName))), world.a_party(), *world.some_codes(0))


def some_other(world: BadWorld) -> None:
    rng, by = world.rng, world.a_party()
    match rng.randrange(6):
        case 0:
            world.enter(world.some_codes(), by)
        case 1:
            world.unseal(world.some_readings(), by, str(rng.choice(list(UnsealReason))))
        case 2:
            world.inspect(world.some_readings(), by)
        case 3:
            world.count(rng.choice([*world.sites, world.a_code()]), by, world.some_figures())
        case 4:
            world.access(rng.choice(["enter", "leave"]), by)
        case _:
            world.dispose(world.some_codes(), by, str(rng.choice(list(DisposalMethod))))


def some_resolve(world: BadWorld) -> None:
    world.resolve(world.a_finding(), world.a_party(), str(world.rng.choice(list(Outcome))))


ANYTHING: tuple[Callable[[BadWorld], None], ...] = (
    some_handoff,
    some_handoff,
    some_seal,
    some_packing,
    some_incident,
    some_hold,
    some_signature,
    some_amendments,
    some_step,
    some_other,
    some_other,
    some_resolve,
)


def random_world(rng: random.Random, *, places: int = 2, acts: int = 20, mischief: float = 0.25) -> BadWorld:
    """A world after a bad day. `acts` are those that belong to no phase; a phase is left out now and then.

    With `places=1, acts=10` there are about 70 entries, with the defaults about 140.
    """
    world = BadWorld(rng, places=places, mischief=mischief)
    phases = [(phase, place) for phase in world.PHASES for place in world.places]
    for phase, place in phases:
        if rng.random() < 0.93:
            getattr(world, phase)(place)
        for _ in range(rng.randint(0, 2 * acts // len(phases))):
            world.anything()
    while acts > 0:
        world.at += rng.choice([MINUTE, MINUTE, HOUR, DAY])
        world.anything()
        acts -= 3
    return world


def few_acts(rng: random.Random, *, acts: int = 12) -> BadWorld:
    """A short log of acts that make no sense, for tests that try many orders."""
    world = BadWorld(rng, places=1, mischief=0.4)
    world.at = world.time("19:00")
    for _ in range(acts):
        world.anything()
        world.at += rng.choice([0, MINUTE, 20 * MINUTE])
    return world
