"""What the whole of it costs, as ratios taken in one run: `python -m tests.benchmarks.bench_custody`.

A log of an election is recorded, and in the middle of the night measured. Every figure stands beside a limit of the machine
or a peer that was measured in the same minutes, since an absolute figure does not travel. It judges nothing.

`--entries` sets the size of the log (100,000), `--engine` the database: an SQLite file, or a PostgreSQL server of the run's
own, both durable. `--profile` shows where the time of recording and of working out goes.
"""

from __future__ import annotations

import argparse
import cProfile
import os
import pstats
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from statistics import median
from time import perf_counter
from typing import Any

import django
from django.conf import settings

from tests.benchmarks.database import new_database, parse_options

ROUNDS = 6
CORES = len(os.sched_getaffinity(0))
ROW = "{:44}{:>12}   {:46}{:>12}{:>9}   {}"


class Run:
    """One run: a season of deeds, and the figures as they are taken."""

    def __init__(self, options: argparse.Namespace) -> None:
        from django.db import transaction

        from custody import store
        from custody.models.log import LogKind
        from tests.benchmarks.bench_world import make_season
        from tests.worlds_on_record import put_register

        size = options.entries
        self.profiled: bool = options.profile
        self.singly, self.batched, self.handed = min(600, size // 20), min(3_000, size // 6), min(300, size // 20)
        with self.stage("a world of deeds"):
            self.season = make_season(entries=size, night=self.singly + self.batched, handoffs=self.handed)
        with self.stage("its register on record"), transaction.atomic():
            put_register(self.season.world)
        self.log = store.make_log("ALDER", "main", LogKind.MAIN)
        self.figures: list[tuple[str, ...]] = []

    @contextmanager
    def stage(self, name: str) -> Iterator[None]:
        """A part of the run, its seconds told on stderr; under `--profile` with what took them."""
        start, profile = perf_counter(), cProfile.Profile()
        if self.profiled:
            profile.enable()
        yield
        if self.profiled:
            profile.disable()
            pstats.Stats(profile, stream=sys.stderr).sort_stats("tottime").print_stats(25)
        print(f"{perf_counter() - start:8.1f} s  {name}", file=sys.stderr, flush=True)

    def figure(self, name: str, found: float, beside: str, limit: float, target: str = "") -> None:
        """A rate and the one beside it."""
        self.figures.append((name, f"{found:,.0f} /s", beside, f"{limit:,.0f} /s", f"{found / limit:.3f}", target))

    def duration(self, name: str, found: float, beside: str, limit: float, target: str = "") -> None:
        """A time and the one beside it."""
        self.figures.append((name, _time(found), beside, _time(limit), f"{found / limit:.2f}", target))

    def put(self, deeds: Sequence[Any], batch: int) -> float:
        """Record deeds, so many a transaction; entries a second, the making of their envelopes not counted."""
        from custody.services.record import Arrival, Receipt, record_entries

        arrivals = [Arrival(envelope=deed.envelope(), received=deed.received) for deed in deeds]
        start = perf_counter()
        for at in range(0, len(arrivals), batch):
            answers = record_entries(self.log, arrivals[at : at + batch])
            assert all(isinstance(each, Receipt) for each in answers), answers
        return len(arrivals) / (perf_counter() - start)

    def put_all(self, deeds: Sequence[Any]) -> None:
        for at in range(0, len(deeds), 5_000):  # envelopes are some kilobytes each: not all of them at once
            self.put(deeds[at : at + 5_000], 1_000)


def _time(seconds: float) -> str:
    return f"{seconds:.2f} s" if seconds >= 0.5 else f"{seconds * 1000:.2f} ms"


def measure_recording(run: Run) -> None:
    """The write path: one entry a transaction, a hundred, and handoffs of twelve items."""
    from tests.benchmarks import peers
    from tests.benchmarks.bench_world import ITEMS_A_HANDOFF

    with run.stage(f"{len(run.season.before)} entries before the night"):
        run.put_all(run.season.before)
    peers.make_tables()
    beside = {
        "a bare row a transaction": peers.bare_rows(1),
        "bare rows, 1,000 a transaction": peers.bare_rows(1_000),
        "the tables alone, by hand, one a transaction": peers.by_hand(1),
        "the tables alone, by hand, 100 a transaction": peers.by_hand(100),
        "items with simple history": peers.items_with_history(ITEMS_A_HANDOFF),
    }
    found: list[list[float]] = []
    with run.stage(f"{run.handed} handoffs, {run.singly} entries singly, {run.batched} in batches of 100"):
        for turn in range(ROUNDS):  # in turns, so that what else the machine does meets all alike
            limits = [peers.rate(work) for work in beside.values()]
            peers.settle()
            part, alone = _part(run.season.night, turn), run.singly // ROUNDS
            handed = run.put(_part(run.season.handoffs, turn), 1)
            found.append([*limits, handed, run.put(part[:alone], 1), run.put(part[alone:], 100)])
    with run.stage(f"{len(run.season.after)} entries after the night"):
        run.put_all(run.season.after)
    *limits, handed, singly, batched = map(median, zip(*found, strict=True))
    bare, bare_thousand, by_hand, by_hand_batch, history = zip(beside, limits, strict=True)
    run.figure("entries singly", singly, *bare)
    run.figure("", singly, *by_hand)
    run.figure("entries in batches of 100", batched, *bare_thousand)
    run.figure("", batched, *by_hand_batch)
    run.figure(f"items handed over, {ITEMS_A_HANDOFF} a handoff", handed * ITEMS_A_HANDOFF, *history, ">= 3")


def _part(deeds: Sequence[Any], turn: int) -> Sequence[Any]:
    return deeds[turn * len(deeds) // ROUNDS : (turn + 1) * len(deeds) // ROUNDS]


def measure_reading(run: Run) -> None:
    """The whole log: `verify`, of which signatures, leaves and root are what derived tables do not take; and `rebuild`."""
    from django.db import transaction

    from custody import store
    from custody.projections.apply import derive_log, rebuild
    from custody.projections.compare import list_differences
    from custody.queries.verify import verify_log
    from custody.registers import get_register

    register, head = get_register("ALDER"), store.open_log("ALDER", "main")
    signatures = sum(len(deed.signers) for deed in run.season.recorded())
    with run.stage("verify"):
        start = perf_counter()
        problems = verify_log(head)
        verify = perf_counter() - start
    assert not problems, problems[:3]
    with run.stage("the whole log worked out in memory"):
        start = perf_counter()
        book = derive_log(head, register)
        derived = perf_counter() - start
    print(f"{sum(map(len, book.findings.values())):8} findings", file=sys.stderr)
    with run.stage("tables compared with it"):
        start = perf_counter()
        differences = list_differences(head, book)
        compared = perf_counter() - start
    assert not differences, differences[:3]
    del book
    with run.stage("rebuild"), transaction.atomic():
        rebuilt = _seconds(lambda: rebuild(head, register))
    ideal = signatures / (_signature_rate() * CORES)
    proofs = verify - derived - compared
    run.duration(f"verify {head.size} lines, {CORES} cores", verify, f"{signatures} signatures alone", ideal)
    run.duration("its signatures, leaves and root", proofs, f"{signatures} signatures alone", ideal, "<= 1.25")
    run.duration("findings of the whole log", derived, "signatures, leaves and root", proofs, "<= 0.5")
    run.duration("rebuild", rebuilt, "findings of the whole log, in memory", derived)


def _signature_rate() -> float:
    """Signatures a second that one core verifies through the library itself, over payloads of the log's size."""
    from custody.ledger import signing
    from tests.benchmarks.peers import rate
    from tests.world_register import signer_of

    signer, payload = signer_of("CLERK-1"), b"a" * 900
    signature = signer.sign(payload)
    if signing.LIBRARY == "libsodium":
        from nacl.bindings import crypto_sign_open

        signed = signature + payload
        return rate(lambda: len([crypto_sign_open(signed, signer.public_key) for _ in range(100)]))
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    key = Ed25519PublicKey.from_public_bytes(signer.public_key)
    return rate(lambda: len([key.verify(signature, payload) for _ in range(100)]))


def measure_history(run: Run) -> None:
    """One item's history as a page gets it, against the rows of it by their index."""
    from django.db import connection

    from custody.domain.views import item_key
    from custody.queries.history import get_history

    world = run.season.world
    codes = [world.kits[place].containers[0] for place in world.places[:200]]
    raw = (
        "SELECT version.time, version.entry_id, version.state, onrecord.seq, onrecord.kind, onrecord.at, onrecord.site"
        " FROM custody_version version JOIN custody_onrecord onrecord"
        " ON onrecord.log_id = version.log_id AND onrecord.entry_id = version.entry_id"
        " WHERE version.log_id = %s AND version.key = %s ORDER BY version.time, version.entry_id"
    )

    def bare(code: str) -> None:
        with connection.cursor() as cursor:
            cursor.execute(raw, [run.log.id, item_key(code)])
            assert cursor.fetchall()

    with run.stage("history of one item"):
        found = [_seconds(partial(get_history, run.log, code)) for code in codes]
        limit = [_seconds(partial(bare, code)) for code in codes]
    run.duration("history of one item", median(found), "its rows by their index", median(limit), "<= 5")


def _seconds(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start


def main(options: argparse.Namespace) -> None:
    from django.core.management import call_command

    start = perf_counter()
    call_command("migrate", verbosity=0)
    run = Run(options)
    measure_recording(run)
    measure_reading(run)
    measure_history(run)
    print(f"{options.engine}, {CORES} cores, a log of {options.entries} entries; {perf_counter() - start:.0f} s in all")
    print(ROW.format("figure", "found", "beside it", "that", "ratio", "target"))
    for figure in run.figures:
        print(ROW.format(*figure).rstrip())


if __name__ == "__main__":
    chosen = parse_options(__doc__, "--entries", 100_000)
    with new_database(chosen.engine):
        settings.INSTALLED_APPS += ["tests.benchmarks.peers.BenchPeer"]
        django.setup()
        main(chosen)
