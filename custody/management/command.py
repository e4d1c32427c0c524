"""What every command has in common: results on stdout, messages on stderr, `--format`, and what the exit code says.

0: done. 1: something is wrong with the data. 2: the command was not used as it must be.
"""

from __future__ import annotations

import json
import os
import re
import sys
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TextIO, cast

from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError, connection
from rich.console import Console
from rich.table import Table

DATA_AT_FAULT = 1
USE_AT_FAULT = 2
# As shells tell them: 128 and the number of the signal.
INTERRUPTED, READER_GONE = 130, 141

FILE_WIDTH = 160
"""Columns of a table that goes to a file or another program."""


class CustodyCommand(BaseCommand):
    """A command of this application. `add_arguments` of a subclass begins with that of this class."""

    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--format", choices=("table", "json"), default="table", help="a table for reading, or one JSON document"
        )

    def run_from_argv(self, argv: list[str]) -> None:
        """The same, and an end that is nobody's fault is told in a line, or not at all."""
        try:
            super().run_from_argv(argv)
        except KeyboardInterrupt:
            self.stderr.write("Stopped.")
            sys.exit(INTERRUPTED)
        except BrokenPipeError:  # `| head` has seen enough; Python would complain once more on leaving
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            sys.exit(READER_GONE)

    def write_json(self, document: Any) -> None:
        self.stdout.write(json.dumps(document, ensure_ascii=False, indent=2))

    def console(self) -> Console:
        """A console on stdout, for tables: as wide as the terminal; wide enough for most rows where there is none."""
        file = cast(TextIO, self.stdout._out)
        narrow = file.isatty() or "COLUMNS" in os.environ
        return Console(file=file, highlight=False, markup=False, width=None if narrow else FILE_WIDTH)

    @contextmanager
    def progress(self) -> Iterator[Callable[[str], None]]:
        """Inside, what is told is shown on a terminal while it lasts; elsewhere nothing is shown."""
        console = Console(file=cast(TextIO, self.stderr._out))
        if not console.is_terminal:
            yield lambda step: None
            return
        with console.status("") as status:
            yield lambda step: status.update(f"{step} …")


def table_of(*columns: str) -> Table:
    """A table whose cells are folded where they are too long, so that no code is cut short."""
    table = Table()
    for column in columns:
        table.add_column(column, overflow="fold")
    return table


def host_name(text: str) -> str:
    """A host on the command line, by name or IPv4 address, in small letters; as `type` of an argument."""
    label = r"[a-z\d]([a-z\d-]{0,61}[a-z\d])?"
    if not re.fullmatch(rf"{label}(\.{label})*", text.lower()) or len(text) > 253:
        raise ArgumentTypeError(f"{text!r} is not an address such as 192.168.1.20, or a name")
    return text.lower()


def require_database() -> None:
    """Say in one line that the database does not answer, or was never prepared. Raises `CommandError`."""
    try:
        tables = connection.introspection.table_names()
    except OperationalError as error:
        reason = " ".join(str(error).split())
        raise CommandError(f"The database cannot be reached: {reason}", returncode=USE_AT_FAULT) from None
    if "custody_log" not in tables:
        raise CommandError(
            "The database has no tables yet. Run “python manage.py migrate” first.", returncode=USE_AT_FAULT
        )
