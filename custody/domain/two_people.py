"""How many people of a party policy asks to sign an entry, and for which things: the two-person rule.

Asked of the entry alone, given the world it meets: whether they did sign is for the rules. Sources of the default number:
Texas Election Code 129.051(b); Colorado Election Rules, Rule 20; US EAC guidance. Of steps: common practice, no published
source. Written exceptions are part of policy (Washington WAC 434-250-100 allows one person in cases).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import assert_never

from custody.domain.entries import (
    Access,
    Amend,
    Count,
    Dispose,
    Entry,
    Handoff,
    Hold,
    Incident,
    Inspect,
    Pack,
    Register,
    Resolve,
    Seal,
    Step,
    Unpack,
    Unseal,
    moved_items,
    named_items,
)
from custody.domain.policy import Policy
from custody.domain.views import View
from custody.domain.vocabulary import COUNTERS, ItemKind, SiteKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """`number` people of each party are asked to sign; `items` are the controlled things of the entry, sorted.

    A container that holds a controlled thing stands for it. A step may ask for people without any item.
    """

    number: int
    items: tuple[str, ...] = ()


def people_asked(entry: Entry, world: View, policy: Policy, site_kind: SiteKind | None) -> Asked | None:
    """What policy asks of those who do this, or `None` when it is nothing that takes more than one by itself.

    - things are released, received, packed (as item or container), unpacked, sealed, unsealed or disposed of: when they
      are controlled or hold what is;
    - a thing is counted: when it is controlled by what was known before; reading a scanner's counters is no such count;
    - a step is done: when policy names it.
    """
    match entry:
        case Handoff() | Pack() | Unpack() | Dispose():
            codes = moved_items(entry)
        case Seal() | Unseal():
            codes = named_items(entry)
        case Count():
            return _asked_of_count(entry, world, policy, site_kind)
        case Step():
            number = policy.people_steps.get(entry.step)
            return None if number is None else Asked(number=number, items=_controlled(world, entry.items))
        case Register() | Inspect() | Access() | Incident() | Hold() | Amend() | Resolve():
            return None
        case _:
            assert_never(entry)
    items = _controlled(world, codes)
    if not items:
        return None
    kinds = {world.kind(each) for each in world.with_contents(items) if world.is_controlled(each)}
    return Asked(number=_most_asked(kinds, entry, policy, site_kind), items=items)


def _asked_of_count(entry: Count, world: View, policy: Policy, site_kind: SiteKind | None) -> Asked | None:
    kind = world.kind(entry.subject)
    if not world.is_controlled(entry.subject) or (kind is ItemKind.SCANNER and COUNTERS.issuperset(entry.figures)):
        return None
    return Asked(number=_most_asked({kind}, entry, policy, site_kind), items=(entry.subject,))


def _controlled(world: View, codes: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(sorted(code for code in codes if world.is_or_holds_controlled(code)))


def _most_asked(kinds: set[ItemKind | None], entry: Entry, policy: Policy, site_kind: SiteKind | None) -> int:
    """The number for the kind that asks for most: an exception for one thing does not cover another beside it."""
    return max(policy.people_for(kind=kind, act=entry.kind, site_kind=site_kind) for kind in kinds if kind is not None)
