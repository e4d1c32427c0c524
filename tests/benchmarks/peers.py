"""What the log is measured against, in the same run on the same machine: bare rows, hand-written SQL, a history library.

The tables made here are the measurement's own and are thrown away with its database.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import count
from pathlib import Path
from time import perf_counter
from typing import Any

from django.apps import AppConfig
from django.db import connection, models, transaction

SECONDS = 0.3
Work = Callable[[], int]
"""Does some of what is measured, and says how much."""

BODY = "A" * 1200  # about what a line of a log has
_numbers = count()


class BenchPeer(AppConfig):
    """The app that the history library asks of a model; installed for the measurement alone."""

    name = "tests.benchmarks.peers"
    label = "bench_peer"
    path = str(Path(__file__).parent)


def rate(work: Work) -> float:
    """What `work` does a second."""
    start, done = perf_counter(), 0
    while perf_counter() - start < SECONDS:
        done += work()
    return done / (perf_counter() - start)


def settle() -> None:
    """What was written so far goes from the journal to its place, so that nobody else's commit has to wait for it."""
    with connection.cursor() as cursor:
        cursor.execute("CHECKPOINT" if connection.vendor == "postgresql" else "PRAGMA wal_checkpoint(TRUNCATE)")


def make_tables() -> None:
    with connection.cursor() as cursor:
        cursor.execute("CREATE TABLE bench_row (number bigint PRIMARY KEY, body text NOT NULL)")
        cursor.execute("CREATE TABLE bench_head (id bigint PRIMARY KEY, size bigint NOT NULL)")
        cursor.execute("CREATE TABLE bench_item (code text PRIMARY KEY, holder text NOT NULL, since bigint NOT NULL)")
        cursor.execute("CREATE TABLE bench_derived (number bigint PRIMARY KEY, body text NOT NULL)")
        cursor.execute("INSERT INTO bench_head VALUES (1, 0)")


def bare_rows(rows: int) -> Work:
    """Rows, so many a transaction, and nothing else."""

    def work() -> int:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.executemany(
                "INSERT INTO bench_row (number, body) VALUES (%s, %s)", [(next(_numbers), BODY) for _ in range(rows)]
            )
        return rows

    return work


def by_hand(entries: int) -> Work:
    """Entries in hand-written SQL, so many a transaction: head, entry, three item rows, one derived row.

    No signature, no replay, no rule: what the tables alone cost whoever keeps current holders beside a log.
    """

    head = "SELECT size FROM bench_head WHERE id = 1"
    if connection.vendor == "postgresql":
        head += " FOR NO KEY UPDATE"

    def work() -> int:
        numbers = [next(_numbers) for _ in range(entries)]
        items = [(f"I{number * 3 + each:09}"[-5:], "somebody", number) for number in numbers for each in range(3)]
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(head)
            cursor.execute("UPDATE bench_head SET size = size + %s WHERE id = 1", [entries])
            cursor.executemany("INSERT INTO bench_row VALUES (%s, %s)", [(number, BODY) for number in numbers])
            cursor.executemany(
                "INSERT INTO bench_item VALUES (%s, %s, %s)"
                " ON CONFLICT (code) DO UPDATE SET holder = excluded.holder, since = excluded.since",
                items,
            )
            cursor.executemany(
                "INSERT INTO bench_derived VALUES (%s, %s)", [(number, BODY[:200]) for number in numbers]
            )
        return entries

    return work


def _history_model() -> Any:
    from simple_history.models import HistoricalRecords

    class Thing(models.Model):
        code = models.CharField(max_length=64, primary_key=True)
        holder = models.CharField(max_length=64)
        since = models.BigIntegerField()
        history = HistoricalRecords()

        class Meta:
            app_label = "bench_peer"

        def __str__(self) -> str:
            return self.code

    return Thing


def items_with_history(items: int) -> Work:
    """Items that change hands, so many a transaction, kept by django-simple-history: unsigned, and no rules."""
    thing = _history_model()
    with connection.schema_editor() as editor:
        editor.create_model(thing)
        editor.create_model(thing.history.model)
    things = thing.objects.bulk_create(
        thing(code=f"I{each:05}", holder="nobody", since=0) for each in range(10 * items)
    )
    turns = count()

    def work() -> int:
        turn = next(turns)
        with transaction.atomic():
            for each in things[turn % 10 * items :][:items]:
                each.holder, each.since = f"H{turn}", turn
                each.save()
        return items

    return work
