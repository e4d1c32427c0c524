"""`seal_history`: everything about one seal number."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from custody import clock
from custody.management.command import table_of
from custody.management.log_command import LogCommand, entry_words, instant, party_words
from custody.queries.moments import present
from custody.queries.seals import SealEvent, SealHistory, get_seal_history


class Command(LogCommand):
    help = (
        "Shows the lots that a seal number is in, where it was handed over loose, put on, read, taken off or reported"
        " void, and where it is now. A matching number does not prove that nothing was opened."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("number", metavar="NUMBER", help="as its maker printed it")
        parser.add_argument("--now", type=instant, metavar="T", help="as of that time instead of the present")

    def handle(self, *args: Any, **options: Any) -> None:
        log = self.log(options)
        now = present(log, clock.now()) if options["now"] is None else options["now"]
        with self.counter("working out the past", log.size) as advance:
            history = get_seal_history(log, options["number"], now=now, advance=advance)
        if options["format"] == "json":
            self.write_json(history.as_json())
        else:
            self._write_table(history)

    def _write_table(self, history: SealHistory) -> None:
        for lot in history.lots:
            issued = f", issued to {lot.issued_to}" if lot.issued_to else ""
            self.stdout.write(f"in lot {lot.lot} of {lot.maker}, {lot.seals.text}{issued}")
        if not history.lots:
            self.stdout.write(f"{history.number} is in no lot on the register")
        if history.events:
            table = table_of("line", "entry", "what")
            for event in history.events:
                table.add_row(str(event.seq), entry_words(event.kind, event.at, event.site, event.entry), _what(event))
            self.console().print(table)
        for item, point in history.in_place:
            self.stdout.write(f"in place at {item}, {point}")
        if not history.in_place:
            self.stdout.write("in place nowhere")


def _what(event: SealEvent) -> str:
    what = event.what.replace("_", " ")
    if event.item:
        return f"{what}: {event.item}, {event.point}, {event.state}"
    return f"{what} to {party_words(event.holder)}" if event.holder else what
