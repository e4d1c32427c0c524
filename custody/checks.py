"""System checks of the installation: `python manage.py check --database default` runs them, and so does `migrate`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.core.checks import CheckMessage, Error, Tags, register
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

from custody.models.append_only import TABLES, TRIGGERS

_PRESENT = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
    # A trigger that was switched off ('D') is as good as absent.
    "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled IN ('O', 'A')"
    " AND tgrelid IN (SELECT oid FROM pg_class WHERE relnamespace = current_schema()::regnamespace)",
}


@register(Tags.database)
def check_append_only(
    app_configs: Sequence[Any] | None = None, databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Names each trigger that should stop changes of the log and is not there. Before the first `migrate`: nothing."""
    messages: list[CheckMessage] = []
    for alias in databases or ():
        absent = list_absent_triggers(connections[alias])
        messages += [
            Error(
                f"The database would let log rows be changed: trigger {name} is absent.",
                hint="Find out who removed it, check the log with `python manage.py verify` against a checkpoint that"
                " somebody else kept, then put it back: `python manage.py sqlmigrate custody 0002 |"
                " python manage.py dbshell`.",
                id="custody.E001",
            )
            for name in absent
        ]
    return messages


def list_absent_triggers(connection: BaseDatabaseWrapper) -> list[str]:
    """Names of the triggers that are absent, sorted; of tables that are there only."""
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor)) & set(TABLES)
        cursor.execute(_PRESENT[connection.vendor])
        present = {name for (name,) in cursor.fetchall()}
    wanted = (name for name in TRIGGERS[connection.vendor] if name.rpartition("_no_")[0] in tables)
    return sorted(set(wanted) - present)
