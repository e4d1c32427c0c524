"""The triggers by which the database itself refuses to change the log, on SQLite and on PostgreSQL.

They stop mistakes: a stray UPDATE, a careless admin command, a faulty migration. They do not stop whoever owns the
database, who can drop them; against that person stand the Merkle tree, the checkpoints and everybody who keeps a copy.

SQLite drops a table's triggers when a migration remakes the table. Such a migration ends with `AppendOnly()`, which
puts them back; the check `custody.E001` finds those that are absent. The statements may be run any number of times.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from django.db.migrations.operations.base import Operation

TABLES: Final = ("custody_log", "custody_line", "custody_checkpoint")

_FIXED: Final = ("id", "jurisdiction", "name", "kind", "origin", "created")
_LOG_CHANGED: Final = " OR ".join(f"NEW.{column} <> OLD.{column}" for column in _FIXED) + " OR NEW.size < OLD.size"


def _sqlite() -> dict[str, str]:
    def trigger(table: str, event: str, condition: str = "") -> str:
        when = f"WHEN {condition} " if condition else ""
        message = f"{table} is append-only: {event} refused"
        return (
            f"CREATE TRIGGER IF NOT EXISTS {table}_no_{event.lower()} BEFORE {event} ON {table} "
            f"FOR EACH ROW {when}BEGIN SELECT RAISE(ABORT, '{message}'); END"
        )

    found = {}
    for table, number in (("custody_line", "seq"), ("custody_checkpoint", "size")):
        for event in ("UPDATE", "DELETE"):
            found[f"{table}_no_{event.lower()}"] = trigger(table, event)
        # INSERT OR REPLACE removes the row that is in its way, and by default fires no trigger for that.
        same = f"rowid = NEW.rowid OR (log_id = NEW.log_id AND {number} = NEW.{number})"
        there = f"EXISTS (SELECT 1 FROM {table} WHERE {same})"  # noqa: S608 - constants of this module
        found[f"{table}_no_insert"] = trigger(table, "INSERT", there)
    found["custody_log_no_update"] = trigger("custody_log", "UPDATE", _LOG_CHANGED)
    found["custody_log_no_delete"] = trigger("custody_log", "DELETE")
    taken = "EXISTS (SELECT 1 FROM custody_log WHERE id = NEW.id OR origin = NEW.origin"
    taken += " OR (jurisdiction = NEW.jurisdiction AND name = NEW.name))"
    found["custody_log_no_insert"] = trigger("custody_log", "INSERT", taken)
    return found


_REFUSE: Final = """\
CREATE OR REPLACE FUNCTION custody_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% is append-only: % refused', TG_TABLE_NAME, TG_OP USING ERRCODE = 'restrict_violation';
END $$"""


def _postgresql() -> dict[str, str]:
    def trigger(table: str, event: str, level: str, condition: str = "") -> str:
        when = f"WHEN ({condition}) " if condition else ""
        return (
            f"CREATE OR REPLACE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} "
            f"FOR EACH {level} {when}EXECUTE FUNCTION custody_refuse()"
        )

    found = {}
    for table in TABLES:
        condition = _LOG_CHANGED if table == "custody_log" else ""
        found[f"{table}_no_update"] = trigger(table, "UPDATE", "ROW", condition)
        found[f"{table}_no_delete"] = trigger(table, "DELETE", "ROW")
        found[f"{table}_no_truncate"] = trigger(table, "TRUNCATE", "STATEMENT")
    return found


TRIGGERS: Final[Mapping[str, Mapping[str, str]]] = {"sqlite": _sqlite(), "postgresql": _postgresql()}
"""By vendor and name of the trigger, the statement that makes it."""


class AppendOnly(Operation):
    """A migration step that puts the triggers on the log tables, on either engine."""

    reduces_to_sql = True
    reversible = True

    def state_forwards(self, app_label: str, state: Any) -> None:
        """Triggers are no part of Django's idea of a model."""

    def database_forwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        vendor = schema_editor.connection.vendor
        if vendor == "postgresql":
            schema_editor.execute(_REFUSE, params=None)
        for statement in TRIGGERS[vendor].values():
            schema_editor.execute(statement, params=None)

    def database_backwards(self, app_label: str, schema_editor: Any, from_state: Any, to_state: Any) -> None:
        for name in TRIGGERS[schema_editor.connection.vendor]:
            table, _, _ = name.rpartition("_no_")
            on_table = f" ON {table}" if schema_editor.connection.vendor == "postgresql" else ""
            schema_editor.execute(f"DROP TRIGGER IF EXISTS {name}{on_table}", params=None)

    def describe(self) -> str:
        return "Let the database refuse to change what is on the log"
