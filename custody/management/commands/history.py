"""`history`: the custody of one item, from its first entry to the last, or as of a moment."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from custody.domain.instants import dump_instant
from custody.management.command import table_of
from custody.management.log_command import LogCommand, entry_words, instant, party_words, say_errors
from custody.queries.history import History, Standing, get_history


class Command(LogCommand):
    help = (
        "Shows the custody, containers and seals of an item in order; with --as-of, up to that time, and who held it then,"
        " where, in what and under which seals."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("item", metavar="ITEM", help="its code, read forgivingly, or its asset tag")
        parser.add_argument("--as-of", type=instant, metavar="T", help="as of that time instead of all on record")

    def handle(self, *args: Any, **options: Any) -> None:
        log = self.log(options)
        with say_errors(), self.counter("working out the past", log.size) as advance:
            history = get_history(log, options["item"], as_of=options["as_of"], advance=advance)
        if options["format"] == "json":
            self.write_json(history.as_json())
        else:
            self._write_table(history, options["as_of"])

    def _write_table(self, history: History, as_of: int | None) -> None:
        if history.events:
            table = table_of("line", "entry", "held by", "in", "seals")
            for event in history.events:
                table.add_row(
                    str(event.seq),
                    entry_words(event.kind, event.at, event.site, event.entry),
                    party_words(event.after.holder),
                    event.after.container or "",
                    _seals(event.after),
                )
            self.console().print(table)
        now = history.now
        self.stdout.write(f"{history.item} ({history.kind or 'not on the register'})")
        self.stdout.write(f"as of:   {dump_instant(as_of)}" if as_of is not None else "as of:   the last entry")
        self.stdout.write(f"held by: {party_words(now.holder)}")
        self.stdout.write(f"place:   {now.site or 'on the road'}")
        self.stdout.write(f"in:      {now.container or 'nothing'}")
        self.stdout.write(f"seals:   {_seals(now) or 'none'}")


def _seals(standing: Standing) -> str:
    return ", ".join(f"{point} {number}" for point, number in standing.seals.items())
