"""What later `amend` entries make of an earlier one. The signed bytes stay as they are; only what the replay sees changes.

Amendments of an amendment apply first. Amendments of one entry apply in the order `(at, id)`, `at` as signed, and the last
word on a member wins. One that would leave the entry ill-formed, that names an entry not on record, or that leads back to
itself changes nothing (`amend-void`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, cast

from custody.domain.entries import Amend, Entry
from custody.domain.parsing import dump_entry, optional_members, parse_entry
from custody.domain.recorded import Recorded
from custody.errors import Refused

Lookup = Callable[[str], Recorded | None]
"""An entry on record by its id, as its signers saw it."""

Amenders = Callable[[str], Iterable[str]]
"""The ids of the amendments that name an entry, or did so before they were amended themselves."""


def amended_targets(amend: Amend) -> frozenset[str]:
    """The entries that an amendment names now or could name once it is amended: whom to look at again when it arrives."""
    return frozenset({amend.amends})


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


def apply_amendments(recorded: Recorded, lookup: Lookup, amenders: Amenders) -> Recorded:
    """An entry as its amendments have it. Cost grows with its amendments alone."""
    return _amended(recorded, lookup, amenders, frozenset())


def is_void(amend: Recorded, lookup: Lookup, amenders: Amenders) -> bool:
    """Whether an amendment changes nothing: see the module's first paragraph."""
    effective = _amended(amend, lookup, amenders, frozenset())
    target = lookup(cast(Amend, effective.entry).amends)
    return target is None or amend.id not in _amended(target, lookup, amenders, frozenset()).amended_by


def _amended(recorded: Recorded, lookup: Lookup, amenders: Amenders, above: frozenset[str]) -> Recorded:
    if recorded.id in above:
        return recorded
    above |= {recorded.id}
    found = (lookup(each) for each in amenders(recorded.id))
    waiting = sorted((each for each in found if each is not None), key=lambda each: (each.signed.at, each.id))
    entry, applied = recorded.signed, []
    for each in waiting:
        if each.id in above or _leads_back(each, lookup, amenders):
            continue
        amend = cast(Amend, _amended(each, lookup, amenders, above).entry)
        changed = replace_members(entry, amend.replaces) if amend.amends == recorded.id else None
        if changed is not None:
            entry = changed
            applied.append(each.id)
    return recorded.amended(entry, tuple(applied)) if applied else recorded


def _leads_back(amend: Recorded, lookup: Lookup, amenders: Amenders) -> bool:
    """Whether following what amendments amend, as signed, comes back to this one."""
    seen, current = {amend.id}, cast(Amend, amend.signed).amends
    while (target := lookup(current)) is not None and isinstance(target.signed, Amend):
        if target.id in seen:
            return target.id == amend.id
        seen.add(target.id)
        current = target.signed.amends
    return False
