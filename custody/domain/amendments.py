"""What later `amend` entries make of an earlier one. The signed bytes stay; only what the replay sees changes.

Amendments of an amendment apply first. Amendments of one entry apply in the order `(at, id)`, `at` as signed, and
the last word on a member wins. One that would leave the entry ill-formed, that names an entry not on record, or that
leads back to itself changes nothing (`amend-void`). Record format 1, sections 4 and 5.

An amendment may itself be aimed at another entry by an amendment of its member `amends`. So what one names as signed
is not all that it may come to name, and entries are put right a **family** at a time: those that hang together by
`amended_targets`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from typing import Any

from custody.domain.entries import Amend, Entry
from custody.domain.parsing import dump_entry, optional_members, parse_entry
from custody.domain.recorded import Recorded
from custody.domain.values import UUID7
from custody.errors import Refused


def amended_targets(entry: Entry) -> frozenset[str]:
    """The entries that a signed entry names to be amended: by itself, or by an amendment that it aims at another entry.

    Nothing but `amend` entries name any. Whoever keeps these links, in both directions, can find a family.
    """
    if not isinstance(entry, Amend):
        return frozenset()
    return frozenset({entry.amends, *(each for each in _aims(entry) if each)})


def replace_members(entry: Entry, replaces: Mapping[str, Any]) -> Entry | None:
    """The entry with whole new values of members, or `None` when that would leave it ill-formed.

    A member is emptied by `[]` or `""`: one that may be absent is then left out.
    """
    payload = dump_entry(entry)
    optional = optional_members(entry.kind)
    for name, value in replaces.items():
        if value in ([], "") and name in optional:
            payload.pop(name, None)
        else:
            payload[name] = value
    try:
        return parse_entry(payload)
    except Refused:
        return None


def apply_amendments(family: Mapping[str, Recorded]) -> dict[str, Recorded]:
    """Every entry of a family as its amendments have it, by id. Takes them as signed, and all of them.

    `amended_by` of the result lists the amendments that did change it, in the order in which they applied.
    """
    if len(family) == 1:
        return dict(family)
    amenders = _amenders(family)
    done: dict[str, Recorded] = {}
    for entry_id in TopologicalSorter(amenders).static_order():
        waiting = sorted((done[each] for each in amenders[entry_id]), key=lambda each: (each.signed.at, each.id))
        recorded = family[entry_id]
        entry, applied = recorded.signed, []
        for each in waiting:
            amend = each.entry
            if not isinstance(amend, Amend) or amend.amends != entry_id:
                continue
            changed = replace_members(entry, amend.replaces)
            if changed is not None:
                entry = changed
                applied.append(each.id)
        done[entry_id] = recorded.amended(entry, tuple(applied)) if applied else recorded
    return done


def _amenders(family: Mapping[str, Recorded]) -> dict[str, list[str]]:
    """For each entry the amendments that name it or may come to, none of which leads back to itself.

    A loop is broken by leaving out what its members say of one another: of amendments that amend each other in a ring
    none changes anything, while one from outside the ring still counts. Ids are taken in their order, so that the
    outcome does not hang on the order of arrival.
    """
    amenders: dict[str, list[str]] = {each: [] for each in sorted(family)}
    for amend, targets in sorted(_may_name(family).items()):
        for target in targets & family.keys():
            amenders[target].append(amend)
    while True:
        try:
            TopologicalSorter(amenders).prepare()
        except CycleError as error:
            loop = frozenset(error.args[1])
            for each in loop:
                amenders[each] = [amend for amend in amenders[each] if amend not in loop]
        else:
            return amenders


def _may_name(family: Mapping[str, Recorded]) -> dict[str, set[str]]:
    """For each amendment what it names as signed, and what others would have it name."""
    amends = {each: recorded.signed for each, recorded in family.items() if isinstance(recorded.signed, Amend)}
    named = {each: {amend.amends} for each, amend in amends.items()}
    aims = {each: found for each, amend in amends.items() if any(found := list(_aims(amend)))}
    changed = bool(aims)
    while changed:
        changed = False
        for amend, found in aims.items():
            level = {amend}
            for aim in found:
                level = {target for each in level for target in named[each] if target in named}
                for each in level:
                    if aim and aim not in named[each]:
                        named[each].add(aim)
                        changed = True
    return named


def _aims(amend: Amend) -> Iterator[str]:
    """The new values of `amends` in an amendment's `replaces`: for the one it amends, then, nested, for those beyond.

    An empty text stands where a level has none.
    """
    replaces: Any = amend.replaces
    while isinstance(replaces, Mapping):
        aim = replaces.get("amends")
        yield aim if isinstance(aim, str) and UUID7.fullmatch(aim) else ""
        replaces = replaces.get("replaces")


def entries_until(entries: Iterable[Recorded], now: int) -> list[Recorded]:
    """The entries, as signed, whose time is not after `now`, in their order; what amendments after `now` say is left out.

    An amendment may move an entry in time, amendments among them, so that each family is looked at until nothing
    changes any more: who is in depends on those amendments alone that are in.
    """
    known = {each.id: each for each in entries}
    families: dict[str, set[str]] = {}
    for recorded in known.values():
        for target in amended_targets(recorded.signed) & known.keys():
            joined = families.get(recorded.id, {recorded.id}) | families.get(target, {target})
            families |= dict.fromkeys(joined, joined)
    inside = {each for each, recorded in known.items() if each not in families and recorded.time <= now}
    for family in {id(each): each for each in families.values()}.values():
        inside |= _inside({each: known[each] for each in family}, now)
    return [recorded for each, recorded in known.items() if each in inside]


def _inside(family: Mapping[str, Recorded], now: int) -> set[str]:
    """The members of one family whose time is not after `now`, when only amendments among them count."""
    inside = set(family)
    for _ in family:  # each round settles one more level of amendments of amendments
        left_out = {each for each in family.keys() - inside if isinstance(family[each].signed, Amend)}
        counting = {each: recorded for each, recorded in family.items() if each not in left_out}
        seen = apply_amendments(counting)
        seen |= {each: apply_amendments(counting | {each: family[each]})[each] for each in left_out}
        settled = {each for each, recorded in seen.items() if recorded.time <= now}
        if settled == inside:
            break
        inside = settled
    return inside
