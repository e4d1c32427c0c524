"""Item codes of a load: those given, those found again, and those issued.

A row without a code means the item of the jurisdiction that has its kind and serial number, or its tag. A row that has
neither stands for one of the items that are exactly like it: after the load there are as many of those as rows, at
least, so that loading the same file again issues nothing. Whoever wants more of the same adds rows, or gives codes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from custody.domain.labels import next_code, parse_code, read_code
from custody.domain.vocabulary import ITEM_LETTERS, ItemKind
from custody.masterdata.drafts import Draft, Load
from custody.masterdata.standing import Row, Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class Issued:
    """A code that a row of the items file was given: the file's line, and the code."""

    line: int
    code: str


@dataclass(slots=True, kw_only=True)
class _Shelf:
    """The items of one jurisdiction, by what a row without a code may know them by."""

    rows: dict[str, Row] = field(default_factory=dict)
    by_serial: dict[tuple[str, str], list[str]] = field(default_factory=lambda: defaultdict(list))
    by_tag: dict[str, str] = field(default_factory=dict)
    alike: dict[tuple[Any, ...], list[str]] = field(default_factory=lambda: defaultdict(list))


def settle_codes(load: Load, standing: Standing) -> list[Issued]:
    """Give every row of the items file its code; codes are issued only where nothing is wrong. In the file's order."""
    drafts = load.drafts["items"]
    given = {one.values["code"]: one for one in drafts if "code" in one.values}
    for draft in drafts:
        _check_kind(load, draft)
    shelves = {where: _shelf(rows.tables["items"].values(), given) for where, rows in standing.items()}
    fresh: dict[tuple[Any, ...], Draft] = {}
    for draft in drafts:
        if "code" in draft.values or "kind" not in draft.values:
            continue
        code = _find(load, draft, shelves.get(draft.jurisdiction, _Shelf()))
        if code:
            draft.values["code"] = code
            if given.setdefault(code, draft) is not draft:
                reason = _("is the item %(code)s, which stands in line %(line)d")
                load.fault(draft, "code", reason % {"code": code, "line": given[code].line})
        elif code == "":
            serial = draft.values.get("serial")
            key = (draft.jurisdiction, draft.values["kind"], serial) if serial else (draft.line,)
            before = fresh.setdefault(key, draft)
            if before is not draft:
                reason = _("the same serial number stands in line %(line)d")
                load.fault(draft, "serial", reason % {"line": before.line})
    if load.problems:
        return []
    taken = {key[0] for rows in standing.values() for key in rows.tables["items"]} | given.keys()
    return _issue(load, fresh.values(), taken)


def check_tags(load: Load, standing: Standing) -> None:
    """A tag scans as well as a code: in a jurisdiction one item has it, and it does not read as another item's code."""
    drafts = load.drafts["items"]
    replaced = {one.values.get("code") for one in drafts}
    held = {
        (where, row["tag"]): row["code"]
        for where, rows in standing.items()
        for row in rows.tables["items"].values()
        if row.get("tag") and row["code"] not in replaced
    }
    first: dict[tuple[str, str], Draft] = {}
    for draft in drafts:
        tag = draft.values.get("tag")
        if not tag or not draft.sound:
            continue
        before = first.setdefault((draft.jurisdiction, tag), draft)
        if before is not draft:
            load.fault(draft, "tag", _("is the tag of the item in line %(line)d already") % {"line": before.line})
        elif (draft.jurisdiction, tag) in held:
            reason = _("is the tag of the item %(code)s already")
            load.fault(draft, "tag", reason % {"code": held[draft.jurisdiction, tag]})
        elif _code_in(tag) not in (None, draft.values.get("code")):
            load.fault(draft, "tag", _("reads as an item code, and scanning it would be ambiguous"))


def _check_kind(load: Load, draft: Draft) -> None:
    kind, code = draft.values.get("kind"), draft.values.get("code")
    if kind and code and parse_code(code)[0] != kind:
        reason = _("%(code)s is the code of a %(found)s; codes of a %(kind)s begin with %(letters)s")
        words = {
            "code": code,
            "found": parse_code(code)[0].value,
            "kind": kind,
            "letters": ITEM_LETTERS[ItemKind(kind)],
        }
        load.fault(draft, "code", reason % words)
    if "opens" in draft.values and kind != ItemKind.KEY_SET:
        load.fault(draft, "opens", _("only a key_set opens anything"))


def _shelf(rows: Iterable[Row], given: Iterable[str]) -> _Shelf:
    shelf = _Shelf()
    for row in rows:
        code, serial, tag = row["code"], row.get("serial"), row.get("tag")
        shelf.rows[code] = row
        if serial:
            shelf.by_serial[row["kind"], serial].append(code)
        if tag:
            shelf.by_tag[tag] = code
        if not serial and not tag and code not in given:
            shelf.alike[_content(row)].append(code)
    for codes in shelf.alike.values():
        codes.sort(reverse=True)  # the first is taken first, from the end
    return shelf


def _content(row: Row) -> tuple[Any, ...]:
    lists = (tuple(row.get(name, ())) for name in ("seal_points", "opens"))
    return (row["kind"], row.get("description", ""), row.get("home_site", ""), *lists)


def _find(load: Load, draft: Draft, shelf: _Shelf) -> str | None:
    """The code of the item that a row means, "" for one that is new, `None` where it cannot be told (reported)."""
    values = draft.values
    serial, tag = values.get("serial", ""), values.get("tag", "")
    if not serial and not tag:
        alike = shelf.alike.get(_content(values))
        return alike.pop() if alike else ""
    by_serial = shelf.by_serial.get((values["kind"], serial), []) if serial else []
    if len(by_serial) > 1:
        reason = _("%(count)d items have this serial number; write the code of the one that is meant")
        load.fault(draft, "code", reason % {"count": len(by_serial)})
        return None
    found = {*by_serial, *([shelf.by_tag[tag]] if tag in shelf.by_tag else [])}
    if len(found) > 1:
        reason = _("the serial number is that of %(one)s and the tag that of %(other)s")
        load.fault(draft, "code", reason % {"one": by_serial[0], "other": shelf.by_tag[tag]})
        return None
    code = found.pop() if found else ""
    if code and shelf.rows[code]["kind"] != values["kind"]:
        reason = _("the tag is that of %(code)s, which is a %(kind)s")
        load.fault(draft, "kind", reason % {"code": code, "kind": shelf.rows[code]["kind"]})
        return None
    return code


def _issue(load: Load, drafts: Iterable[Draft], taken: set[str]) -> list[Issued]:
    highest: dict[str, int] = {}
    for letters in ITEM_LETTERS.values():
        # The symbols stand in the order of their values in ASCII too: the greatest code has the greatest serial.
        last = max((code for code in taken if code.startswith(letters)), default=None)
        highest[letters] = parse_code(last)[1] if last else 0
    issued = []
    for draft in drafts:
        kind = ItemKind(draft.values["kind"])
        letters = ITEM_LETTERS[kind]
        try:
            code, highest[letters] = next_code(kind, taken, highest[letters])
        except ValueError:
            load.fault(draft, "code", _("every code of this kind is taken"))
            continue
        taken.add(code)
        draft.values["code"] = code
        issued.append(Issued(line=draft.line, code=code))
    return issued


def _code_in(tag: str) -> str | None:
    try:
        return read_code(tag)
    except ValueError:
        return None
