"""Seal lots: numbers of one maker are in one lot only (ISO 17712); two makers may well use the same numbers.

The rows of a lot in the file are the whole lot: a part that the register has and the file leaves out is withdrawn, so
that a lot can be split anew between places. Checked within a jurisdiction; what another one bought is not known here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from django.utils.translation import gettext as _

from custody.domain.parties import split_number
from custody.domain.register import row_key
from custody.masterdata.drafts import Draft, Load
from custody.masterdata.standing import Row, Standing


class _Part(NamedTuple):
    """A range of numbers, in a form in which those of one maker can be compared."""

    first: int
    last: int
    line: int
    lot: str
    draft: Draft | None


def check_lots(load: Load, standing: Standing) -> None:
    """Each part is a range, and shares no number with another of its maker."""
    series: dict[tuple[str, str, str, int], list[_Part]] = defaultdict(list)
    for draft in load.drafts["seal_lots"]:
        draft.values.setdefault("prefix", "")  # part of every number, so that a row has it even when empty
        _check_range(load, draft)
        if draft.sound:
            series[_series(draft.jurisdiction, draft.values)].append(_part(draft.values, draft))
    lots = {(one.jurisdiction, one.values.get("maker"), one.values.get("lot")) for one in load.drafts["seal_lots"]}
    for where, rows in standing.items():
        for row in rows.tables["seal_lots"].values():
            if not row.get("retired") and (where, row["maker"], row["lot"]) not in lots:
                series[_series(where, row)].append(_part(row, None))
    for parts in series.values():
        _check_overlaps(load, parts)


def withdrawn_parts(load: Load, standing: Standing, jurisdiction: str) -> Iterator[Row]:
    """The rows that take off the register what the file no longer lists of a lot that it does list."""
    drafts = [one.values for one in load.drafts["seal_lots"] if one.jurisdiction == jurisdiction]
    lots = {(values["maker"], values["lot"]) for values in drafts}
    kept = {row_key("seal_lots", values) for values in drafts}
    rows = standing.get(jurisdiction)
    for key, row in rows.tables["seal_lots"].items() if rows else ():
        if (row["maker"], row["lot"]) in lots and key not in kept and not row.get("retired"):
            yield {**row, "retired": True}


def _check_range(load: Load, draft: Draft) -> None:
    values = draft.values
    if not all(column in values for column in ("first", "last", "width")):
        return
    if values["first"] > values["last"]:
        load.fault(draft, "last", _("is smaller than the first number"))
    if len(str(values["last"])) > values["width"]:
        reason = _("%(last)d has more digits than the width of %(width)d")
        load.fault(draft, "width", reason % {"last": values["last"], "width": values["width"]})
    if "issued_to" in values and "election" not in values and draft.sound:
        load.fault(draft, "election", _("is empty, although the seals are issued to a site"))


def _text(row: Row, end: str) -> str:
    return f"{row.get('prefix', '')}{row[end]:0{row['width']}d}"


def _series(jurisdiction: str, row: Row) -> tuple[str, str, str, int]:
    """What two numbers must share to be compared. A prefix may end in digits; they count as part of the number."""
    prefix, _value, width = split_number(_text(row, "first"))
    return jurisdiction, row["maker"], prefix, width


def _part(row: Row, draft: Draft | None) -> _Part:
    first, last = (split_number(_text(row, end))[1] for end in ("first", "last"))
    return _Part(first=first, last=last, line=draft.line if draft else 0, lot=row["lot"], draft=draft)


def _check_overlaps(load: Load, parts: list[_Part]) -> None:
    parts.sort(key=lambda part: (part.first, part.last, part.line))
    reach = parts[0]
    for part in parts[1:]:
        if part.first <= reach.last:
            # Reported at the row of the load; of two, at the later line.
            at, other = (part, reach) if part.line >= reach.line else (reach, part)
            if at.draft:
                load.fault(at.draft, "first", _shared(other))
        if part.last > reach.last:
            reach = part


def _shared(other: _Part) -> str:
    if other.line:
        return _("numbers of this maker stand in line %(line)d already") % {"line": other.line}
    return _("numbers of this maker are in the lot %(lot)s already") % {"lot": other.lot}
