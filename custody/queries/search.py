"""One box for everything: items, tags, seals, people, places, entries, findings. Codes are read as a scanner gives them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from django.db.models import Q

from custody.domain.labels import read_code
from custody.domain.views import number_key
from custody.models.derived import FindingRow, OnRecord, Version
from custody.models.register import Person, PersonalValue, Site
from custody.queries.names import find_items
from custody.queries.shown import Shown
from custody.registers import get_register

Sort = Literal["item", "seal", "person", "place", "entry", "finding"]
MOST = 20
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
    text = _plain(asked)
    if not text:
        return []
    found = [*_items(shown, text), *_places(shown, text), *_people(shown, text, personal=personal)]
    found += [*_seals(shown, text), *_entries(shown, text), *_findings(shown, text)]
    return sorted(found, key=lambda each: not each.exact)


def _plain(asked: str) -> str:
    """What is meant by what was scanned: the code at the end of a label's address; who a badge belongs to, not its secret."""
    text = asked.strip()
    if (match := re.fullmatch(r"https?://[^/]+/q/([^/]+)/?", text, re.IGNORECASE)) is not None:
        return match[1]
    if text.upper().startswith("CB1:"):
        return text.split(":")[1]
    return text


def _items(shown: Shown, text: str) -> list[Hit]:
    found = find_items(shown.jurisdiction, text, limit=MOST)
    try:
        code = read_code(text)
    except ValueError:
        code = ""
    exact = {code, text.upper()}
    return [
        Hit(
            sort="item",
            code=each.code,
            words=each.description or each.kind,
            exact=bool({each.code, each.tag.upper()} & exact),
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
    number = text.replace(" ", "")
    if not any(each.isdigit() for each in number):
        return []
    register = get_register(shown.jurisdiction)
    spellings = dict.fromkeys((number, number.upper()))
    keys = [number_key(each) for each in spellings]
    seen = set()
    if shown.log is not None:
        rows = Version.objects.filter(log_id=shown.log.id, key__in=keys)
        seen = set(rows.values_list("key", flat=True))
    return [
        Hit(sort="seal", code=each, words="", exact=True)
        for each in spellings
        if number_key(each) in seen or register.lots_with(each)
    ]


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
