"""The world at one moment of an entry, as a layer over what came before: where things are, who holds them, under which seal.

A view answers from the states alone, with the register and the policy of the entry's time. It judges nothing, and it
asks for a state by its key, so that whoever stands beneath can note what was read.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from typing import cast

from custody.domain.parties import SealRange, split_number
from custody.domain.policy import Policy, When
from custody.domain.register import Register
from custody.domain.seal_states import LooseState, NumberState
from custody.domain.states import Holding, HoldState, ItemState, PersonState, State
from custody.domain.vocabulary import DESK_ROLES, ItemKind

BLOCK = 1_000
"""Loose seals are kept in blocks of so many numbers, so that one number is looked up without its whole lot."""


def item_key(code: str) -> str:
    return f"item:{code}"


def number_key(number: str) -> str:
    return f"number:{number}"


def person_key(code: str) -> str:
    return f"person:{code}"


def journey_key(entry: str) -> str:
    return f"journey:{entry}"


def place_key(election: str, site: str) -> str:
    return f"place:{election}/{site}"


def settlement_key(finding: str) -> str:
    return f"finding:{finding}"


HOLDS_KEY = "holds:"


def loose_key(number: str) -> str:
    """The block of loose seals that one number falls in. Any text is a number, also one that no range could be written with."""
    prefix, value, width = split_number(number)
    return f"loose:{prefix}/{width}/{value // BLOCK}"


def loose_keys(seals: SealRange) -> list[str]:
    """The blocks that a range of loose seals falls in: at most eleven."""
    blocks = range(seals.first // BLOCK, seals.last // BLOCK + 1)
    return [f"loose:{seals.prefix}/{seals.width}/{block}" for block in blocks]


class View:
    """The world at one moment of an entry. Reads fall through to the layer beneath; writes stay in this layer."""

    def __init__(self, beneath: Callable[[str], State], register: Register, policy: Policy) -> None:
        self._beneath = beneath
        self._register = register
        self._policy = policy
        self.changes: dict[str, State] = {}

    def get(self, key: str) -> State:
        found = self.changes.get(key)
        return self._beneath(key) if found is None else found

    def put(self, key: str, state: State) -> None:
        self.changes[key] = state

    def item(self, code: str) -> ItemState:
        return cast(ItemState, self.get(item_key(code)))

    def put_item(self, code: str, state: ItemState) -> None:
        self.put(item_key(code), state)

    def number(self, number: str) -> NumberState:
        return cast(NumberState, self.get(number_key(number)))

    def loose(self, number: str) -> LooseState:
        """The loose seals of the block that a number falls in."""
        return cast(LooseState, self.get(loose_key(number)))

    def person(self, code: str) -> PersonState:
        return cast(PersonState, self.get(person_key(code)))

    def holds(self) -> HoldState:
        return cast(HoldState, self.get(HOLDS_KEY))

    def around(self, code: str) -> list[str]:
        """The containers around an item, from the inside out."""
        chain: list[str] = []
        container = self.item(code).container
        while container is not None and container not in chain and container != code:
            chain.append(container)
            container = self.item(container).container
        return chain

    def outermost(self, code: str) -> str:
        """The outermost container around an item, or the item itself."""
        chain = self.around(code)
        return chain[-1] if chain else code

    def inside(self, code: str) -> list[str]:
        """Everything in a container, nested, in a fixed order; without the container itself."""
        found: dict[str, None] = {}
        waiting = deque(self.item(code).contents)
        while waiting:
            each = waiting.popleft()
            if each not in found and each != code:
                found[each] = None
                waiting.extend(self.item(each).contents)
        return list(found)

    def with_contents(self, codes: Iterable[str]) -> list[str]:
        """The items and everything in them, each once."""
        return list(dict.fromkeys(each for code in codes for each in (code, *self.inside(code))))

    def kind(self, code: str) -> ItemKind | None:
        item = self._register.items.get(code)
        return item.kind if item else None

    def is_controlled(self, code: str) -> bool:
        """Whether two people are asked for: by kind, or (envelopes) since it holds a controlled item or a count is on it."""
        kind = self.kind(code)
        if kind is None:
            return False
        when = self._policy.items[kind].controlled
        if when is When.BY_CONTENTS:
            # What is inside what is inside is looked at in one go: asked level by level, the cost would double with each.
            return self.item(code).has_count or any(self._makes_controlled(each) for each in self.inside(code))
        return when is When.YES

    def _makes_controlled(self, code: str) -> bool:
        """Whether an item, without its contents, makes what is around it controlled."""
        kind = self.kind(code)
        if kind is None:
            return False
        when = self._policy.items[kind].controlled
        return when is When.YES or (when is When.BY_CONTENTS and self.item(code).has_count)

    def is_or_holds_controlled(self, code: str) -> bool:
        """Whether an item is controlled or a container holds something that is."""
        return self.is_controlled(code) or any(self.is_controlled(each) for each in self.inside(code))

    def wants_seal(self, code: str) -> bool:
        """Whether policy wants this item sealed on the way back and in the vault."""
        kind = self.kind(code)
        if kind is None:
            return False
        when = self._policy.items[kind].sealed
        return self.is_controlled(code) if when is When.BY_CONTENTS else when is When.YES

    def has_own_seals(self, code: str) -> bool:
        """Whether every seal point of an item has a seal in place, and it has at least one."""
        item, seals = self._register.items.get(code), self.item(code).seals
        points = item.seal_points if item else ()
        return bool(points) and all(point in seals for point in points)

    def is_sealed(self, code: str) -> bool:
        """Whether an item's own seal points are all sealed, or a container around it is."""
        return self.has_own_seals(code) or any(self.has_own_seals(each) for each in self.around(code))

    def holders(self, code: str, election: str) -> frozenset[str] | None:
        """Everybody who holds an item, or `None` when nobody is on record; `election` is that of the entry judged."""
        holding = self.holding(code)
        return None if holding is None else holding_people(self._register, holding, election)

    def holding(self, code: str) -> Holding | None:
        """The holding of an item: that of whoever last received it or the outermost container around it."""
        own, outer = self.item(code).holder, self.item(self.outermost(code)).holder
        if own is None or outer is None:
            return own or outer
        return max(own, outer, key=lambda each: each.since)


def holding_people(register: Register, holding: Holding, election: str) -> frozenset[str]:
    """The people of a holding; at a desk, all who are assigned to it in the election of either entry (shifts change).

    An assignment to the role at no site in particular is one to the role at every site.
    """
    people = frozenset(holding.people)
    if holding.role not in DESK_ROLES:
        return people
    elections = {holding.election, election}
    sites = {holding.site or "", ""}
    desks = (register.desks.get((each, holding.role, site), ()) for each in elections for site in sites)
    return people.union(*desks)
