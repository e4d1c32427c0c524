"""What appending costs against a bare row a transaction, in one run: `python -m tests.benchmarks.bench_store`.

On SQLite in a folder that is thrown away; on a PostgreSQL of one's own with CUSTODY_DATABASE_URL set, where it leaves a
rehearsal behind. Prints; judges nothing.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from time import perf_counter, time
from uuid import uuid4

import django
from django.core.management import call_command
from django.db import connection, transaction

SECONDS = 3


def rate(work: Callable[[], int]) -> float:
    """Rows a second: `work` does some and says how many."""
    start, done = perf_counter(), 0
    while perf_counter() - start < SECONDS:
        done += work()
    return done / (perf_counter() - start)


def main() -> None:
    from custody import store
    from custody.models.log import LogKind

    call_command("migrate", verbosity=0)
    log = store.make_log("BENCH", f"run-{int(time())}", LogKind.REHEARSAL)
    content = {"envelope": {"payload": "A" * 900, "signatures": [{"keyid": "a" * 64, "sig": "b" * 88}] * 2}}

    def append(batch: int) -> int:
        lines = [store.NewLine(received=0, entry_id=str(uuid4()), content=content) for _ in range(batch)]
        with transaction.atomic():
            store.append(store.lock_head(log), lines)
        return batch

    def bare() -> int:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("INSERT INTO bench_row (body) VALUES (%s)", ("A" * 1200,))
        return 1

    with connection.cursor() as cursor:
        cursor.execute("DROP TABLE IF EXISTS bench_row")
        cursor.execute("CREATE TABLE bench_row (body text NOT NULL)")
    limit = rate(bare)
    print(f"{connection.vendor}: a bare row a transaction   {limit:8,.0f} /s")
    for batch in (1, 10, 100, 1000):
        found = rate(lambda batch=batch: append(batch))  # type: ignore[misc]
        print(f"append, {batch:4} a transaction        {found:8,.0f} /s   {found / limit:.2f} x the bare row")
    size = store.open_log(log.jurisdiction, log.name).size
    proofs = rate(lambda: len([store.inclusion_proof(log, size * part // 50, size) for part in range(50)]))
    print(f"inclusion proof, {size} lines      {proofs:8,.0f} /s")
    print(f"lines read in order             {rate(lambda: sum(1 for _ in store.read_lines(log, 0, 20_000))):8,.0f} /s")
    with connection.cursor() as cursor:
        cursor.execute("DROP TABLE bench_row")


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "custody.settings")
    with tempfile.TemporaryDirectory() as folder:
        os.environ["CUSTODY_DATA"] = folder
        django.setup()
        main()
