"""`outstanding`: what is not back yet, who has it, and which number to ring."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Sequence
from typing import Any

from custody import clock
from custody.domain.instants import dump_instant
from custody.management.command import table_of
from custody.management.log_command import LogCommand, instant, party_words
from custody.queries.moments import present
from custody.queries.outstanding import OutstandingItem, list_outstanding


class Command(LogCommand):
    help = (
        "Lists the items that polling places owe and that are not back yet, with their holders and the phone to ring."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        self.add_filters(parser)
        parser.add_argument("--now", type=instant, metavar="T", help="as of that time instead of the present")

    def handle(self, *args: Any, **options: Any) -> None:
        log = self.log(options)
        now = present(log, clock.now()) if options["now"] is None else options["now"]
        filters = {name: options[name] for name in ("election", "site")}
        with self.counter("working out the past", log.size) as advance:
            listed = list_outstanding(log, now=now, **filters, advance=advance)
        self.check_filters(log, options, found=bool(listed))
        if options["format"] == "json":
            self.write_json([each.as_json() for each in listed])
        else:
            self._write_table(listed, now)

    def _write_table(self, listed: Sequence[OutstandingItem], now: int) -> None:
        if listed:
            table = table_of("place", "item", "with", "ring", "overdue")
            for each in listed:
                table.add_row(
                    each.site,
                    f"{each.item}\n{each.kind}" + (f"\nin {each.container}" if each.container else ""),
                    f"{party_words(each.holder)}\nsince {dump_instant(each.since)}",
                    each.phone or "",
                    "yes" if each.overdue else "",
                )
            self.console().print(table)
        count = "1 item" if len(listed) == 1 else f"{len(listed)} items"
        self.stdout.write(f"{count} not back yet as of {dump_instant(now)}")
