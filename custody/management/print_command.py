"""What commands that print have in common: the paper, and where the PDF goes."""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.utils.translation import override

from custody.management.command import USE_AT_FAULT, require_database
from custody.management.log_command import LogCommand, say_errors
from custody.paper.sheets import SIZES
from custody.queries.logs import find_jurisdiction
from custody.queries.shown import Shown, get_shown


class PrintCommand(LogCommand):
    """A command that gives a PDF."""

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--site", metavar="S", help="only of this place")
        parser.add_argument("--paper", choices=sorted(SIZES), default="a4", help="the sheets (default a4)")
        languages = [code for code, _ in settings.LANGUAGES]
        parser.add_argument(
            "--language", choices=languages, default=languages[0], help="of what is printed (default en)"
        )
        parser.add_argument("--out", required=True, metavar="FILE", help="where the PDF goes; - for standard output")

    def execute(self, *args: Any, **options: Any) -> str | None:
        with override(options["language"]):
            return super().execute(*args, **options)

    def shown(self, options: Mapping[str, Any]) -> Shown:
        """The jurisdiction and the log that is meant, which may be empty still."""
        require_database()
        with say_errors():
            code = find_jurisdiction(options["jurisdiction"])
            return get_shown(code, options["rehearsal"] or None)

    def write_pdf(self, document: bytes, count: int, what: str, options: Mapping[str, Any]) -> None:
        """Write it, and say how much it is."""
        if not count:
            raise CommandError(f"There are no {what} to print.", returncode=USE_AT_FAULT)
        if options["out"] == "-":
            sys.stdout.buffer.write(document)
            sys.stdout.flush()
            return
        try:
            Path(options["out"]).write_bytes(document)
        except OSError as error:
            raise CommandError(f"The file cannot be written: {error}", returncode=USE_AT_FAULT) from None
        if options["format"] == "json":
            self.write_json({"file": options["out"], what.replace(" ", "_"): count})
        else:
            self.stderr.write(f"{count} {what} in {options['out']}")
