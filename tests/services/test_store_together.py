"""Several writers at one log: each line gets its own number, and who comes second waits."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from custody import store
from custody.keys import log_signer
from custody.ledger.tree import Tree
from custody.models.log import LogKind


def in_own_thread(work: Callable[[int], None], count: int) -> None:
    def closing(number: int) -> None:
        try:
            work(number)
        finally:
            connections.close_all()

    with ThreadPoolExecutor(count) as pool:
        for done in [pool.submit(closing, number) for number in range(count)]:
            done.result(timeout=60)


def append(log: store.LogHead, entry: str, count: int) -> None:
    lines = [store.NewLine(received=number, entry_id=entry, content={"envelope": {}}) for number in range(count)]
    with transaction.atomic():
        store.append(store.lock_head(log), lines)


def test_lines_of_several_writers_stand_in_one_order_without_gaps(own_database: BaseDatabaseWrapper) -> None:
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    start = threading.Barrier(4)

    def write(writer: int) -> None:
        start.wait(timeout=10)
        for turn in range(25):
            append(log, f"{writer}-{turn}", 1 + turn % 3)

    in_own_thread(write, 4)
    lines = list(store.read_lines(log))
    each = sum(1 + turn % 3 for turn in range(25))
    assert [line.seq for line in lines] == list(range(4 * each))
    for entry, held in store.lines_of_entries(log, {line.entry_id or "" for line in lines}).items():
        first = held[0].seq
        assert [line.seq for line in held] == list(range(first, first + 1 + int(entry.split("-")[1]) % 3))
    tree = Tree()
    tree.extend(line.leaf for line in lines)
    assert store.root_of(log, len(lines)) == tree.root()


def test_a_second_writer_waits_until_the_first_has_committed(own_database: BaseDatabaseWrapper) -> None:
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    order: list[str] = []

    def write_second(_: int) -> None:
        append(log, "second", 1)
        order.append("second")

    second = threading.Thread(target=in_own_thread, args=(write_second, 1))
    with transaction.atomic():
        head = store.lock_head(log)
        second.start()
        wait_until_blocked(second)
        store.append(head, [store.NewLine(received=0, entry_id="first", content={"envelope": {}})])
        order.append("first")
    second.join(timeout=60)
    assert order == ["first", "second"]
    assert [line.entry_id for line in store.read_lines(log)] == ["first", "second"]


def wait_until_blocked(thread: threading.Thread) -> None:
    """Until PostgreSQL says that somebody waits for a lock; SQLite cannot tell, so there it is a moment's patience."""
    for _ in range(500 if connection.vendor == "postgresql" else 30):
        time.sleep(0.01)
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SELECT count(*) FROM pg_locks WHERE NOT granted")
                if cursor.fetchone() != (0,):
                    return
    assert connection.vendor == "sqlite" and thread.is_alive()


def test_a_log_is_made_once_by_many_at_once(own_database: BaseDatabaseWrapper) -> None:
    made: list[store.LogHead] = []
    start = threading.Barrier(4)

    def make(_: int) -> None:
        connection.ensure_connection()
        start.wait(timeout=10)
        made.append(store.make_log("ALDER", "drill", LogKind.REHEARSAL))

    in_own_thread(make, 4)
    assert made == [store.open_log("ALDER", "drill")] * 4


def test_a_checkpoint_of_one_size_is_signed_once_by_many_at_once(own_database: BaseDatabaseWrapper) -> None:
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    append(log, "e", 3)
    notes: list[str] = []
    start = threading.Barrier(4)

    def sign(number: int) -> None:
        connection.ensure_connection()
        start.wait(timeout=10)
        notes.append(store.sign_checkpoint(log, log_signer(log), 100 + number))

    in_own_thread(sign, 4)
    assert [one.note for one in store.last_checkpoints(log, 10)] == [notes[0]]
    assert notes == notes[:1] * 4


@pytest.mark.usefixtures("own_database")
def test_the_head_is_locked_inside_a_transaction_only() -> None:
    log = store.make_log("ALDER", "main", LogKind.MAIN)
    with pytest.raises(RuntimeError, match="inside a transaction"):
        store.lock_head(log)
