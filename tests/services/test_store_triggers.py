"""The database itself refuses to change the log, and says when it would not (OWASP ASVS 16.4.2; NIST AU-9(3))."""

from __future__ import annotations

import pytest
from django.core.checks import run_checks
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.state import ProjectState

from custody import store
from custody.checks import list_absent_triggers
from custody.keys import log_signer
from custody.models.append_only import TABLES, TRIGGERS, AppendOnly
from custody.models.log import LogKind

CHANGES = [
    "UPDATE custody_line SET body = '{}' WHERE seq = 1",
    "UPDATE custody_line SET received = received + 1",
    "UPDATE custody_line SET seq = 9 WHERE seq = 1",
    "UPDATE custody_line SET body = body",
    "DELETE FROM custody_line WHERE seq = 1",
    "DELETE FROM custody_line",
    "UPDATE custody_checkpoint SET note = 'x'",
    "DELETE FROM custody_checkpoint",
    "DELETE FROM custody_log",
    "UPDATE custody_log SET size = 1",
    "UPDATE custody_log SET origin = 'elsewhere.example/ALDER/main'",
    "UPDATE custody_log SET kind = 'rehearsal'",
    "UPDATE custody_log SET name = 'other'",
    "UPDATE custody_log SET jurisdiction = 'OTHER'",
    "UPDATE custody_log SET created = created - 1",
]
CHANGES_OF_SQLITE = [
    "REPLACE INTO custody_line (log_id, seq, received, body, nodes)"
    " SELECT log_id, seq, 0, body, nodes FROM custody_line",
    "INSERT OR REPLACE INTO custody_line (rowid, log_id, seq, received, body, nodes)"
    " SELECT rowid, log_id, 9, 0, body, nodes FROM custody_line WHERE seq = 1",
    "UPDATE OR REPLACE custody_line SET seq = 0 WHERE seq = 1",
    "REPLACE INTO custody_checkpoint (log_id, size, root, note, created)"
    " SELECT log_id, size, root, 'x', created FROM custody_checkpoint",
    "REPLACE INTO custody_log (id, jurisdiction, name, kind, origin, size, created)"
    " SELECT id, jurisdiction, name, kind, origin, 0, created FROM custody_log",
    "REPLACE INTO custody_log (jurisdiction, name, kind, origin, size, created)"
    " SELECT jurisdiction, name, kind, origin, 0, created FROM custody_log",
]
CHANGES_OF_POSTGRESQL = [
    "TRUNCATE custody_line",
    "TRUNCATE custody_checkpoint",
    "TRUNCATE custody_log CASCADE",
    "INSERT INTO custody_line SELECT * FROM custody_line ON CONFLICT (log_id, seq) DO UPDATE SET body = '{}'",
]


@pytest.fixture
def log(db: None) -> store.LogHead:
    """A log with two lines and a checkpoint."""
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    lines = [store.NewLine(received=at, entry_id=f"e{at}", content={"envelope": {}}) for at in (1, 2)]
    with transaction.atomic():
        store.append(store.lock_head(log), lines)
    store.sign_checkpoint(log, log_signer(log), 3)
    return log


def rows() -> list[list[tuple[object, ...]]]:
    found = []
    with connection.cursor() as cursor:
        for table in TABLES:
            cursor.execute(f"SELECT * FROM {table} ORDER BY 1, 2")  # noqa: S608
            found.append(cursor.fetchall())
    return found


def assert_refused(statement: str) -> None:
    before = rows()
    with pytest.raises(DatabaseError, match="is append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)
    assert rows() == before


@pytest.mark.parametrize("statement", CHANGES)
def test_no_statement_changes_what_is_on_the_log(log: store.LogHead, statement: str) -> None:
    assert_refused(statement)


def test_no_statement_that_one_engine_alone_knows_changes_it_either(log: store.LogHead) -> None:
    connection.check_constraints()  # PostgreSQL truncates nothing while foreign keys wait to be checked
    changes = {"sqlite": CHANGES_OF_SQLITE, "postgresql": CHANGES_OF_POSTGRESQL}[connection.vendor]
    for statement in changes:
        assert_refused(statement)


def test_the_size_of_a_log_may_grow(log: store.LogHead) -> None:
    with connection.cursor() as cursor:
        cursor.execute("UPDATE custody_log SET size = 3")
    assert store.open_log("ALDER", "main").size == 3


@pytest.mark.django_db
def test_the_system_check_names_every_trigger_that_is_absent() -> None:
    assert run_checks(tags=["database"], databases=["default"]) == []
    on_table = {name: f" ON {name.rpartition('_no_')[0]}" for name in TRIGGERS[connection.vendor]}
    for name, where in on_table.items():
        with connection.cursor() as cursor:
            cursor.execute(f"DROP TRIGGER {name}" + (where if connection.vendor == "postgresql" else ""))
    messages = run_checks(tags=["database"], databases=["default"])
    assert [(message.id, message.msg.split()[-3]) for message in messages] == [
        ("custody.E001", name) for name in sorted(on_table)
    ]


@pytest.mark.django_db
def test_a_trigger_that_is_switched_off_counts_as_absent() -> None:
    switch = {
        "postgresql": "ALTER TABLE custody_line DISABLE TRIGGER custody_line_no_update",
        "sqlite": "DROP TRIGGER custody_line_no_update",  # SQLite knows no switch
    }
    with connection.cursor() as cursor:
        cursor.execute(switch[connection.vendor])
    assert list_absent_triggers(connection) == ["custody_line_no_update"]


def test_a_migration_step_puts_absent_triggers_back(own_database) -> None:
    state = MigrationLoader(connection).project_state()
    step = AppendOnly()
    with connection.schema_editor() as editor:
        step.database_backwards("custody", editor, state, ProjectState())
    assert list_absent_triggers(connection) == sorted(TRIGGERS[connection.vendor])
    for _ in range(2):
        with connection.schema_editor() as editor:
            step.database_forwards("custody", editor, ProjectState(), state)
    assert list_absent_triggers(connection) == []


def test_the_check_is_silent_before_the_first_migration(own_database) -> None:
    call_command("migrate", "custody", "zero", verbosity=0)
    assert list_absent_triggers(connection) == []
