"""People of the register as the office sees them: name, where they work in the election that is on, and their keys."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q

from custody.models.access import MOST_FAILURES, BadgeTries
from custody.models.register import Assignment, Key, Person, PersonalValue, Site
from custody.queries.places import find_election
from custody.queries.shown import Shown

PAGE = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyShown:
    """A key with its limits (Unix seconds); `is_valid` as of the moment that was asked about."""

    keyid: str
    valid_from: int | None
    valid_until: int | None
    revoked_at: int | None
    is_valid: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonShown:
    """`posts` are role and name of the place, empty for the road; keys with the latest first."""

    code: str
    name: str
    phone: str
    affiliation: str
    posts: tuple[tuple[str, str], ...]
    keys: tuple[KeyShown, ...]
    retired: bool

    @property
    def has_badge(self) -> bool:
        return any(key.is_valid for key in self.keys)


def list_people(shown: Shown, *, asked: str, after: str, now: int) -> tuple[list[PersonShown], str]:
    """A page of people by code, after a code; those whose code or name holds `asked`. And the code to go on after, or empty."""
    rows = Person.objects.filter(jurisdiction=shown.jurisdiction, code__gt=after)
    if asked:
        named = PersonalValue.objects.filter(jurisdiction=shown.jurisdiction, field="name", value__icontains=asked)
        rows = rows.filter(Q(code__icontains=asked) | Q(code__in=named.values("person")))
    found = list(rows.order_by("code")[: PAGE + 1])
    people = _show(shown, found[:PAGE], now)
    return people, found[PAGE - 1].code if len(found) > PAGE else ""


def get_person(shown: Shown, code: str, *, now: int) -> PersonShown | None:
    row = Person.objects.filter(jurisdiction=shown.jurisdiction, code=code).first()
    return _show(shown, [row], now)[0] if row else None


def is_locked_out(shown: Shown, code: str) -> bool:
    """Whether signing in with this person's badge is switched off after too many wrong PINs."""
    tries = BadgeTries.objects.filter(jurisdiction=shown.jurisdiction, person=code, failures__gte=MOST_FAILURES)
    return tries.exists()


def _show(shown: Shown, rows: Iterable[Person], now: int) -> list[PersonShown]:
    people = list(rows)
    codes = [row.code for row in people]
    personal = {
        (person, field): value
        for person, field, value in PersonalValue.objects.filter(
            jurisdiction=shown.jurisdiction, person__in=codes
        ).values_list("person", "field", "value")
    }
    posts, keys = _posts(shown, codes), _keys(shown, codes, now)
    return [
        PersonShown(
            code=row.code,
            name=personal.get((row.code, "name"), ""),
            phone=personal.get((row.code, "phone"), ""),
            affiliation=row.affiliation,
            posts=tuple(posts[row.code]),
            keys=tuple(keys[row.code]),
            retired=row.retired,
        )
        for row in people
    ]


def _posts(shown: Shown, codes: list[str]) -> dict[str, list[tuple[str, str]]]:
    posts: dict[str, list[tuple[str, str]]] = defaultdict(list)
    election = find_election(shown)
    if election is None:
        return posts
    held = Assignment.objects.filter(
        jurisdiction=shown.jurisdiction, election=election[0], person__in=codes, retired=False
    ).order_by("role", "site")
    rows = list(held.values_list("person", "role", "site"))
    names = dict(
        Site.objects.filter(jurisdiction=shown.jurisdiction, code__in={site for _, _, site in rows}).values_list(
            "code", "name"
        )
    )
    for person, role, site in rows:
        posts[person].append((role, names.get(site, site)))
    return posts


def _keys(shown: Shown, codes: list[str], now: int) -> dict[str, list[KeyShown]]:
    keys: dict[str, list[KeyShown]] = defaultdict(list)
    for row in Key.objects.filter(jurisdiction=shown.jurisdiction, person__in=codes).order_by("-line", "keyid"):
        begun = row.valid_from is None or row.valid_from <= now
        ended = any(limit is not None and limit <= now for limit in (row.valid_until, row.revoked_at))
        keys[row.person].append(
            KeyShown(
                keyid=row.keyid,
                valid_from=row.valid_from,
                valid_until=row.valid_until,
                revoked_at=row.revoked_at,
                is_valid=begun and not ended,
            )
        )
    return keys
