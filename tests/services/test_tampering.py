"""A thousand alterations beneath the application: `verify` names every one, and the place of each.

PostgreSQL gets every fourth of them: what is altered is the same, and only how rows are read differs.

The append-only triggers are taken away first, as somebody with the database's own password could. After every alteration the
database is put back.
"""

from __future__ import annotations

import base64
import json
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from django.db import connection, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from custody import store
from custody.keys import log_signer
from custody.ledger import merkle
from custody.ledger.tree import NodeTree
from custody.queries.verify import verify_logs
from custody.queries.verify_lines import Problem
from tests.world import World
from tests.world_random import chance
from tests.worlds_on_record import put_deeds, put_register

ALTERATIONS = 1_000


@dataclass(slots=True, kw_only=True)
class Record:
    """A record of some ninety entries, and what a vandal needs to know of it."""

    log: store.LogHead
    register: store.LogHead
    kept: str  # a checkpoint that somebody kept elsewhere
    rng: random.Random

    def line(self, lowest: int = 0) -> tuple[int, str]:
        seq = self.rng.randrange(lowest, self.log.size)
        ((body,),) = rows("SELECT body FROM custody_line WHERE log_id = %s AND seq = %s", self.log.id, seq)
        return seq, body


def rows(sql: str, *values: Any) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return cursor.fetchall()


def run(sql: str, *values: Any) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        assert cursor.rowcount == 1, sql


Expected = Callable[[Problem], bool]


def at_line(seq: int) -> Expected:
    return lambda problem: problem.log == "ALDER/main" and problem.seq == seq


def at_row(table: str, *parts: object) -> Expected:
    words = [str(part) for part in parts]
    return lambda problem: problem.table == table and all(word in (problem.key or "") for word in words)


def put_body(record: Record, seq: int, body: str) -> Expected:
    run("UPDATE custody_line SET body = %s WHERE log_id = %s AND seq = %s", body, record.log.id, seq)
    return at_line(seq)


def change_a_byte(record: Record) -> Expected:
    seq, body = record.line()
    at = record.rng.randrange(len(body))
    other = record.rng.choice([each for each in 'aZ5"{}:,' if each != body[at]])
    return put_body(record, seq, body[:at] + other + body[at + 1 :])


def flip_a_bit(rng: random.Random, text: str) -> str:
    data = bytearray(base64.b64decode(text))
    data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    return base64.b64encode(bytes(data)).decode()


def change_payload(record: Record) -> Expected:
    seq, body = record.line()
    payload = json.loads(body)["envelope"]["payload"]
    return put_body(record, seq, body.replace(payload, flip_a_bit(record.rng, payload)))


def change_signature(record: Record) -> Expected:
    seq, body = record.line()
    sig = record.rng.choice(json.loads(body)["envelope"]["signatures"])["sig"]
    return put_body(record, seq, body.replace(sig, flip_a_bit(record.rng, sig)))


def forge_with_tree(record: Record) -> Expected:
    """A signature is changed, and every hash of the tree is worked out anew, as a patient forger would."""
    expected = change_signature(record)
    tree = NodeTree()
    for seq, body in rows("SELECT seq, body FROM custody_line WHERE log_id = %s ORDER BY seq", record.log.id):
        leaf = merkle.leaf_hash(body.encode())
        tree.append(leaf)
        nodes = merkle.completed_nodes(seq, leaf, tree.node)
        run("UPDATE custody_line SET nodes = %s WHERE log_id = %s AND seq = %s", nodes, record.log.id, seq)
    return expected


def drop_signature(record: Record) -> Expected:
    seq, body = record.line()
    value = json.loads(body)
    value["envelope"]["signatures"].pop()
    return put_body(record, seq, json.dumps(value, separators=(",", ":"), sort_keys=True))


def remove_line(record: Record) -> Expected:
    seq, _ = record.line()
    run("DELETE FROM custody_line WHERE log_id = %s AND seq = %s", record.log.id, seq)
    return at_line(seq)


