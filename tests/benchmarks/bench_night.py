"""What the page of the night costs, as ratios taken in one run: `python -m tests.benchmarks.bench_night`.

So many places owe so many items, none of them back. What the page is made of stands beside the rows of the derived table as the
database gives them, read in the same turns. It judges nothing.

`--places` sets the size (5,000, of twelve items each), `--engine` the database. `--profile` shows where the time goes.
"""

from __future__ import annotations

import argparse
import cProfile
import json
import pstats
import sys
from collections.abc import Callable
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING

import django

from tests.benchmarks.database import new_database, parse_options

if TYPE_CHECKING:
    from custody import store
    from tests.world import World

ITEMS = 12
ROUNDS = 15
KINDS = ("memory_device", "ballot_container", "transfer_case", "envelope", "key_set", "pollbook")


def main(options: argparse.Namespace) -> None:
    from django.core.management import call_command
    from django.db import connection, transaction

    from custody import registers, store
    from custody.models.log import LogKind
    from custody.queries.findings import list_latest_findings
    from custody.queries.night import get_night, numbers_to_ring
    from custody.queries.night_curve import get_curves
    from tests.world import World
    from tests.worlds_on_record import put_deeds, put_register

    call_command("migrate", verbosity=0)
    world = World(places=options.places)
    with transaction.atomic():
        put_register(world)
        made = store.make_log("ALDER", "main", LogKind.MAIN)
        world.prepare("P01")
        put_deeds(made, world.log)
        put_owed(world, made)
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
    log, now = store.open_log("ALDER", "main"), world.time("22:00")
    registers.get_register("ALDER")

    def page() -> None:
        night = get_night(log, now=now)
        assert night is not None and len(night.places) == options.places
        assert night.items_out == options.places * ITEMS
        get_curves(log, night)
        list_latest_findings(log, night.election.code, now=now, most=5)
        numbers_to_ring(log, [each.holder for each in night.parties[:60]])

    def raw() -> None:
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT election, site, item, kind, since, container, holder FROM custody_owedrow WHERE log_id = %s",
                [log.id],
            )
            assert len(cursor.fetchall()) == options.places * ITEMS

    profile = cProfile.Profile()
    if options.profile:
        profile.runcall(page)
        pstats.Stats(profile, stream=sys.stderr).sort_stats("tottime").print_stats(20)
    found, beside = [], []
    for _ in range(ROUNDS):  # in turns, so that what else the machine does meets both alike
        found.append(seconds(page))
        beside.append(seconds(raw))
    one, other = median(found), median(beside)
    print(f"{options.engine}, {options.places:,} places, {options.places * ITEMS:,} items out")
    print(f"data of the page {1000 * one:8.1f} ms")
    print(f"the bare rows    {1000 * other:8.1f} ms   ratio {one / other:.2f}   target <= 2")


def put_owed(world: World, log: store.LogHead) -> None:
    """Half of the places have everything with their couriers, half with their chief."""
    from custody.models.derived import OwedRow, PlaceRow
    from tests.world_register import ELECTION

    closed, log_id = world.time("20:00"), log.id
    PlaceRow.objects.filter(log_id=log_id).delete()
    OwedRow.objects.filter(log_id=log_id).delete()
    owed, places = [], []
    for number, site in enumerate(world.places):
        since = closed + 60 * (number % 90)
        role, at = ("courier", None) if number % 2 else ("poll_chief", site)
        crew = [f"DRIVER-1-{site}", f"DRIVER-2-{site}"] if number % 2 else [f"CHIEF-{site}", f"WORKER-1-{site}"]
        held = json.dumps([role, crew, at, [since, f"{number:036d}"], ELECTION])
        places.append(
            PlaceRow(log_id=log_id, election=ELECTION, site=site, closed=closed, last_here=since, deadline=closed)
        )
        owed += [
            OwedRow(
                log_id=log_id,
                election=ELECTION,
                site=site,
                item=f"{number:05d}{each:03d}",
                kind=KINDS[each % len(KINDS)],
                since=since,
                container="",
                holder=held,
            )
            for each in range(ITEMS)
        ]
    PlaceRow.objects.bulk_create(places, batch_size=1_000)
    OwedRow.objects.bulk_create(owed, batch_size=1_000)


def seconds(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start


if __name__ == "__main__":
    chosen = parse_options(__doc__, "--places", 5_000)
    with new_database(chosen.engine):
        django.setup()
        main(chosen)
