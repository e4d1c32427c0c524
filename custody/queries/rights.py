"""Who may read what: one answer for pages, API and the phone."""

from __future__ import annotations

from dataclasses import dataclass

from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser, AnonymousUser

from custody.models.register import Assignment
from custody.queries.shown import Shown


@dataclass(frozen=True, slots=True, kw_only=True)
class Visitor:
    """Whoever asks. `person` is the code of somebody who signed in by badge, in `jurisdiction`; `staff`: of the office."""

    known: bool = False
    staff: bool = False
    jurisdiction: str = ""
    person: str = ""


NOBODY = Visitor()


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


def may_read(visitor: Visitor, shown: Shown) -> bool:
    """Whether what is on record may be read, with codes in place of names."""
    return is_open(shown) or visitor.known


def may_see_people(visitor: Visitor, shown: Shown) -> bool:
    """Whether names and phone numbers of people are shown; everybody else reads their codes."""
    return bool(shown.rehearsal) or visitor.staff


def may_work_at(visitor: Visitor, shown: Shown, site: str, election: str) -> bool:
    """Whether somebody gets what a phone needs to work at a place: staff, and who is assigned there or on the move."""
    if is_open(shown) or visitor.staff:
        return True
    if visitor.jurisdiction != shown.jurisdiction or not visitor.person:
        return False
    assigned = Assignment.objects.filter(jurisdiction=shown.jurisdiction, election=election, person=visitor.person)
    return assigned.filter(site__in=(site, ""), retired=False).exists()
