"""One entry at work on the world: what it met, what it changed, and the questions that rules ask of both.

An `Act` sees the world in three layers, each a `View`:

- `was`    the replay of everything before this entry in custody order;
- `found`  the same, put right where the entry itself shows the record to be wrong: a thing handed over on its own was no
  longer in its container, a seal read again under its old number had been misread before;
- `after`  the world once the entry is done.

Every state that is read through a view is noted in `touched`. That is how the projections know which later entries a late one
can change: no rule has to say what it depends on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from custody.domain.entries import Entry, Handoff
from custody.domain.policy import Policy
from custody.domain.recorded import Moment, Recorded, signers
from custody.domain.register import Register
from custody.domain.states import State
from custody.domain.views import View
from custody.domain.vocabulary import SiteKind


@dataclass(frozen=True, slots=True, kw_only=True)
class PointRead:
    """What reading one seal point in one entry came to.

    `expected` is the number in place before, once readings that it shows to have been wrong are put right; `numbers` are
    those that were read, in their order, `number` the one that counts (`None`: missing or unreadable). `mismatch` when
    it is another than the record's, or several readings of the point differ; `cleared` are the keys of older findings
    that it puts right; `faults` are the states other than intact, each with the number that its finding names.
    """

    item: str
    point: str
    expected: str | None
    numbers: tuple[str, ...]
    number: str | None
    mismatch: bool
    cleared: tuple[str, ...]
    faults: tuple[tuple[str, str], ...]


@dataclass(slots=True, kw_only=True)
class Act:
    """One entry, the world around it, and what the replay noticed while it was applied."""

    recorded: Recorded
    register: Register
    policy: Policy
    signed_by: frozenset[str]
    was: View
    found: View
    after: View
    touched: dict[str, State]
    target: Recorded | None = None  # of an `amend`: the entry that it amends
    target_was: View | None = None  # the world before that entry
    void: bool = False  # of an `amend`: it changes nothing
    reads: list[PointRead] = field(default_factory=list)
    misplaced: list[tuple[str, str]] = field(default_factory=list)  # (item, container it was not supposed to leave)
    over: list[tuple[str, str, str]] = field(default_factory=list)  # (item, point, number that was still in place)
    put_on: list[tuple[str, str, str, str | None]] = field(default_factory=list)  # (item, point, number, maker)

    @property
    def entry(self) -> Entry:
        return self.recorded.entry

    @property
    def moment(self) -> Moment:
        return Moment(self.recorded.time, self.recorded.id)

    def site_kind(self, site: str | None) -> SiteKind | None:
        known = self.register.sites.get(site or "")
        return known.kind if known else None

    def is_polling_place(self, site: str | None) -> bool:
        return self.site_kind(site) is SiteKind.POLLING_PLACE

    def is_item(self, code: str) -> bool:
        """Whether a code stands for an item: the register has it, or at least has no site of that code."""
        return code in self.register.items or code not in self.register.sites


def start_act(
    recorded: Recorded,
    register: Register,
    before: Callable[[str], State],
    *,
    target: Recorded | None = None,
    target_was: View | None = None,
    void: bool = False,
) -> Act:
    """An act not yet applied. `before(key)` gives the state of a key before this entry in custody order."""
    policy = register.policies.at(recorded.time)
    touched: dict[str, State] = {}

    def read(key: str) -> State:
        state = touched.get(key)
        if state is None:
            state = touched[key] = before(key)
        return state

    was = View(read, register, policy)
    found = View(was.get, register, policy)
    after = View(found.get, register, policy)
    return Act(
        recorded=recorded,
        register=register,
        policy=policy,
        signed_by=signers(recorded, register),
        was=was,
        found=found,
        after=after,
        touched=touched,
        target=target,
        target_was=target_was,
        void=void,
    )


def changes(act: Act) -> Mapping[str, State]:
    """The states that an applied act leaves for every key it touched, changed or not."""
    return {key: act.after.get(key) for key in act.touched.keys() | act.after.changes.keys()}


def origin_of(act: Act, items: Iterable[str]) -> str | None:
    """The polling place that items came from in the entry's election: the one that came to owe one of them last.

    Of items that no place owes yet, the place that gives them away by this very entry. What has been heard from that
    place since its polls closed decides whether a finding waits for a phone without a network.
    """
    election, entry = act.entry.election, act.entry
    owed = [each for code in items for each in act.found.item(code).owed if each.election == election]
    if owed:
        return max(owed, key=lambda each: (each.since, each.site)).site
    giver = entry.release.site if isinstance(entry, Handoff) else entry.site
    return giver if act.is_polling_place(giver) else None
