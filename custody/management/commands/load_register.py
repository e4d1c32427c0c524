"""`load_register`: master data from a folder of CSV files."""

from __future__ import annotations

from argparse import ArgumentParser
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from custody import clock
from custody.errors import CustodyError
from custody.management.command import DATA_AT_FAULT, USE_AT_FAULT, CustodyCommand, require_database, table_of
from custody.services.load_register import LoadReport, load_register

USER = "command-line"
"""Who changed the register, as its log says: whoever may run commands on the server."""


class Command(CustodyCommand):
    help = (
        "Loads jurisdictions, elections, sites, people, keys, items, assignments, seal lots and kits from the CSV files"
        " of a folder. All or nothing: when a row is bad, every bad row is listed and nothing is written."
        " Loading the same files again changes nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("folder", type=Path, help="the folder with the CSV files; any of the nine may be absent")
        parser.add_argument("--dry-run", action="store_true", help="check the files and say what would change")

    def handle(self, *args: Any, **options: Any) -> None:
        require_database()
        try:
            with self.progress() as tell:
                report = load_register(
                    options["folder"], user=USER, now=clock.now(), dry_run=options["dry_run"], tell=tell
                )
        except CustodyError as error:
            raise CommandError(error.detail, returncode=USE_AT_FAULT) from None
        if options["format"] == "json":
            self.write_json(asdict(report))
        else:
            self._write_table(report)
        if report.problems:
            count = len(report.problems)
            what = "1 problem" if count == 1 else f"{count} problems"
            raise CommandError(f"Nothing was written: {what} to put right.", returncode=DATA_AT_FAULT)
        if report.dry_run:
            self.stderr.write("Nothing was written: this was a dry run.")

    def _write_table(self, report: LoadReport) -> None:
        for problem in report.problems:
            self.stdout.write(str(problem))
        if report.problems:
            return
        table = table_of("table", "new", "changed", "unchanged", "withdrawn")
        for row in report.tables:
            table.add_row(row.table, str(row.new), str(row.changed), str(row.unchanged), str(row.withdrawn))
        self.console().print(table)
        for issued in report.issued:
            self.stdout.write(f"items.csv:{issued.line}: the item has the code {issued.code}")
