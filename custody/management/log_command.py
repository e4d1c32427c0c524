"""What commands about a log have in common: which log, which moment, and progress that counts."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from io import TextIOWrapper
from typing import Any, TextIO, cast

from django.core.management.base import CommandError
from rich.console import Console
from rich.progress import Progress

from custody import store
from custody.domain.instants import dump_instant, parse_instant
from custody.errors import CustodyError
from custody.management.command import USE_AT_FAULT, CustodyCommand, require_database
from custody.queries.logs import find_log
from custody.queries.outstanding import Holder
from custody.registers import get_register


class LogCommand(CustodyCommand):
    """A command on the only jurisdiction's log in earnest, or on another that is named."""

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--jurisdiction", metavar="CODE", help="which jurisdiction, where there are several")
        parser.add_argument("--rehearsal", metavar="NAME", help="that rehearsal instead of the log in earnest")

    def log(self, options: Mapping[str, Any]) -> store.LogHead:
        """The log that is meant. Raises `CommandError` in one line."""
        require_database()
        with say_errors():
            log = find_log(options["jurisdiction"], options["rehearsal"])
        if not log.size:
            self.stderr.write(f"Nothing is on record in {log.path} yet.")  # no findings there is no good news
        return log

    def add_filters(self, parser: ArgumentParser) -> None:
        """The options by which lists are narrowed."""
        parser.add_argument("--election", metavar="E", help="only of this election")
        parser.add_argument("--site", metavar="S", help="only of this place")

    def check_filters(self, log: store.LogHead, options: Mapping[str, Any], *, found: bool) -> None:
        """Say when an empty list comes of a code that nobody knows: it must not pass for good news."""
        register = get_register(log.jurisdiction)
        for name, known in (("election", register.elections), ("site", register.sites)):
            code = options[name]
            if not found and code is not None and code not in known:
                raise CommandError(f"The register has no {name} {code}.", returncode=USE_AT_FAULT)

    @contextmanager
    def counter(self, what: str, total: int | None) -> Iterator[Callable[[int], None]]:
        """Inside, what is done is counted on a terminal; elsewhere nothing is shown."""
        console = Console(file=cast(TextIO, self.stderr._out))
        if not console.is_terminal:
            yield lambda count: None
            return
        with Progress(console=console, transient=True) as progress:
            task = progress.add_task(what, total=total)
            yield lambda count: progress.advance(task, count)


@contextmanager
def say_errors() -> Iterator[None]:
    """Inside, what cannot be done is said in one line."""
    try:
        yield
    except CustodyError as error:
        raise CommandError(error.detail, returncode=USE_AT_FAULT) from None


def party_words(party: Holder | None) -> str:
    """A party in a table's cell."""
    if party is None:
        return "nobody on record"
    at = f" at {party.site}" if party.site else ""
    return f"{', '.join(party.people)} ({party.role}{at})"


def entry_words(kind: str, at: int, site: str | None, entry: str) -> str:
    """An entry in a table's cell."""
    return f"{dump_instant(at)} {kind}\n{f'at {site}' if site else 'on the road'}\n{entry}"


def instant(text: str) -> int:
    """A time on the command line, as `type` of an argument."""
    try:
        return parse_instant(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is not a time such as 2026-11-04T03:14:09Z") from None


def open_input(name: str) -> TextIO:
    """A file of lines in UTF-8, `-` for standard input. Bytes that are none are kept for whoever reads the line.

    Raises `CommandError`.
    """
    # Whatever the surroundings say of encodings; and a line ends where JSON lines end, not at a carriage return.
    if name == "-":
        if isinstance(sys.stdin, TextIOWrapper):
            sys.stdin.reconfigure(encoding="utf-8", errors="surrogateescape", newline="\n")
        return sys.stdin
    try:
        return open(name, encoding="utf-8", errors="surrogateescape", newline="\n")
    except OSError as error:
        raise CommandError(f"The file cannot be read: {error}", returncode=USE_AT_FAULT) from None
