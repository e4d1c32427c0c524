"""The replay of containers: what goes in, what comes out, and what is shown to be elsewhere than the record has it.

A thing that is handed over, packed, unpacked or disposed of on its own cannot be in a container that stays behind; a
container that was shown empty holds nothing. The entry is believed: from it on the thing counts as out of the
container, and what was noticed is left on the act for the rule `contents-differ`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from custody.domain.acts import Act
from custody.domain.entries import Dispose, Handoff, Pack, Step, Unpack
from custody.domain.states import InScanner
from custody.domain.views import View
from custody.domain.vocabulary import ItemKind, StepName


def change_items(act: Act, codes: Iterable[str], **values: object) -> None:
    """Set these members of each item's state."""
    for code in codes:
        act.after.put_item(code, replace(act.after.item(code), **values))  # type: ignore[arg-type]


def take_out(act: Act, view: View, code: str) -> None:
    """An item comes out of its container; whoever last received it or the outermost one holds it."""
    state = view.item(code)
    if state.container is None:
        return
    held = view.holding(code)
    parent = view.item(state.container)
    view.put_item(state.container, replace(parent, contents=tuple(each for each in parent.contents if each != code)))
    at_work = tuple(each if each.until else each._replace(until=act.moment) for each in state.in_scanner)
    view.put_item(code, replace(state, container=None, holder=held, in_scanner=at_work))


def correct_contents(act: Act) -> None:
    """Step 1: contents that the entry shows to be elsewhere than the record has them (`contents-differ`)."""
    entry, found = act.entry, act.found
    match entry:
        case Handoff() | Dispose():
            named = set(entry.items)
            for code in entry.items:
                if (container := found.item(code).container) and not named.intersection(found.around(code)):
                    _misplaced(act, code, container)
        case Pack():
            # Rings are cut first: what is cut off may no longer go along with another thing that is named.
            while inner := next((each for each in entry.items if each in found.around(entry.container)), None):
                chain = [entry.container, *found.around(entry.container)]
                _misplaced(act, chain[chain.index(inner) - 1], inner)
            named = set(entry.items)
            for code in entry.items:
                if (container := found.item(code).container) in (None, entry.container):
                    continue
                if container is not None and not named.intersection(found.around(code)):
                    _misplaced(act, code, container)
        case Unpack():
            for code in entry.items:
                container = found.item(code).container
                if container != entry.container:
                    _misplaced(act, code, container or entry.container)
        case _:
            pass
    if isinstance(entry, Dispose) or (isinstance(entry, Step) and entry.step is StepName.SHOWN_EMPTY):
        for code in entry.items:
            for inner in found.item(code).contents:
                if inner not in entry.items:
                    _misplaced(act, inner, code)


def _misplaced(act: Act, code: str, container: str) -> None:
    act.misplaced.append((code, container))
    take_out(act, act.found, code)


def pack_items(act: Act, entry: Pack) -> None:
    """Items go in; what lies in another of them goes along where it is. A device in a scanner is at work."""
    after, container, named = act.after, entry.container, set(entry.items)
    for code in dict.fromkeys(entry.items):
        if code == container or named.intersection(act.found.around(code)):
            continue
        change_items(act, [code], container=container)
        if after.kind(container) is ItemKind.SCANNER and after.kind(code) is ItemKind.MEMORY_DEVICE:
            at_work = after.item(code).in_scanner
            if not at_work or at_work[-1].until is not None:
                session = InScanner(election=entry.election, site=entry.site, scanner=container, since=act.moment)
                change_items(act, [code], in_scanner=(*at_work, session))
        contents = after.item(container).contents
        if code not in contents:
            change_items(act, [container], contents=tuple(sorted((*contents, code))))
    change_items(act, [container], in_use=True, shown_empty=False)


def unpack_items(act: Act, entry: Unpack) -> None:
    """Items come out; who held the outermost container holds them."""
    holder = act.found.item(act.found.outermost(entry.container)).holder
    for code in dict.fromkeys(entry.items):
        take_out(act, act.after, code)
        change_items(act, [code], holder=holder or act.after.item(code).holder)
