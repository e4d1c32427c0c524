"""Who may see and do what: one table for pages, API and the phone.

`AREAS` says it by sort of visitor, for every address by its name. An address that nobody gave a place in it is shut to
everybody, and fails a test. A finer question (whose place, whose item) is asked of `Standing` where a row says `OWN`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum, StrEnum

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser, AnonymousUser

from custody.domain.findings import Finding
from custody.domain.vocabulary import Role
from custody.models.access import PageSettings
from custody.models.register import Assignment, Kit
from custody.queries.outstanding import Holder
from custody.queries.places import find_election
from custody.queries.shown import Shown


class Audience(StrEnum):
    """A sort of visitor. One person may be of several: the widest right counts."""

    PUBLIC = "public"
    OBSERVER = "observer"
    CREW = "crew"
    COURIER = "courier"
    DESK = "desk"
    AUDITOR = "auditor"
    OFFICE = "office"
    PROGRAM = "program"


AUDIENCE_OF = {
    Role.OBSERVER: Audience.OBSERVER,
    Role.POLL_CHIEF: Audience.CREW,
    Role.POLL_WORKER: Audience.CREW,
    Role.TECHNICIAN: Audience.CREW,
    Role.COURIER: Audience.COURIER,
    Role.RECEIVING_CLERK: Audience.DESK,
    Role.WAREHOUSE_CLERK: Audience.DESK,
    Role.VAULT_CUSTODIAN: Audience.DESK,
    Role.AUDITOR: Audience.AUDITOR,
    Role.OFFICIAL: Audience.AUDITOR,
}
"""What somebody is who signed in by badge, by role in the election that is on."""


class Right(Enum):
    """`OWN`: what is about the visitor's own places, or in their hands. `OPENED`: once the office has opened it."""

    NO = 0
    OPENED = 1
    OWN = 2
    YES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """Addresses, by name, for which the same holds. `rights` are by audience; one that is left out has none."""

    addresses: tuple[str, ...]
    rights: Mapping[Audience, Right]

    def right(self, audience: Audience) -> Right:
        return self.rights.get(audience, Right.NO)

    @property
    def is_for_everybody(self) -> bool:
        return all(self.right(audience) is Right.YES for audience in Audience)


def _rights(**by_name: Right) -> dict[Audience, Right]:
    return {Audience(name): right for name, right in by_name.items()}


_EVERYBODY = dict.fromkeys(Audience, Right.YES)
_READERS = _rights(desk=Right.YES, auditor=Right.YES, office=Right.YES)
_OPENED = {**_EVERYBODY, Audience.PUBLIC: Right.OPENED}

AREAS: Mapping[str, Area] = {
    "doors": Area(
        addresses=(
            "sign-in",
            "sign-out",
            "sign-in-challenge",
            "sign-in-badge",
            "sign-in-who",
            "set_language",
            "admin-sign-in",
            "rights",
            "api:schema",
            "api:docs",
            "api:nothing",
        ),
        rights=_EVERYBODY,
    ),
    # Without anything personal, kept by phones; what they show is asked for by the pocket register.
    "work": Area(
        addresses=(
            "work",
            "work-outbox",
            "work-words",
            "work-missing",
            "work-hand-over",
            "work-receive",
            "work-return-desk",
            "work-apply-seals",
            "work-read-seals",
            "work-remove-seals",
            "work-pack",
            "work-unpack",
            "work-count",
            "work-steps",
            "work-incident",
            "work-settle",
            "work-amend",
            "worker",
        ),
        rights=_EVERYBODY,
    ),
    # The signatures count, whoever brings them.
    "record": Area(addresses=("api:entries", "api:photo"), rights=_EVERYBODY),
    # Tells whoever sends a picture what stands in it, and keeps nothing.
    "scan": Area(addresses=("read-photo",), rights=_EVERYBODY),
    "pocket": Area(
        addresses=("api:pocket",),
        rights=_rights(
            crew=Right.OWN,
            courier=Right.YES,
            desk=Right.YES,
            auditor=Right.YES,
            office=Right.YES,
            program=Right.YES,
        ),
    ),
    "public": Area(
        addresses=("public", "api:checkpoint", "api:consistency", "api:proof", "api:tile"),
        rights=_OPENED,
    ),
    # One place, item, entry or finding.
    "single": Area(
        addresses=("item", "label", "entry", "finding", "receipt", "container", "place-day", "photo", "small-photo"),
        rights={**_READERS, Audience.CREW: Right.OWN, Audience.COURIER: Right.OWN},
    ),
    "whole": Area(
        addresses=(
            "start",
            "findings",
            "search",
            "moment",
            "rules",
            "rule",
            "seal",
            "places",
            "night",
            "night-wall",
            "night-report",
            "night-report-csv",
            "night-report-pdf",
        ),
        rights=_READERS,
    ),
    "names": Area(addresses=(), rights=_READERS),
    "programs": Area(
        addresses=(
            "api:entry",
            "api:items",
            "api:item",
            "api:history",
            "api:holdings",
            "api:outstanding",
            "api:findings",
            "api:finding",
            "api:seal",
            "api:bundle",
        ),
        rights={**_READERS, Audience.PROGRAM: Right.YES},
    ),
    "office": Area(
        addresses=(
            "people",
            "person",
            "enrol-badge",
            "revoke-badge",
            "lift-badge",
            "second-factor",
            "night-estimate",
            "night-follow-up",
            "public-switch",
            "admin",
        ),
        rights=_rights(office=Right.YES),
    ),
}
"""The table. `admin` stands for everything below it, where Django's own permissions choose further."""

