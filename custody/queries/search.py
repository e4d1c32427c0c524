"""One box for everything: items, tags, seals, people, places, entries, findings. Codes are read as a scanner gives them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from django.db.models import Q

from custody.domain.labels import read_code
from custody.domain.parties import split_number
from custody.domain.views import item_key, number_key
from custody.models.derived import FindingRow, OnRecord, Version
from custody.models.register import Person, PersonalValue, Site
from custody.queries.asked import plain_text
from custody.queries.names import find_items
from custody.queries.rules import rule_titles
from custody.queries.shown import Shown
from custody.registers import get_register

Sort = Literal["item", "seal", "person", "place", "entry", "finding", "rule"]
MOST, MOST_SPELLINGS = 20, 200
FEWEST_DIGITS = 3
"""So many digits make a number that is looked for among seals of every prefix."""
_ENTRY = re.compile(r"[0-9a-f]{8}[0-9a-f-]{0,28}", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hit:
    """Something that was found: what it is, its code, and the register's words for it. `exact`: the code, whole."""

    sort: Sort
    code: str
    words: str
    exact: bool


def search(shown: Shown, asked: str, *, personal: bool) -> list[Hit]:
    """What somebody may mean, exact ones first; as many as `MOST` of a sort. People's names only when `personal`."""
    text = plain_text(asked)
    if not text:
        return []
    found = [*_items(shown, text), *_places(shown, text), *_people(shown, text, personal=personal)]
    found += [*_seals(shown, text), *_entries(shown, text), *_findings(shown, text), *_rules(text)]
    return sorted(found, key=lambda each: not each.exact)


def _items(shown: Shown, text: str) -> list[Hit]:
    found = find_items(shown.jurisdiction, text, limit=MOST)
    try:
        code = read_code(text)
    except ValueError:
        code = ""
    exact = {code, text.upper()}
    if code and not found and shown.log is not None:  # on record, though not on the register
        known = Version.objects.filter(log_id=shown.log.id, key=item_key(code)).exists()
        return [Hit(sort="item", code=code, words="", exact=True)] if known else []
    return [
        Hit(
            sort="item",
            code=each.code,
            words=each.description or each.kind,
            exact=bool({each.code, each.tag.upper(), each.serial.upper()} & exact),
        )
        for each in found
    ]


def _places(shown: Shown, text: str) -> list[Hit]:
    rows = Site.objects.filter(Q(code__iexact=text) | Q(name__icontains=text), jurisdiction=shown.jurisdiction)
    return [
        Hit(sort="place", code=code, words=name, exact=code == text.upper())
        for code, name in rows.order_by("code").values_list("code", "name")[:MOST]
    ]


def _people(shown: Shown, text: str, *, personal: bool) -> list[Hit]:
    rows = Person.objects.filter(jurisdiction=shown.jurisdiction)
    wanted = Q(code__iexact=text)
    values = PersonalValue.objects.filter(jurisdiction=shown.jurisdiction, field="name")
    if personal and len(text) > 2:
        wanted |= Q(code__in=values.filter(value__icontains=text).values("person"))
    codes = list(rows.filter(wanted).order_by("code").values_list("code", flat=True)[:MOST])
    names = dict(values.filter(person__in=codes).values_list("person", "value")) if personal else {}
    return [Hit(sort="person", code=code, words=names.get(code, ""), exact=code == text.upper()) for code in codes]


def _seals(shown: Shown, text: str) -> list[Hit]:
    """Seal numbers of lots and on record: with or without prefix, spaces, hyphens and zeros before the number.

    Without its prefix a number may be that of several makers or lots, and is no exact hit.
    """
    asked = re.sub(r"[\s-]", "", text).upper()
    prefix, value, width = split_number(asked)
    if not width or (not prefix and width < FEWEST_DIGITS):
        return []
    spellings = {
        lot.seals.prefix + str(value).zfill(lot.seals.width)
        for lot in get_register(shown.jurisdiction).lots.values()
        if lot.seals.first <= value <= lot.seals.last
    }
    if shown.log is not None:
        rows = Version.objects.filter(log_id=shown.log.id, key__startswith=number_key(""), key__endswith=str(value))
        spellings |= {key.partition(":")[2] for key in rows.values_list("key", flat=True).distinct()[:MOST_SPELLINGS]}
    found = sorted(each for each in spellings if _is_meant(each, prefix, value))
    exact = {each for each in found if prefix or each.upper() == asked}
    return [Hit(sort="seal", code=each, words="", exact=each in exact) for each in found[:MOST]]


def _is_meant(number: str, prefix: str, value: int) -> bool:
    own_prefix, own_value, _ = split_number(number)
    return own_value == value and prefix in ("", re.sub(r"[\s-]", "", own_prefix).upper())


def _entries(shown: Shown, text: str) -> list[Hit]:
    if shown.log is None or not _ENTRY.fullmatch(text):
        return []
    rows = OnRecord.objects.filter(log_id=shown.log.id, entry_id__startswith=text.lower())
    return [
        Hit(sort="entry", code=entry, words=kind, exact=entry == text.lower())
        for entry, kind in rows.order_by("time").values_list("entry_id", "kind")[:MOST]
    ]


def _findings(shown: Shown, text: str) -> list[Hit]:
    if shown.log is None or "/" not in text:
        return []
    rows = FindingRow.objects.filter(log_id=shown.log.id, key=text).values_list("key", "rule").distinct()
    return [Hit(sort="finding", code=key, words=rule, exact=True) for key, rule in rows[:1]]


def _rules(text: str) -> list[Hit]:
    """Rules by code, or by a part of what they are called."""
    wanted = text.lower()
    found = [
        Hit(sort="rule", code=code, words=title, exact=code == wanted)
        for code, title in rule_titles().items()
        if code == wanted or (len(wanted) > 3 and wanted in title.lower())
    ]
    return found[:MOST]
