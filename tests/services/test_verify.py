"""Verifying: nothing that stands in a row stops it, every fault of several is told, and a sound record has none."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.db import connection, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from custody import register_tables, registers, store
from custody.keys import log_signer
from custody.ledger.canonical import dump_canonical
from custody.ledger.checkpoint import dump_checkpoint, parse_checkpoint
from custody.ledger.signing import Signer
from custody.queries import verify
from custody.queries.verify import verify_logs
from custody.queries.verify_lines import Problem
from tests.services.test_tampering import take_triggers_away
from tests.world import World
from tests.worlds_on_record import put_deeds, put_register

PLACE = "P01"


def put(world: World) -> list[store.LogHead]:
    """The register's log and that of the entries, without the triggers."""
    with transaction.atomic():
        put_register(world)
        put_deeds(store.make_log("ALDER", "main", store.LogKind.MAIN), world.lines())
    take_triggers_away()
    return logs()


def logs() -> list[store.LogHead]:
    return [store.open_log("ALDER", name) for name in ("register", "main")]


@pytest.fixture
def record(db: None) -> list[store.LogHead]:
    world = World(places=1)
    world.until(PLACE, "open_polls")
    return put(world)


def run(sql: str, *values: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        assert cursor.rowcount == 1, sql


def body_of(log: store.LogHead, seq: int) -> dict[str, Any]:
    return next(store.read_lines(log, seq, seq + 1)).content()


def put_body(log: store.LogHead, seq: int, content: dict[str, Any]) -> None:
    body = dump_canonical(content).decode()
    run("UPDATE custody_line SET body = %s WHERE log_id = %s AND seq = %s", body, log.id, seq)


def told(problems: list[Problem]) -> list[tuple[str, int | None, str]]:
    """The problems of lines."""
    return [(each.log, each.seq, each.code) for each in problems if each.seq is not None]


def test_several_faults_are_all_told(record: list[store.LogHead]) -> None:
    register, main = record
    store.sign_checkpoint(main, log_signer(main), 1)
    changed = body_of(main, 3)
    changed["envelope"]["signatures"].pop()
    put_body(main, 3, changed)
    run("DELETE FROM custody_line WHERE log_id = %s AND seq = 9", main.id)
    run("UPDATE custody_checkpoint SET size = 4 WHERE log_id = %s", main.id)
    run("DELETE FROM custody_version WHERE log_id = %s AND key = 'person:CHIEF-P01'"
        " AND time = (SELECT MAX(time) FROM custody_version WHERE log_id = %s AND key = 'person:CHIEF-P01')"
        " AND entry_id = (SELECT MAX(entry_id) FROM custody_version WHERE log_id = %s AND key = 'person:CHIEF-P01')",
        main.id, main.id, main.id)  # fmt: skip
    run("UPDATE custody_site SET name = 'x' WHERE code = 'WH'")
    changed = body_of(register, 2)
    changed["user"] = "somebody else"
    put_body(register, 2, changed)
    problems = verify_logs(record)
    assert told(problems) == [
        ("ALDER/register", 2, "bad-leaf"),
        ("ALDER/main", 3, "bad-leaf"),
        ("ALDER/main", 9, "missing-line"),
    ]
    places = {(each.table, each.key) for each in problems}
    assert {("sites", "WH"), ("checkpoint", "4")} < places
    assert any(each.table == "version" and (each.key or "").startswith("person:CHIEF-P01 ") for each in problems)


@pytest.mark.parametrize(
    ("name", "seq", "codes"),
    [("main", 5, ["bad-entry", "bad-leaf", "bad-line"]), ("register", 1, ["bad-change", "bad-leaf", "bad-line"])],
)
def test_a_line_of_another_form_is_told_and_stops_nothing(
    record: list[store.LogHead], name: str, seq: int, codes: list[str]
) -> None:
    """Whatever the process remembers of the register: the rows are read."""
    log = next(each for each in record if each.name == name)
    put_body(log, seq, {"seq": seq, "received": "2026-10-04T13:00:00Z", "envelope": [], "change": 7})
    registers.forget()
    problems = verify_logs(record)
    assert [each for each in told(problems) if each[0] == log.path] == [(log.path, seq, code) for code in codes]


JUNK = ["x", -4, 2.5, b"\xff\xfe", 2**62]


@pytest.mark.one_engine
@pytest.mark.parametrize(
    ("column", "junk"),
    [(column, junk) for column in ("received", "entry_id", "body", "nodes") for junk in JUNK] + [("entry_id", None)],
)
def test_a_column_may_hold_anything(record: list[store.LogHead], column: str, junk: object) -> None:
    """SQLite keeps values of any type in any column; PostgreSQL refuses those that do not fit."""
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL refuses such values")
    run(f"UPDATE custody_line SET {column} = %s WHERE log_id = %s AND seq = 5", junk, record[1].id)  # noqa: S608
    problems = verify_logs(record)
    assert {each.seq for each in problems if each.seq is not None} == {5}


@pytest.mark.one_engine
@pytest.mark.parametrize("junk", ["x", 2.5, b"\xff\xfe", -4])
def test_a_number_may_be_anything(record: list[store.LogHead], junk: object) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL refuses such values")
    run("UPDATE custody_line SET seq = %s WHERE log_id = %s AND seq = 5", junk, record[1].id)
    problems = verify_logs(record)
    assert ("missing-line", 5) in {(each.code, each.seq) for each in problems}
    where = {(each.table, each.key) for each in problems} | {(None, str(each.seq)) for each in problems}
    assert (None, "-4") in where if junk == -4 else ("line", ascii(junk)) in where


@pytest.mark.one_engine
def test_bytes_that_are_no_text_are_told(record: list[store.LogHead]) -> None:
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL keeps no such text")
    main = record[1]
    bad = b"\xff{\xfe"
    run("UPDATE custody_line SET body = CAST(%s AS TEXT) WHERE log_id = %s AND seq = 5", bad, main.id)
    run("UPDATE custody_onrecord SET site = CAST(%s AS TEXT) WHERE log_id = %s AND seq = 3", bad, main.id)
    run("UPDATE custody_item SET description = CAST(%s AS TEXT) WHERE code = 'SC00001D'", bad)
    problems = verify_logs(record)
    assert (5, "not-canonical") in {(each.seq, each.code) for each in problems}
    assert ("items", "SC00001D") in {(each.table, each.key) for each in problems}
    assert "onrecord" in {each.table for each in problems}
    assert all(each.key is None or each.key.isprintable() for each in problems)


def test_another_entry_under_a_known_id_is_told(record: list[store.LogHead]) -> None:
    world = World(places=1)
    world.until(PLACE, "open_polls")
    first = world.log[0]
    world.at += 1_000
    world.write({**first.payload, "note": "other"}, signers=first.signers, received=world.at)
    append(record[1], world.log[-1].envelope(), first.id, world.at)
    assert told(verify_logs(logs())) == [("ALDER/main", record[1].size, "id-taken")]


def test_a_line_that_adds_nothing_is_told(record: list[store.LogHead]) -> None:
    world = World(places=1)
    world.until(PLACE, "open_polls")
    append(record[1], world.log[0].envelope(), world.log[0].id, world.at)
    assert told(verify_logs(logs())) == [("ALDER/main", record[1].size, "nothing-new")]


def append(log: store.LogHead, envelope: dict[str, Any], entry_id: str, received: int) -> None:
    """Past the one door, but with everything right about the line itself."""
    line = store.NewLine(received=received, entry_id=entry_id, content={"envelope": envelope})
    with transaction.atomic():
        store.append(store.lock_head(log), [line])


@pytest.mark.parametrize(("column", "value"), [("kind", "rehearsal"), ("origin", "custody.example/ALDER/other")])
def test_a_head_that_does_not_go_with_its_name_is_told(record: list[store.LogHead], column: str, value: str) -> None:
    run(f"UPDATE custody_log SET {column} = %s WHERE id = %s", value, record[1].id)  # noqa: S608
    (problem,) = verify_logs(record)
    assert (problem.log, problem.table, problem.code) == ("ALDER/main", "log", "bad-log")


def test_a_row_of_a_jurisdiction_that_has_no_log_is_told(record: list[store.LogHead]) -> None:
    run("UPDATE custody_site SET jurisdiction = 'ELM' WHERE code = 'VA'")
    assert {(each.log, each.table, each.key, each.code) for each in verify_logs(record)} == {
        ("", "sites", "VA", "surplus-row"),
        ("ALDER/register", "sites", "VA", "differs-row"),
    }


def test_a_personal_value_that_was_changed_is_told_and_an_erased_one_is_not(record: list[store.LogHead]) -> None:
    register_tables.write_personal_values("ALDER", [("CLERK-1", "phone", "555-0100", b"s" * 16)])
    (problem,) = verify_logs(record)
    assert (problem.table, problem.key, problem.code) == ("personalvalue", "CLERK-1/phone", "bad-commitment")
    register_tables.erase_personal_values("ALDER", [("CLERK-1", "phone")])
    assert verify_logs(record) == []


def test_a_checkpoint_of_another_log_is_told(record: list[store.LogHead]) -> None:
    other = dump_checkpoint("custody.example/ELM/main", 3, b"r" * 32, Signer(b"k" * 32))
    (problem,) = verify_logs(record, checkpoint=other)
    assert (problem.table, problem.code) == ("checkpoint", "other-origin")


def test_a_checkpoint_that_somebody_else_signed_is_told(record: list[store.LogHead]) -> None:
    main = record[1]
    log_signer(main)
    forged = dump_checkpoint(main.origin, 3, store.root_of(main, 3), Signer(b"k" * 32))
    (problem,) = verify_logs(record, checkpoint=forged)
    assert (problem.log, problem.key, problem.code) == ("ALDER/main", "kept elsewhere", "no-signature")


def test_a_kept_checkpoint_shows_a_tail_that_was_cut_off_and_a_line_that_was_exchanged(
    record: list[store.LogHead],
) -> None:
    main = record[1]
    signer = log_signer(main)
    longer = dump_checkpoint(main.origin, main.size + 1, b"r" * 32, signer)
    assert [each.code for each in verify_logs(record, checkpoint=longer)] == ["cut-off"]
    exchanged = dump_checkpoint(main.origin, 7, b"r" * 32, signer)
    assert [each.code for each in verify_logs(record, checkpoint=exchanged)] == ["other-root"]
    for size in (0, 1, 7, main.size):
        sound = dump_checkpoint(main.origin, size, store.root_of(main, size), signer)
        assert verify_logs(record, checkpoint=sound) == []
        assert parse_checkpoint(sound).size == size


def test_verifying_makes_no_key(record: list[store.LogHead]) -> None:
    main = record[1]
    path = Path(settings.CUSTODY_DATA) / "keys" / "ALDER" / "main.seed"
    note = store.sign_checkpoint(main, log_signer(main), 1)
    kept = path.read_bytes()
    path.unlink()
    try:
        assert [each.code for each in verify_logs(record, checkpoint=note)] == ["no-key", "no-key"]
        assert not path.exists()
    finally:
        path.write_bytes(kept)


def test_several_processes_find_what_one_finds(record: list[store.LogHead], monkeypatch: pytest.MonkeyPatch) -> None:
    main = record[1]
    for seq in (2, 11):
        changed = body_of(main, seq)
        signature = changed["envelope"]["signatures"][0]
        signature["sig"] = (
            signature["sig"][:4] + ("AAAA" if signature["sig"][4:8] != "AAAA" else "BBBB") + signature["sig"][8:]
        )
        put_body(main, seq, changed)
    alone = verify_logs(record)
    assert [(seq, code) for _, seq, code in told(alone)] == [
        (2, "bad-leaf"), (2, "bad-signature"), (11, "bad-leaf"), (11, "bad-signature"),
    ]  # fmt: skip
    monkeypatch.setattr(verify, "WORTH_PROCESSES", 1)
    monkeypatch.setattr(verify, "CHUNK", 5)
    assert verify_logs(record) == alone


def test_a_log_that_grows_while_it_is_verified_is_whole(own_database: BaseDatabaseWrapper) -> None:
    """All is read as of one moment, and whoever writes meanwhile does not wait."""
    world = World(places=1)
    world.until(PLACE, "close_polls")
    half = len(world.log) // 2
    late = world.lines()[half:]
    with transaction.atomic():
        put_register(world)
        put_deeds(store.make_log("ALDER", "main", store.LogKind.MAIN), world.lines()[:half])
    written: list[int] = []

    def write() -> None:
        try:
            written.append(len(put_deeds(store.open_log("ALDER", "main"), late)))
        finally:
            connection.close()

    def meanwhile(count: int) -> None:
        if not written:
            other = threading.Thread(target=write)
            other.start()
            other.join()

    assert verify_logs(logs(), advance=meanwhile) == []
    assert written == [len(late)]
    assert [log.size for log in logs()][1] == len(world.log)
    assert verify_logs(logs()) == []