_AREA_OF = {address: area for area in AREAS.values() for address in area.addresses}


def area_of(address: str) -> Area | None:
    """The area of an address by its name, such as `item`, `api:item`, `admin:index`."""
    return _AREA_OF.get("admin" if address.startswith("admin:") else address)


@dataclass(frozen=True, slots=True, kw_only=True)
class Visitor:
    """Whoever asks. `person` is the code of somebody who signed in by badge, in `jurisdiction`; `staff`: of the office."""

    known: bool = False
    staff: bool = False
    jurisdiction: str = ""
    person: str = ""


NOBODY = Visitor()


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What a visitor is towards the log that is shown: sorts of visitor, and the places of a crew (codes)."""

    visitor: Visitor
    audiences: frozenset[Audience]
    places: frozenset[str] = frozenset()
    opened: bool = False

    def right(self, area: Area | None) -> Right:
        """The widest that any of the sorts has there; what the office has opened is `YES`."""
        if area is None:
            return Right.NO
        widest = max((area.right(each) for each in self.audiences), key=lambda each: each.value)
        if widest is Right.OPENED:
            return Right.YES if self.opened else Right.NO
        return widest


def user_name(jurisdiction: str, person: str) -> str:
    """The user name of a person of the register. No form of the admin takes a slash: nobody else can have it."""
    return f"{jurisdiction}/{person}"


def visitor_of(user: AbstractBaseUser | AnonymousUser) -> Visitor:
    """Who a signed-in user is: office staff, or a person of the register."""
    if not user.is_authenticated:
        return NOBODY
    jurisdiction, slash, person = user.get_username().partition("/")
    if slash:
        return Visitor(known=True, jurisdiction=jurisdiction, person=person)
    return Visitor(known=True, staff=bool(getattr(user, "is_staff", False)))


def is_open(shown: Shown) -> bool:
    """Whether it may be read without signing in: a rehearsal, or a machine for development."""
    return bool(shown.rehearsal) or settings.DEBUG


def standing_of(visitor: Visitor, shown: Shown) -> Standing:
    """What a visitor is. Whoever signed in by name and password without being of the office reads as an auditor does; so does
    everybody who is signed out, where the log is open.
    """
    if visitor.staff:
        return Standing(visitor=visitor, audiences=frozenset({Audience.OFFICE}))
    if visitor.person and visitor.jurisdiction == shown.jurisdiction:
        return _standing_of_person(visitor, shown)
    if not visitor.person and (visitor.known or is_open(shown)):
        return Standing(visitor=visitor, audiences=frozenset({Audience.AUDITOR}))
    return Standing(visitor=visitor, audiences=frozenset({Audience.PUBLIC}), opened=is_public_view_open(shown))


def is_public_view_open(shown: Shown) -> bool:
    """Whether the office has opened the public view to everybody."""
    return PageSettings.objects.filter(jurisdiction=shown.jurisdiction, public_view=True).exists()


def _standing_of_person(visitor: Visitor, shown: Shown) -> Standing:
    election = find_election(shown)
    held = Assignment.objects.filter(
        jurisdiction=shown.jurisdiction, election=election[0] if election else "", person=visitor.person, retired=False
    )
    rows = list(held.values_list("role", "site"))
    audiences = {AUDIENCE_OF[Role(role)] for role, _ in rows}
    return Standing(
        visitor=visitor,
        audiences=frozenset(audiences or {Audience.PUBLIC}),
        places=frozenset(site for _, site in rows if site),
        opened=not audiences and is_public_view_open(shown),
    )


def may_see_people(standing: Standing, shown: Shown) -> bool:
    """Whether names and phone numbers of people are shown; everybody else reads their codes."""
    return bool(shown.rehearsal) or (standing.visitor.known and standing.right(AREAS["names"]) is not Right.NO)


def may_work_at(standing: Standing, site: str) -> bool:
    """Whether somebody gets what a phone needs to work at a place."""
    right = standing.right(AREAS["pocket"])
    return right is Right.YES or (right is Right.OWN and site in standing.places)


def is_own_item(standing: Standing, shown: Shown, code: str, holder: Holder | None) -> bool:
    """Whether an item is in a person's hands or at one of their places, or was meant for one."""
    if holder is not None and (standing.visitor.person in holder.people or holder.site in standing.places):
        return True
    kit = Kit.objects.filter(jurisdiction=shown.jurisdiction, site__in=standing.places, item=code, retired=False)
    return kit.exists()


def is_own_entry(standing: Standing, people: Iterable[str], sites: Iterable[str]) -> bool:
    """Whether an entry names a person or one of their places."""
    return standing.visitor.person in set(people) or bool(standing.places & set(sites))


def is_own_finding(standing: Standing, finding: Finding) -> bool:
    """Whether a finding names a person, or arose at one of their places, or is about what came from there."""
    return is_own_entry(standing, finding.people, filter(None, (finding.site, finding.origin)))
