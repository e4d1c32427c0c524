"""`findings`: what the record shows that is not as it should be."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Sequence
from typing import Any

from custody import clock
from custody.domain.instants import dump_instant
from custody.domain.rules import RULE_CODES
from custody.management.command import table_of
from custody.management.log_command import LogCommand, instant
from custody.queries.findings import ListedFinding, list_findings
from custody.queries.moments import present


class Command(LogCommand):
    help = (
        "Lists the findings that are open, critical ones first; with --all, also those that were resolved, cleared or"
        " withdrawn. A finding that most likely waits for a phone without a network is marked as waiting."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        self.add_filters(parser)
        parser.add_argument("--rule", metavar="R", choices=RULE_CODES, help="only of this rule, by its code")
        parser.add_argument("--now", type=instant, metavar="T", help="as of that time instead of the present")
        parser.add_argument("--all", action="store_true", dest="everything", help="those that are not open, too")

    def handle(self, *args: Any, **options: Any) -> None:
        log = self.log(options)
        now = present(log, clock.now()) if options["now"] is None else options["now"]
        filters = {name: options[name] for name in ("election", "site", "rule", "everything")}
        with self.counter("working out the past", log.size) as advance:
            listed = list_findings(log, now=now, **filters, advance=advance)
        self.check_filters(log, options, found=bool(listed))
        if options["format"] == "json":
            self.write_json([each.as_json() for each in listed])
        else:
            self._write_table(listed, now)

    def _write_table(self, listed: Sequence[ListedFinding], now: int) -> None:
        if listed:
            table = table_of("when, where", "what", "in words")
            for each in listed:
                finding = each.finding
                table.add_row(
                    f"{dump_instant(finding.at)}\n{finding.site or 'on the road'}",
                    f"{finding.rule}\n{finding.severity.value}, {_status(each)}",
                    f"{each.message}\n{each.next}\n{finding.key}",
                )
            self.console().print(table)
        count = "1 finding" if len(listed) == 1 else f"{len(listed)} findings"
        self.stdout.write(f"{count} as of {dump_instant(now)}")


def _status(each: ListedFinding) -> str:
    settled = each.settled
    words: list[str] = [settled.status]
    if each.waiting:
        words.append("waiting for the place's phone")
    if settled.referred:
        words.append(f"referred by {settled.referred.entry}")
    if settled.by:
        words.append(f"by {settled.by.entry}")
    return ", ".join(words)
