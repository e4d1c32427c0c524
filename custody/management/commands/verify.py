"""`verify`: checks every signature, leaf, number, checkpoint and derived row of the logs."""

from __future__ import annotations

from argparse import ArgumentParser
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError
from django.db import connection

from custody import clock
from custody.checks import list_absent_triggers
from custody.errors import Unverified
from custody.ledger.checkpoint import parse_checkpoint
from custody.management.command import DATA_AT_FAULT, USE_AT_FAULT, require_database, table_of
from custody.management.log_command import LogCommand, say_errors
from custody.queries.logs import list_checked_logs
from custody.queries.verify import verify_logs
from custody.queries.verify_lines import Problem
from custody.services.sign_checkpoint import sign_checkpoint

UNGUARDED = "(database)"
"""Stands for the log where a problem is the database's own: a trigger that keeps log rows as they are is absent."""


class Command(LogCommand):
    help = (
        "Checks every signature, leaf hash, sequence number and checkpoint of every log, and every row that was worked out"
        " from them. Names each line or row that is not as it must be. With --jurisdiction, of that one's logs; with"
        " --rehearsal, of that rehearsal and of the register's log that it rests on. Of each log that is well it signs a"
        " checkpoint, to be kept elsewhere."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--checkpoint", type=Path, help="a checkpoint of the log, kept elsewhere: shows whether its end was cut off"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        require_database()
        kept = _read(options["checkpoint"])
        with say_errors():
            checked = list_checked_logs(options["jurisdiction"], options["rehearsal"])
            with self.counter("checking", sum(log.size for log in checked)) as advance:
                problems = verify_logs(checked, checkpoint=kept, advance=advance)
        well = [log for log in checked if log.path not in {problem.log for problem in problems}]
        unguarded = [
            Problem(log=UNGUARDED, code="no-trigger", detail="The database would let log rows be changed.", key=name)
            for name in list_absent_triggers(connection)
        ]
        problems += unguarded
        signed = {} if unguarded else {log.path: sign_checkpoint(log, now=clock.now()) for log in well if log.size}
        if options["format"] == "json":
            logs = [{"log": log.path, "size": log.size, "checkpoint": signed.get(log.path)} for log in checked]
            self.write_json({"ok": not problems, "logs": logs, "problems": [asdict(each) for each in problems]})
        else:
            self._write_table(problems, {log.path: log.size for log in checked})
            for note in signed.values():
                self.stdout.write(f"\nA checkpoint, to be kept elsewhere:\n\n{note}")
        if problems:
            raise CommandError(f"Not as it must be: {len(problems)}.", returncode=DATA_AT_FAULT)

    def _write_table(self, problems: list[Problem], sizes: dict[str, int]) -> None:
        for path, size in sizes.items():
            found = sum(problem.log == path for problem in problems)
            self.stdout.write(f"{path}: {size} lines, {'all is well' if not found else f'{found} not as they must be'}")
        if not problems:
            return
        table = table_of("log", "where", "what", "in words")
        for problem in problems:
            row = " ".join(part for part in (problem.table, problem.key) if part)
            where = f"line {problem.seq}" if problem.seq is not None else row
            table.add_row(problem.log, where, problem.code, problem.detail)
        self.console().print(table)


def _read(path: Path | None) -> str | None:
    """The text of a checkpoint. Raises `CommandError` for a file that is none."""
    if path is None:
        return None
    try:
        # Copied from a terminal, a note has lost its last line end, or won some.
        text = path.read_text(encoding="utf-8").strip() + "\n"
        parse_checkpoint(text)
    except (OSError, UnicodeDecodeError) as error:
        raise CommandError(f"The checkpoint cannot be read: {error}", returncode=USE_AT_FAULT) from None
    except Unverified as error:
        raise CommandError(f"{path} is no checkpoint: {error.detail}", returncode=USE_AT_FAULT) from None
    return text
