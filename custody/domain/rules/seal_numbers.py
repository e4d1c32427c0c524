"""Rules about seals as they are put on: a number of our own stock, issued to this place, used once, over no other seal.

The replay leaves what an entry put on in `Act.put_on` (and `Act.over`); what it only read is in `seals.py`. One finding per
entry and number, at however many points it was put on.

Sources: a number is unique to its maker (ISO 17712); that it is used once, and kept in a log from delivery on, is common
practice of the trade, no published source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any

from custody.domain.acts import Act
from custody.domain.entry_findings import entry_finding
from custody.domain.findings import Finding, Severity
from custody.domain.parties import split_number
from custody.domain.register import Register
from custody.domain.seal_states import Application, LooseMove


def _of_number(act: Act, rule: str, severity: Severity, number: str, items: Iterable[str], **params: Any) -> Finding:
    """A finding about one number that this entry put on."""
    return entry_finding(
        act, rule, severity, more_scope=(number,), items=items, seals=[number], number=number, **params
    )


def _put_on(act: Act) -> dict[str, list[tuple[str, str | None]]]:
    """The numbers that this entry put on, each with the items and makers: `{number: [(item, maker)]}`."""
    found: dict[str, list[tuple[str, str | None]]] = defaultdict(list)
    for item, _, number, maker in act.put_on:
        found[number].append((item, maker))
    return found


def seal_reused(act: Act) -> Iterator[Finding]:
    """A seal is used once: the same number of the same maker is put on a second time. One per entry and number.

    A number without maker is taken as of the only maker who has it in a lot; of several, it may be put on as often as
    there are makers who have it in a lot (in no lot: once). The same number again at the point where it is in place is
    a reading, which the replay has set apart already.
    """
    for number in _put_on(act):
        applied = act.after.number(number).applied
        own = [index for index, each in enumerate(applied) if each.since == act.moment]
        if any(_is_reuse(act.register, number, applied[: index + 1]) for index in own):
            yield _of_number(act, "seal-reused", Severity.CRITICAL, number, (each.item for each in applied))


def _is_reuse(register: Register, number: str, applied: tuple[Application, ...]) -> bool:
    """Whether the last of these applications of a number is one too many."""
    maker = applied[-1].maker
    if maker is not None and any(each.maker == maker for each in applied[:-1]):
        return True
    if all(each.maker is not None for each in applied):
        return False
    return len(applied) > max(1, len({lot.maker for lot in register.lots_with(number)}))


def seal_void_used(act: Act) -> Iterator[Finding]:
    """A number is put on that was reported void (an incident `seal_void`) before. One per entry and number."""
    for number, on in _put_on(act).items():
        _, value, _ = split_number(number)
        if any(void.first <= value <= void.last for void in act.found.loose(number).voids):
            yield _of_number(act, "seal-void-used", Severity.WARNING, number, (item for item, _ in on))


def seal_unknown(act: Act) -> Iterator[Finding]:
    """A number is put on that is in no seal lot on record; of the maker who was named, if one was."""
    for number, on in _put_on(act).items():
        unknown = [item for item, maker in on if not act.register.lots_with(number, maker)]
        if unknown:
            yield _of_number(act, "seal-unknown", Severity.WARNING, number, unknown)


def seal_elsewhere(act: Act) -> Iterator[Finding]:
    """A number is put on at a site other than the one it was issued to. One per entry and number.

    The last handoff of loose seals that covers it says where it was issued; without one, the register does by its lot.
    Issued to nobody, on the move with somebody, or put on on the road: no finding. Of a number that several makers have,
    any of the places will do unless the maker was named.
    """
    site = act.entry.site
    if site is None:
        return
    for number, on in _put_on(act).items():
        issued = _issued_to(act, number, on[0][1])
        if issued and site not in issued:
            items = (item for item, _ in on)
            yield _of_number(act, "seal-elsewhere", Severity.WARNING, number, items, site=site, issued=sorted(issued))


def _issued_to(act: Act, number: str, maker: str | None) -> set[str]:
    """The sites that a number was issued to before this entry; none when it was to nobody or is on the move."""
    _, value, _ = split_number(number)
    handed: LooseMove | None = None
    for move in act.found.loose(number).moves:
        if move.first <= value <= move.last:
            handed = move
    if handed is not None:
        return {handed.site} if handed.site else set()
    lots = act.register.lots_with(number, maker)
    return {lot.issued_to for lot in lots} if all(lot.issued_to for lot in lots) else set()


def seal_over_seal(act: Act) -> Iterator[Finding]:
    """A seal is put on at a point whose seal in place was never recorded as removed. One per item and point.

    The old seal came off without a word: that is the opening that nobody wrote down.
    """
    over: dict[tuple[str, str], list[str]] = defaultdict(list)
    for item, point, number in act.over:
        over[item, point].append(number)
    for (item, point), numbers in over.items():
        yield entry_finding(
            act,
            "seal-over-seal",
            Severity.WARNING,
            more_scope=(item, point),
            items=[item],
            seals=numbers,
            item=item,
            point=point,
        )


SEAL_NUMBER_RULES = (seal_reused, seal_void_used, seal_unknown, seal_elsewhere, seal_over_seal)
