"""`token`: makes an access token for a program, and shows it once."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from custody.management.command import require_database
from custody.management.log_command import LogCommand, say_errors
from custody.models.access import Token
from custody.queries.logs import find_jurisdiction
from custody.services.make_token import make_token
from custody.services.open_log import open_log_for_entries


class Command(LogCommand):
    help = (
        "Makes an access token for a program, sent as `Authorization: Bearer TOKEN`. It acts for a user, on one log, and either"
        " records or reads. It is printed once: only its hash is kept."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("user", metavar="USER", help="the user name in whose name the program acts")
        parser.add_argument("--scope", required=True, choices=Token.Scope.values, help="what it may do")

    def handle(self, *args: Any, **options: Any) -> None:
        require_database()
        with say_errors():
            log = open_log_for_entries(find_jurisdiction(options["jurisdiction"]), options["rehearsal"] or "")
            token = make_token(options["user"], options["scope"], log)
        if options["format"] == "json":
            self.write_json({"token": token, "user": options["user"], "scope": options["scope"], "log": log.path})
        else:
            self.stdout.write(token)
            self.stderr.write(
                f"For {options['user']}, scope {options['scope']}, log {log.path}. It is not shown again."
            )
