"""The register's tables: rows of the register log written into them, all written anew, and compared with the log.

Hand-written SQL, the same for both engines, made from the list below: a load brings a hundred thousand rows. A row of
the log replaces the row of the same key and jurisdiction; a code that another jurisdiction has breaks a constraint,
and with it the load, which should have seen it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from operator import itemgetter
from typing import Any

from django.db import connection, models, transaction

from custody import store
from custody.domain.instants import local_instant, parse_instant
from custody.ledger.base64 import parse_base64
from custody.ledger.signing import keyid
from custody.models import register as tables

Row = Mapping[str, Any]
Read = Callable[[Row], Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Table:
    """One table: its model, its columns with how each is read from a row of the log, and the columns of its key."""

    model: type[tables.RegisterRow]
    columns: Mapping[str, Read]
    key: tuple[str, ...]


def _text(*names: str) -> dict[str, Read]:
    def reader(name: str) -> Read:
        return lambda row: row.get(name, "")

    return {name: reader(name) for name in names}


def _numbers(*names: str) -> dict[str, Read]:
    return {name: itemgetter(name) for name in names}


def _lists(*names: str) -> dict[str, Read]:
    def reader(name: str) -> Read:
        return lambda row: list(row.get(name, ()))

    return {name: reader(name) for name in names}


def _instants(*names: str) -> dict[str, Read]:
    def reader(name: str) -> Read:
        return lambda row: parse_instant(row[name]) if name in row else None

    return {name: reader(name) for name in names}


def _scheduled(*names: str) -> dict[str, Read]:
    def reader(name: str) -> Read:
        return lambda row: local_instant(row[name], row["timezone"])

    return {name: reader(name) for name in names}


def _keyid(row: Row) -> str:
    return keyid(parse_base64(row["public_key"]))


_TABLES: Mapping[str, _Table] = {
    "jurisdictions": _Table(model=tables.Jurisdiction, columns=_text("code", "name", "timezone"), key=("code",)),
    "elections": _Table(
        model=tables.Election,
        columns=_text("code", "name", "date", "timezone") | _scheduled("polls_open", "polls_close", "return_deadline"),
        key=("code",),
    ),
    "sites": _Table(model=tables.Site, columns=_text("code", "name", "kind", "address", "phone"), key=("code",)),
    "people": _Table(
        model=tables.Person,
        columns=_text("code", "affiliation", "name_commitment", "phone_commitment"),
        key=("code",),
    ),
    "keys": _Table(
        model=tables.Key,
        columns={"keyid": _keyid}
        | _text("person", "public_key")
        | _instants("valid_from", "valid_until", "revoked_at"),
        key=("keyid",),
    ),
    "items": _Table(
        model=tables.Item,
        columns=_text("code", "kind", "description", "serial", "tag", "home_site") | _lists("seal_points", "opens"),
        key=("code",),
    ),
    "assignments": _Table(
        model=tables.Assignment,
        columns=_text("election", "person", "role", "site"),
        key=("election", "person", "role", "site"),
    ),
    "seal_lots": _Table(
        model=tables.SealLot,
        columns=_text("maker", "lot", "prefix", "issued_to", "election")
        | {"seal_class": lambda row: row.get("class", "")}
        | _numbers("first", "last", "width"),
        key=("maker", "lot", "prefix", "first"),
    ),
    "kits": _Table(model=tables.Kit, columns=_text("election", "site", "item"), key=("election", "item")),
    "policy": _Table(
        model=tables.PolicyVersion,
        columns=_instants("valid_from") | {"document": itemgetter("document")},
        key=("valid_from",),
    ),
}

_EVERY = ("jurisdiction", "line", "retired")


def apply_lines(jurisdiction: str, lines: Iterable[store.StoredLine]) -> None:
    """Write the rows of register lines, in order, into the tables."""
    for line in lines:
        change = line.content()["change"]
        table = _TABLES[change["table"]]
        rows = [tuple(_values(table, jurisdiction, line.seq, row).values()) for row in change["rows"]]
        _write(table, rows)


def rebuild_register(jurisdiction: str) -> None:
    """Empty the tables of one jurisdiction and fill them from its register log. Personal values are left alone."""
    log = store.open_log(jurisdiction, "register")
    with transaction.atomic():
        log = store.lock_head(log)
        for table in _TABLES.values():
            table.model._default_manager.filter(jurisdiction=jurisdiction).delete()
        apply_lines(jurisdiction, store.read_lines(log, stop=log.size))


def compare_register(jurisdiction: str) -> list[str]:
    """The rows in which the tables differ from the log, as `table key`, sorted; none when all is well."""
    lines = store.read_lines(store.open_log(jurisdiction, "register"))
    return compare_changes(jurisdiction, ((line.seq, line.content()["change"]) for line in lines))


def compare_changes(jurisdiction: str, changes: Iterable[tuple[int, Row]]) -> list[str]:
    """The same against changes that were read already, each with the number of its line. They are of the right form."""
    expected: dict[str, dict[tuple[Any, ...], dict[str, Any]]] = {name: {} for name in _TABLES}
    for seq, change in changes:
        table = _TABLES[change["table"]]
        for row in change["rows"]:
            values = _values(table, jurisdiction, seq, row)
            expected[change["table"]][tuple(values[column] for column in table.key)] = values
    differing = []
    for name, table in _TABLES.items():
        found = {
            tuple(values[column] for column in table.key): values
            for values in table.model._default_manager.filter(jurisdiction=jurisdiction).values(*_EVERY, *table.columns)
        }
        for key in expected[name].keys() | found.keys():
            if expected[name].get(key) != found.get(key):
                differing.append(f"{name} {'/'.join(map(str, key))}")
    return sorted(differing)


def list_strays(jurisdictions: Iterable[str]) -> list[str]:
    """The rows of no jurisdiction among these, as `table key`, sorted."""
    known = list(jurisdictions)
    return sorted(
        f"{name} {'/'.join(map(str, key))}"
        for name, table in _TABLES.items()
        for key in table.model._default_manager.exclude(jurisdiction__in=known).values_list(*table.key)
    )


def commitment(value: str, salt: bytes) -> str:
    """What stands on record for a personal value: hex of SHA-256 over the salt (16 bytes) and the value in UTF-8."""
    return hashlib.sha256(salt + value.encode()).hexdigest()


def compare_personal_values(jurisdiction: str) -> list[str]:
    """The personal values that do not fit the commitment on record, as `person/field`, sorted. An erased one fits."""
    people = {
        person.code: {"name": person.name_commitment, "phone": person.phone_commitment}
        for person in tables.Person.objects.filter(jurisdiction=jurisdiction)
    }
    kept = tables.PersonalValue.objects.filter(jurisdiction=jurisdiction).values_list(
        "person", "field", "value", "salt"
    )
    return sorted(
        f"{person}/{field}"
        for person, field, value, salt in kept
        if not isinstance(salt, bytes | memoryview)  # somebody put something else there
        or people.get(person, {}).get(field) != commitment(value, bytes(salt))
    )


def write_personal_values(jurisdiction: str, values: Iterable[tuple[str, str, str, bytes]]) -> None:
    """Keep values given as person, field, value and salt, each in place of the one before."""
    columns = ("jurisdiction", "person", "field", "value", "salt")
    rows = [(jurisdiction, *value) for value in values]
    _upsert(tables.PersonalValue, columns, ("jurisdiction", "person", "field"), rows)


def erase_personal_values(jurisdiction: str, values: Iterable[tuple[str, str]]) -> None:
    """Remove values, given as person and field, for good. The commitments on record then open to nothing."""
    table = tables.PersonalValue._meta.db_table
    sql = f"DELETE FROM {table} WHERE jurisdiction = %s AND person = %s AND field = %s"  # noqa: S608 - a constant
    with connection.cursor() as cursor:
        cursor.executemany(sql, [(jurisdiction, person, field) for person, field in values])


def _values(table: _Table, jurisdiction: str, line: int, row: Row) -> dict[str, Any]:
    values = {"jurisdiction": jurisdiction, "line": line, "retired": bool(row.get("retired", False))}
    return values | {column: read(row) for column, read in table.columns.items()}


def _write(table: _Table, rows: list[tuple[Any, ...]]) -> None:
    columns = (*_EVERY, *table.columns)
    prepared = dict(_prepared(table.model, columns))
    if prepared:
        rows = [
            tuple(prepared[at](value) if at in prepared else value for at, value in enumerate(values))
            for values in rows
        ]
    _upsert(table.model, columns, ("jurisdiction", *table.key), rows)


def _prepared(model: type[models.Model], columns: tuple[str, ...]) -> Iterator[tuple[int, Callable[[Any], Any]]]:
    """The places of the columns whose values an engine wants in a form of its own."""
    for at, column in enumerate(columns):
        field = model._meta.get_field(column)
        if isinstance(field, models.JSONField):
            yield at, partial(field.get_db_prep_save, connection=connection)


def _upsert(
    model: type[models.Model], columns: tuple[str, ...], key: tuple[str, ...], rows: list[tuple[Any, ...]]
) -> None:
    table, quote = model._meta.db_table, connection.ops.quote_name
    names = ", ".join(map(quote, columns))
    marks = ", ".join(["%s"] * len(columns))
    updates = ", ".join(f"{quote(name)} = excluded.{quote(name)}" for name in columns if name not in key)
    sql = (
        f"INSERT INTO {table} ({names}) VALUES ({marks})"  # noqa: S608 - names of our own models
        f" ON CONFLICT ({', '.join(map(quote, key))}) DO UPDATE SET {updates}"
    )
    with connection.cursor() as cursor:
        cursor.executemany(sql, rows)
