"""`rebuild`: works out every derived table afresh from the logs."""

from __future__ import annotations

from typing import Any

from custody import clock
from custody.management.log_command import LogCommand
from custody.services.rebuild import rebuild_log


class Command(LogCommand):
    help = (
        "Empties the tables that are worked out from a log and from the register's log, and makes them again from the"
        " lines alone. The journal of withdrawn findings is kept: it tells what was once on show."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        log = self.log(options)
        began = clock.now()
        with self.counter("working out", log.size) as advance:
            entries = rebuild_log(log, advance)
        seconds = clock.now() - began
        if options["format"] == "json":
            self.write_json({"log": log.path, "entries": entries})
        else:
            self.stdout.write(f"{log.path}: {entries} entries worked out afresh, in about {seconds} s")
