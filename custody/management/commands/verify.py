"""`verify`: checks every signature, leaf, number, checkpoint and derived row of the logs."""

from __future__ import annotations

from argparse import ArgumentParser
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError
from rich.table import Table

from custody.management.command import DATA_AT_FAULT, USE_AT_FAULT
from custody.management.log_command import LogCommand
from custody.queries.logs import list_checked_logs
from custody.queries.verify import verify_log
from custody.queries.verify_lines import Problem


class Command(LogCommand):
    help = (
        "Checks every signature, leaf hash, sequence number and checkpoint of a log and of the register's log, and every"
        " row that was worked out from them. Names each line or row that is not as it must be."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--checkpoint", type=Path, help="a checkpoint of the log, kept elsewhere: shows whether its end was cut off"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        log = self.log(options)
        kept = _read(options["checkpoint"])
        checked = list_checked_logs(log)
        problems: list[Problem] = []
        with self.counter("checking", sum(each.size for each in checked)) as advance:
            for each in checked:
                problems += verify_log(each, checkpoint=kept if each.path == log.path else None, advance=advance)
        if options["format"] == "json":
            logs = [{"log": each.path, "size": each.size} for each in checked]
            self.write_json({"ok": not problems, "logs": logs, "problems": [asdict(each) for each in problems]})
        else:
            self._write_table(problems, {each.path: each.size for each in checked})
        if problems:
            raise CommandError(f"Not as it must be: {len(problems)}.", returncode=DATA_AT_FAULT)

    def _write_table(self, problems: list[Problem], sizes: dict[str, int]) -> None:
        for path, size in sizes.items():
            found = sum(problem.log == path for problem in problems)
            self.stdout.write(f"{path}: {size} lines, {'all is well' if not found else f'{found} not as they must be'}")
        if not problems:
            return
        table = Table("log", "where", "what", "in words")
        for problem in problems:
            where = f"line {problem.seq}" if problem.seq is not None else f"{problem.table or ''} {problem.key or ''}"
            table.add_row(problem.log, where.strip(), problem.code, problem.detail)
        self.console().print(table)


def _read(path: Path | None) -> str | None:
    if path is None:
        return None
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise CommandError(f"The checkpoint cannot be read: {error}", returncode=USE_AT_FAULT) from None
