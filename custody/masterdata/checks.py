"""What must agree between rows, and between rows and the register: names, owners, doubles, times."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from itertools import pairwise

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from custody.domain.instants import local_instant, parse_instant
from custody.domain.register import KEY_MEMBERS, row_key
from custody.errors import Refused
from custody.ledger.base64 import parse_base64
from custody.ledger.signing import check_public_key
from custody.masterdata.drafts import Draft, Load, file_of
from custody.masterdata.standing import Names, Standing

_REFERENCES: Mapping[str, tuple[tuple[str, str], ...]] = {
    "keys": (("person", "people"),),
    "items": (("home_site", "sites"),),
    "assignments": (("person", "people"), ("site", "sites")),
    "seal_lots": (("issued_to", "sites"), ("election", "elections")),
    "kits": (("site", "sites"), ("item", "items")),
}
"""By table, the columns that hold the code of a row of another table."""

_LACKING = {
    "people": gettext_lazy("there is no person %(code)s in %(jurisdiction)s"),
    "sites": gettext_lazy("there is no site %(code)s in %(jurisdiction)s"),
    "elections": gettext_lazy("there is no election %(code)s in %(jurisdiction)s"),
    "items": gettext_lazy("there is no item %(code)s in %(jurisdiction)s"),
}

_EVERYWHERE = ("jurisdictions", "elections", "items", "keys")
"""Tables whose keys are unique in the installation; those of the others in their jurisdiction."""


def place(load: Load, names: Names) -> None:
    """Give every row its jurisdiction, and report those that have none."""
    for draft in load.drafts["jurisdictions"]:
        draft.jurisdiction = draft.values.get("code", "")
    for table in ("assignments", "kits"):
        for draft in load.drafts[table]:
            election = draft.values.get("election", "")
            draft.jurisdiction = names.elections.get(election, "")
            if election and election not in names.elections:
                load.fault(draft, "election", _("there is no election %(code)s") % {"code": election})
    for drafts in load.drafts.values():
        for draft in drafts:
            code = draft.jurisdiction
            if code and code not in names.jurisdictions:
                load.fault(draft, "jurisdiction", _("there is no jurisdiction %(code)s") % {"code": code})


def spread_keys(load: Load, standing: Standing) -> None:
    """Make a key's row of each public key that stands beside its person.

    It is short for a row without limits: where the key is on the register, or has a row of its own, that one holds.
    """
    own = {(one.jurisdiction, one.values.get("public_key")) for one in load.drafts["keys"]}
    short = []
    for person in load.drafts["people"]:
        key = person.values.pop("public_key", None)
        code = person.values.get("code")
        if key is None or code is None or (person.jurisdiction, key) in own:
            continue
        rows = standing.get(person.jurisdiction)
        before = rows.tables["keys"].get((key,)) if rows else None
        if before is None or before["person"] != code:
            values = {"person": code, "public_key": key}
            line, jurisdiction = person.line, person.jurisdiction
            short.append(Draft(table="keys", file="people.csv", line=line, jurisdiction=jurisdiction, values=values))
    load.drafts["keys"] += short


def check_owners(load: Load, standing: Standing) -> None:
    """Elections, items and keys stay with the jurisdiction that has them, and a key with its person."""
    for table in ("elections", "items", "keys"):
        owners = {key: (where, row) for where, rows in standing.items() for key, row in rows.tables[table].items()}
        for draft in load.drafts[table]:
            where, row = owners.get(row_key(table, draft.values), (draft.jurisdiction, None))
            column = KEY_MEMBERS[table][0]
            if draft.jurisdiction and where != draft.jurisdiction:
                reason = _("belongs to the jurisdiction %(code)s and cannot be given to another")
                load.fault(draft, column, reason % {"code": where})
            elif table == "keys" and row and draft.values.get("person", row["person"]) != row["person"]:
                reason = _("is the key of %(person)s, and a key belongs to one person only")
                load.fault(draft, column, reason % {"person": row["person"]})


def check_strength(load: Load, standing: Standing) -> None:
    """Keys that are not on the register yet are none of those that anybody can sign for."""
    for draft in load.drafts["keys"]:
        text = draft.values.get("public_key")
        rows = standing.get(draft.jurisdiction)
        if text is None or (rows and (text,) in rows.tables["keys"]):
            continue
        try:
            check_public_key(parse_base64(text))
        except Refused as error:
            reason = _("is a key that must not be used: %(detail)s")
            load.fault(draft, "public_key", reason % {"detail": error.detail})


def check_doubles(load: Load) -> None:
    """One row for one thing. Seal lots are compared by their numbers, elsewhere."""
    for table, drafts in load.drafts.items():
        if table == "seal_lots":
            continue
        first: dict[tuple[object, ...], Draft] = {}
        members = KEY_MEMBERS[table]
        optional = {"site"} if table == "assignments" else set()
        for draft in drafts:
            if not all(member in draft.values for member in members if member not in optional):
                continue
            scope = () if table in _EVERYWHERE else (draft.jurisdiction,)
            before = first.setdefault((*scope, *row_key(table, draft.values)), draft)
            if before is not draft:
                load.fault(draft, members[0] if len(members) == 1 else "", _doubled(draft, before))


def _doubled(draft: Draft, before: Draft) -> str:
    place = {"line": before.line, "file": file_of(before)}
    if draft.table == "keys" and draft.values.get("person") != before.values.get("person"):
        return _("is the key of another person in line %(line)d of %(file)s; a key belongs to one person only") % place
    if draft.table == "kits":
        return _("the item stands in a kit of this election in line %(line)d already") % place
    return _("the same stands in line %(line)d of %(file)s already") % place


def check_references(load: Load, names: Names) -> None:
    """Every code that a row refers to is there."""

    def check(draft: Draft, column: str, table: str, code: str) -> None:
        if not names.has(table, draft.jurisdiction, code):
            reason = str(_LACKING[table]) % {"code": code, "jurisdiction": draft.jurisdiction}
            load.fault(draft, column, reason)

    for table, columns in _REFERENCES.items():
        for draft in load.drafts[table]:
            if not draft.jurisdiction:
                continue
            for column, target in columns:
                if column in draft.values and not (file_of(draft) == "people.csv" and column == "person"):
                    check(draft, column, target, draft.values[column])
            for code in draft.values.get("opens", ()) if table == "items" else ():
                check(draft, "opens", "items", code)


def check_times(load: Load) -> None:
    """Schedules and limits run forwards."""
    for draft in load.drafts["elections"]:
        zone = draft.values.get("timezone")
        if zone:
            read = partial(local_instant, timezone=zone)
            _check_order(load, draft, ("polls_open", "polls_close", "return_deadline"), read, strictly=True)
    for draft in load.drafts["keys"]:
        _check_order(load, draft, ("valid_from", "valid_until"), parse_instant, strictly=False)


def _check_order(
    load: Load, draft: Draft, columns: tuple[str, ...], read: Callable[[str], int], *, strictly: bool
) -> None:
    given = [(column, read(draft.values[column])) for column in columns if column in draft.values]
    for (earlier, start), (later, end) in pairwise(given):
        if end < start or (strictly and end == start):
            load.fault(draft, later, _("comes before %(column)s, and must be after it") % {"column": earlier})