def cut_tail(record: Record) -> Expected:
    """The end is cut off, with the head and every checkpoint that spoke of it: the kept one still tells."""
    size = record.rng.randrange(1, record.log.size - 20)
    rows_gone = "DELETE FROM custody_{} WHERE log_id = %s AND {} >= %s"
    with connection.cursor() as cursor:
        cursor.execute(rows_gone.format("line", "seq"), [record.log.id, size])
        cursor.execute(rows_gone.format("checkpoint", "size"), [record.log.id, size + 1])
    run("UPDATE custody_log SET size = %s WHERE id = %s", size, record.log.id)
    return lambda problem: problem.code == "cut-off"


def double_line(record: Record) -> Expected:
    seq, _ = record.line()
    run(
        "INSERT INTO custody_line (log_id, seq, received, entry_id, body, nodes)"
        " SELECT log_id, %s, received, entry_id, body, nodes FROM custody_line WHERE log_id = %s AND seq = %s",
        record.log.size,
        record.log.id,
        seq,
    )
    return at_line(record.log.size)


def swap_lines(record: Record) -> Expected:
    (seq, body), (other, other_body) = record.line(), record.line()
    if seq == other:
        return change_payload(record)
    put_body(record, other, body)
    return put_body(record, seq, other_body)


def renumber_line(record: Record) -> Expected:
    seq, _ = record.line()
    sql = "UPDATE custody_line SET seq = %s WHERE log_id = %s AND seq = %s"
    run(sql, record.log.size + record.rng.randrange(5), record.log.id, seq)
    return at_line(seq)


def change_column(record: Record) -> Expected:
    seq, _ = record.line()
    column, value = record.rng.choice(
        [("received", 1), ("entry_id", "01a1a496-aae0-7000-8000-0000000000ff"), ("nodes", b"\x00" * 32), ("nodes", b"")]
    )
    run(f"UPDATE custody_line SET {column} = %s WHERE log_id = %s AND seq = %s", value, record.log.id, seq)  # noqa: S608
    return at_line(seq)


def change_head(record: Record) -> Expected:
    size = record.log.size + record.rng.choice([-3, 4])
    run("UPDATE custody_log SET size = %s WHERE id = %s", size, record.log.id)
    return lambda problem: problem.code == "bad-size"


def change_checkpoint(record: Record) -> Expected:
    ((size, note),) = rows("SELECT size, note FROM custody_checkpoint WHERE log_id = %s LIMIT 1", record.log.id)
    at = record.rng.randrange(len(note))
    changed = note[:at] + ("x" if note[at] != "x" else "y") + note[at + 1 :]
    run("UPDATE custody_checkpoint SET note = %s WHERE log_id = %s AND size = %s", changed, record.log.id, size)
    return at_row("checkpoint", size)


DERIVED: dict[str, tuple[tuple[str, ...], dict[str, Any]]] = {
    "onrecord": (("entry_id",), {"time": 5, "kind": "count", "site": "P99", "keys": "[]"}),
    "version": (("key", "time", "entry_id"), {"until": 7, "state": "{}"}),
    "findingrow": (("scope", "key"), {"at": 3, "status": "cleared", "severity": "notice", "body": "{}"}),
    "amendment": (("target", "entry_id"), {}),
    "owedrow": (("election", "site", "item"), {"since": 3, "container": "XX", "holder": "[]"}),
    "backrow": (("election", "site", "item"), {"back": 3, "kind": "XX"}),
    "placerow": (("election", "site"), {"closed": 3, "deadline": 5}),
}


def change_derived(record: Record) -> Expected:
    """A row of a derived table is removed, or one of its values changed."""
    table = record.rng.choice(sorted(DERIVED))
    keys, values = DERIVED[table]
    found = rows(f"SELECT {', '.join(keys)} FROM custody_{table} WHERE log_id = %s ORDER BY {keys[0]}", record.log.id)  # noqa: S608
    key = record.rng.choice(found)
    where = " AND ".join(f"{name} = %s" for name in keys)
    column = record.rng.choice(["", *values])
    if column:
        unchanged = "custody_{} SET {} = %s WHERE log_id = %s AND {} AND {} <> %s"
        sql = f"UPDATE {unchanged.format(table, column, where, column)}"
        with connection.cursor() as cursor:
            cursor.execute(sql, [values[column], record.log.id, *key, values[column]])
            if not cursor.rowcount:  # it had that value already
                return change_derived(record)
    else:
        run(f"DELETE FROM custody_{table} WHERE log_id = %s AND {where}", record.log.id, *key)  # noqa: S608
    return at_row(table, *key)


