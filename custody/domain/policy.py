"""Policy: what a jurisdiction asks of the people who handle its material, as dated versions.

The version in force at an entry's time judges that entry. Defaults and where they come from stand beside each field; they are
common practice where no source is named. Law and local directives decide: a jurisdiction sets its own document.

`parse_policy` takes the JSON form (also written as TOML in files and pages); a member left out keeps its default.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from enum import StrEnum
from typing import Any

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
        """How many people of a party must sign `act` (an entry kind) on a controlled item of this kind at such a site."""
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


_SCALARS = {
    "people.controlled": ("people_controlled", int),
    "people.access": ("people_access", int),
    "tape.signers": ("tape_signers", int),
    "memory.stays_in": ("memory_stays_in", bool),
    "travel.minutes_at_least": ("travel_minutes_at_least", int),
    "transit.minutes_at_most": ("transit_minutes_at_most", int),
    "late_entry.hours": ("late_entry_hours", int),
    "clock.minutes_ahead": ("clock_minutes_ahead", int),
    "checkins.differ_at_most": ("checkins_differ_at_most", int),
    "read_in.hours": ("read_in_hours", int),
    "opened.hours": ("opened_hours", int),
    "retention.months": ("retention_months", int),
}
_WORD_LISTS: dict[str, tuple[str, type[StrEnum]]] = {
    "steps.before_open": ("steps_before_open", StepName),
    "steps.after_close": ("steps_after_close", StepName),
    "resolve.roles": ("resolve_roles", Role),
}


def dump_policy(policy: Policy) -> dict[str, Any]:
    """The JSON form: sections as objects, every member present."""
    document: dict[str, Any] = {}
    for key, (name, _) in (_SCALARS | _WORD_LISTS).items():
        section, member = key.split(".")
        value = getattr(policy, name)
        document.setdefault(section, {})[member] = [word.value for word in value] if key in _WORD_LISTS else value
    document["people"] |= {
        "steps": {step.value: number for step, number in policy.people_steps.items()},
        "differ_in_affiliation": {
            "courier": policy.differ_couriers,
            "seal": [kind.value for kind in policy.differ_seal],
        },
        "exceptions": [
            {"kind": each.kind.value, "act": each.act, "site_kind": each.site_kind, "number": each.number}
            for each in policy.exceptions
        ],
    }
    document["items"] = {
        kind.value: {"controlled": row.controlled.value, "sealed": row.sealed.value, "returned": row.returned}
        for kind, row in policy.items.items()
    }
    document["routes"] = {
        purpose.value: {"from": [role.value for role in route.givers], "to": [role.value for role in route.takers]}
        for purpose, route in policy.routes.items()
        if purpose not in (Purpose.RELIEVE, Purpose.AUDIT)
    }
    return document


def parse_policy(document: Mapping[str, Any]) -> Policy:
    """A policy from its JSON form; what is left out keeps its default. Raises `ValueError` naming the key at fault."""
    known = dump_policy(Policy())
    for section, members in document.items():
        if section not in known or not isinstance(members, dict):
            raise ValueError(f"policy has no section {section!r}")
        for member in members.keys() - known[section].keys():
            raise ValueError(f"policy has no key {section}.{member}")
    merged = {section: members | document.get(section, {}) for section, members in known.items()}
    values: dict[str, Any] = {}
    for key, (name, expected) in _SCALARS.items():
        section, member = key.split(".")
        value = merged[section][member]
        if type(value) is not expected or (expected is int and value < 0):
            raise ValueError(f"policy {key}: expected {'yes or no' if expected is bool else 'a whole number'}")
        values[name] = value
    for key, (name, words) in _WORD_LISTS.items():
        section, member = key.split(".")
        values[name] = _read(key, lambda w=words, v=merged[section][member]: tuple(w(each) for each in v))
    people = merged["people"]
    differ = known["people"]["differ_in_affiliation"] | people["differ_in_affiliation"]
    values["people_steps"] = _read(
        "people.steps", lambda: {StepName(step): int(number) for step, number in people["steps"].items()}
    )
    values["differ_couriers"] = bool(differ["courier"])
    values["differ_seal"] = _read(
        "people.differ_in_affiliation", lambda: tuple(ItemKind(each) for each in differ["seal"])
    )
    values["exceptions"] = _read(
        "people.exceptions",
        lambda: tuple(LonePerson(**each | {"kind": ItemKind(each["kind"])}) for each in people["exceptions"]),
    )
    values["items"] = _read(
        "items", lambda: {ItemKind(kind): _parse_kind(row) for kind, row in merged["items"].items()}
    )
    values["routes"] = _default_routes() | _read(
        "routes", lambda: {Purpose(purpose): _parse_route(row) for purpose, row in merged["routes"].items()}
    )
    assert values.keys() == {each.name for each in fields(Policy)}
    return Policy(**values)


def _read(key: str, read: Any) -> Any:
    try:
        return read()
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise ValueError(f"policy {key}: {error}") from None


def _parse_kind(row: Mapping[str, Any]) -> KindPolicy:
    return KindPolicy(controlled=When(row["controlled"]), sealed=When(row["sealed"]), returned=bool(row["returned"]))


def _parse_route(row: Mapping[str, Any]) -> Route:
    return Route(givers=tuple(Role(role) for role in row["from"]), takers=tuple(Role(role) for role in row["to"]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Policies:
    """The dated versions of one jurisdiction, oldest first: `(in force from, policy)`. Before the first: the defaults."""

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
