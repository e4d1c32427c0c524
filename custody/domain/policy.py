"""Policy: what a jurisdiction asks of the people who handle its material, as dated versions.

The version in force at an entry's time judges that entry. Defaults and where they come from stand beside each field;
they are common practice where no source is named. Law and local directives decide: a jurisdiction sets its own
document.

How a policy is written down, as JSON on record and as TOML in files and pages, is in `policy_document.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from custody.domain.vocabulary import ItemKind, Purpose, Role, StepName


class When(StrEnum):
    """Whether a kind of item is treated in some way: always, never, or when it holds or counts what is controlled."""

    YES = "yes"
    NO = "no"
    BY_CONTENTS = "by_contents"


@dataclass(frozen=True, slots=True, kw_only=True)
class KindPolicy:
    """How a jurisdiction treats one kind of item (record format 1, section 6)."""

    controlled: When
    sealed: When
    returned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Route:
    """The roles that a purpose may join. An empty tuple stands for any role."""

    givers: tuple[Role, ...]
    takers: tuple[Role, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LonePerson:
    """A written exception from the two-person rule: this kind, this act, at this kind of site, this many people."""

    kind: ItemKind
    act: str
    site_kind: str
    number: int


_DESK = (Role.RECEIVING_CLERK, Role.WAREHOUSE_CLERK, Role.VAULT_CUSTODIAN, Role.COURIER)


def _kind(controlled: str, sealed: str, returned: bool) -> KindPolicy:  # noqa: FBT001 - a row of a table
    return KindPolicy(controlled=When(controlled), sealed=When(sealed), returned=returned)


def _default_items() -> Mapping[ItemKind, KindPolicy]:
    return {
        ItemKind.BALLOT_CONTAINER: _kind("yes", "yes", True),
        ItemKind.TRANSFER_CASE: _kind("yes", "yes", True),
        ItemKind.MEMORY_DEVICE: _kind("yes", "yes", True),
        ItemKind.RESULTS_TAPE: _kind("yes", "yes", True),
        ItemKind.BALLOT_STOCK: _kind("yes", "yes", True),
        ItemKind.SCANNER: _kind("no", "yes", False),
        ItemKind.POLLBOOK: _kind("no", "no", True),
        ItemKind.KEY_SET: _kind("no", "no", True),
        ItemKind.ENVELOPE: _kind("by_contents", "by_contents", True),
        ItemKind.SUPPLY_KIT: _kind("no", "no", False),
    }


def _default_routes() -> Mapping[Purpose, Route]:
    clerk, courier, chief, worker = Role.WAREHOUSE_CLERK, Role.COURIER, Role.POLL_CHIEF, Role.POLL_WORKER
    desk, vault, technician = Role.RECEIVING_CLERK, Role.VAULT_CUSTODIAN, Role.TECHNICIAN
    return {
        Purpose.ISSUE: Route(givers=(clerk,), takers=(chief, courier, technician)),
        Purpose.DELIVER: Route(givers=(courier, technician), takers=(chief, worker, courier)),
        Purpose.RELIEVE: Route(givers=(), takers=()),
        Purpose.RETURN: Route(givers=(chief, worker, courier, technician), takers=(courier, desk, clerk, vault)),
        Purpose.TRANSFER: Route(givers=_DESK, takers=_DESK),
        Purpose.STORE: Route(givers=(desk, clerk, Role.AUDITOR), takers=(vault,)),
        Purpose.RETRIEVE: Route(givers=(vault,), takers=(desk, clerk, Role.AUDITOR)),
        Purpose.AUDIT: Route(givers=(), takers=()),
    }


_TWO_PERSON_STEPS = (
    StepName.BIN_EMPTY,
    StepName.AUXILIARY_BIN_EMPTY,
    StepName.AUXILIARY_BIN_OPENED,
    StepName.AUXILIARY_BIN_CLEARED,
    StepName.BIN_EMPTIED,
    StepName.SHOWN_EMPTY,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """One version of a jurisdiction's policy. Numbers of people count signatures of distinct people of one party."""

    # people.controlled: Texas Election Code 129.051(b); Colorado Election Rules, Rule 20; US EAC guidance.
    people_controlled: int = 2
    # people.steps, people.access: common practice, no published source.
    people_steps: Mapping[StepName, int] = field(default_factory=lambda: dict.fromkeys(_TWO_PERSON_STEPS, 2))
    people_access: int = 2
    # people.differ_in_affiliation: Ohio Revised Code 3505.31 (couriers); Michigan MCL 168.806a (sealing).
    differ_couriers: bool = True
    differ_seal: tuple[ItemKind, ...] = (ItemKind.BALLOT_CONTAINER,)
    # people.exceptions: Washington WAC 434-250-100 allows one person in cases.
    exceptions: tuple[LonePerson, ...] = ()
    # tape.signers: Georgia Rule 183-1-12-.12, the chief and two witnesses.
    tape_signers: int = 3
    # steps.*: common practice, no published source.
    steps_before_open: tuple[StepName, ...] = (
        StepName.SEALS_VERIFIED,
        StepName.BIN_EMPTY,
        StepName.AUXILIARY_BIN_EMPTY,
        StepName.ZERO_TAPE_SIGNED,
    )
    steps_after_close: tuple[StepName, ...] = (
        StepName.RESULTS_TAPE_SIGNED,
        StepName.MEMORY_REMOVED,
        StepName.BIN_EMPTIED,
        StepName.UNIT_LOCKED,
    )
    memory_stays_in: bool = False
    resolve_roles: tuple[Role, ...] = (Role.OFFICIAL, Role.AUDITOR)
    # Our choice: travel, transit, late entry (a place may be offline all day), clock, check-ins, opening.
    travel_minutes_at_least: int = 5
    transit_minutes_at_most: int = 90
    late_entry_hours: int = 24
    clock_minutes_ahead: int = 5
    checkins_differ_at_most: int = 5
    # read_in.hours: Texas Election Code 66.053, at most 24 hours.
    read_in_hours: int = 24
    opened_hours: int = 72
    # retention.months: 52 U.S.C. 20701.
    retention_months: int = 22
    items: Mapping[ItemKind, KindPolicy] = field(default_factory=_default_items)
    routes: Mapping[Purpose, Route] = field(default_factory=_default_routes)

    def people_for(self, *, kind: ItemKind, act: str, site_kind: str | None) -> int:
        """How many people of a party must sign `act` (an entry kind) on a controlled item of this kind, there."""
        for exception in self.exceptions:
            if (exception.kind, exception.act, exception.site_kind) == (kind, act, site_kind):
                return exception.number
        return self.people_controlled

    def route_fits(self, purpose: Purpose, giver: Role, taker: Role) -> bool:
        """Whether a handoff with this purpose may join these roles."""
        if purpose is Purpose.RELIEVE:
            return giver == taker or {giver, taker} == {Role.POLL_CHIEF, Role.POLL_WORKER}
        if purpose is Purpose.AUDIT:
            return Role.AUDITOR in (giver, taker)
        route = self.routes[purpose]
        return giver in route.givers and taker in route.takers


@dataclass(frozen=True, slots=True, kw_only=True)
class Policies:
    """The dated versions of one jurisdiction, oldest first: `(in force from, policy)`. Before them: the defaults."""

    versions: tuple[tuple[int, Policy], ...] = ()

    def at(self, instant: int) -> Policy:
        """The version in force at an instant."""
        current = DEFAULT_POLICY
        for since, policy in self.versions:
            if since > instant:
                break
            current = policy
        return current


DEFAULT_POLICY = Policy()