def change_register(record: Record) -> Expected:
    """A line of the register's log, a row of its tables, or a personal value."""
    match record.rng.randrange(3):
        case 0:
            seq = record.rng.randrange(record.register.size)
            body = rows("SELECT body FROM custody_line WHERE log_id = %s AND seq = %s", record.register.id, seq)[0][0]
            changed = body[:-1] + " }"
            run("UPDATE custody_line SET body = %s WHERE log_id = %s AND seq = %s", changed, record.register.id, seq)
            return lambda problem: problem.log == "ALDER/register" and problem.seq == seq
        case 1:
            code = record.rng.choice(rows("SELECT code FROM custody_item ORDER BY code"))[0]
            run("UPDATE custody_item SET kind = 'supply_kit' WHERE code = %s AND kind <> 'supply_kit'", code)
            return at_row("items", code)
        case _:
            code = record.rng.choice(rows("SELECT code FROM custody_site ORDER BY code"))[0]
            run("DELETE FROM custody_site WHERE code = %s", code)
            return at_row("sites", code)


VANDALS: tuple[tuple[Callable[[Record], Expected], int], ...] = (
    (change_a_byte, 150),
    (change_payload, 150),
    (change_signature, 100),
    (forge_with_tree, 30),
    (drop_signature, 60),
    (remove_line, 80),
    (cut_tail, 80),
    (double_line, 50),
    (swap_lines, 50),
    (renumber_line, 40),
    (change_column, 60),
    (change_head, 10),
    (change_checkpoint, 20),
    (change_derived, 80),
    (change_register, 40),
)


@pytest.fixture
def record(own_database: BaseDatabaseWrapper) -> Iterator[Record]:
    rng = chance(1)
    world = World(places=1)
    world.clean_day("P01")
    world.handoff([world.spare.pollbook, world.spare.case], world.party("warehouse_clerk"), world.chief("P01"), "issue")
    for deed in rng.sample(world.log, 12):
        world.amend(deed, world.party("official"), {"note": "put right"})
    for deed in rng.sample(world.log, 12):
        world.sign_later(deed, "AUDIT-1")
    with transaction.atomic():
        put_register(world)
        log = store.make_log("ALDER", "main", store.LogKind.MAIN)
        put_deeds(log, world.lines())
    log = store.open_log("ALDER", "main")
    kept = store.sign_checkpoint(log, log_signer(log), world.at)
    take_triggers_away()
    yield Record(log=log, register=store.open_log("ALDER", "register"), kept=kept, rng=rng)


def take_triggers_away() -> None:
    """As the owner of the database can."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")  # none may wait for the end of the transaction
            for table in ("custody_log", "custody_line", "custody_checkpoint"):
                cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
            return
        cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in cursor.fetchall():
            cursor.execute(f'DROP TRIGGER "{name}"')


def verify(record: Record) -> list[Problem]:
    return verify_logs([record.register, record.log], checkpoint=record.kept)


class PutBack(Exception):
    """Ends a transaction so that the database is as it was."""


@pytest.mark.timeout(900)  # a thousand times the whole of `verify`
def test_every_alteration_is_named(record: Record) -> None:
    assert verify(record) == []
    assert sum(count for _, count in VANDALS) == ALTERATIONS
    missed = []
    for vandal, count in VANDALS:
        for number in range(count if connection.vendor == "sqlite" else count // 4):
            with pytest.raises(PutBack), transaction.atomic():
                expected = vandal(record)
                problems = verify(record)
                if not any(expected(problem) for problem in problems):
                    missed.append((vandal.__name__, number, problems[:3]))
                raise PutBack
    assert missed == []
    assert verify(record) == []
