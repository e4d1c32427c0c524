"""`record`: appends signed envelopes from JSON lines."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from collections.abc import Iterator
from typing import Any

from django.core.management.base import CommandError

from custody import clock, store
from custody.domain.instants import parse_instant
from custody.errors import CustodyError, Refused
from custody.management.command import DATA_AT_FAULT, USE_AT_FAULT, require_database
from custody.management.log_command import LogCommand, open_input
from custody.queries.logs import find_jurisdiction
from custody.services.open_log import open_log_for_entries
from custody.services.record import Arrival, record_entries

BATCH = 100
"""Lines a transaction: what is acknowledged is on record, and a later fault takes none of it back."""

SPAN = 1_800
"""Seconds between the first and the last receipt of a replayed transaction: hours at once would be judged as one moment."""

Line = tuple[int, Arrival | Refused]


class Command(LogCommand):
    help = (
        "Appends signed envelopes from a file of JSON lines to the log. Recording the same again is harmless. A line that"
        " is refused is told with its number and the reason, and holds back no other."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("file", metavar="FILE", help="one envelope a line; - for standard input")
        parser.add_argument(
            "--replay",
            action="store_true",
            help='each line is {"received": …, "envelope": …}; for rehearsals only',
        )

    def handle(self, *args: Any, **options: Any) -> None:
        require_database()
        if options["replay"] and options["rehearsal"] is None:
            detail = "Only a rehearsal takes times of receipt from outside: name one with --rehearsal."
            raise CommandError(detail, returncode=USE_AT_FAULT)
        try:
            log = _log(options["jurisdiction"], options["rehearsal"])
        except CustodyError as error:
            raise CommandError(error.detail, returncode=USE_AT_FAULT) from None
        counts = {"recorded": 0, "known": 0, "refused": 0}
        refused: list[dict[str, Any]] = []
        with open_input(options["file"]) as file, self.counter("recording", None) as advance:
            lines = _lines(file, replay=options["replay"])
            for batch in _batches(lines):
                self._record(log, batch, counts, refused)
                advance(len(batch))
        if options["format"] == "json":
            self.write_json({"log": log.path, **counts, "refusals": refused})
        else:
            self.stdout.write(
                f"{log.path}: {counts['recorded']} recorded, {counts['known']} known, {counts['refused']} refused"
            )
        if refused:
            raise CommandError(f"Refused: {len(refused)}. Everything else is on record.", returncode=DATA_AT_FAULT)

    def _record(
        self, log: store.LogHead, batch: list[Line], counts: dict[str, int], refused: list[dict[str, Any]]
    ) -> None:
        arrivals = [(number, each) for number, each in batch if isinstance(each, Arrival)]
        answers = dict(
            zip((number for number, _ in arrivals), record_entries(log, [each for _, each in arrivals]), strict=True)
        )
        for number, each in batch:
            answer = each if isinstance(each, Refused) else answers[number]
            if isinstance(answer, Refused):
                counts["refused"] += 1
                refused.append({"line": number, "code": answer.code, "detail": answer.detail})
                self.stderr.write(f"line {number}: {answer.code}: {answer.detail}")
            else:
                counts["recorded" if answer.new else "known"] += 1


def _log(jurisdiction: str | None, rehearsal: str | None) -> store.LogHead:
    """The log, made at first use."""
    return open_log_for_entries(find_jurisdiction(jurisdiction), rehearsal or "")


def _batches(lines: Iterator[Line]) -> Iterator[list[Line]]:
    """Lines in their order, as many as go into one transaction."""
    batch: list[Line] = []
    began = None
    for number, each in lines:
        received = each.received if isinstance(each, Arrival) else began
        if batch and (len(batch) == BATCH or (began is not None and received is not None and received - began > SPAN)):
            yield batch
            batch, began = [], None
        batch.append((number, each))
        began = received if began is None else began
    if batch:
        yield batch


def _lines(file: Iterator[str], *, replay: bool) -> Iterator[Line]:
    """Numbered from 1; empty lines are passed over. What cannot be read is refused by its line."""
    for number, text in enumerate(file, start=1):
        if text.strip():
            yield number, _parse(text, replay=replay)


def _parse(text: str, *, replay: bool) -> Arrival | Refused:
    try:
        value = json.loads(text, object_pairs_hook=_members)
    except json.JSONDecodeError as error:
        return Refused("not-envelope", f"The line is not JSON, or not whole: {error.msg}, at character {error.colno}.")
    except RecursionError:
        return Refused("not-envelope", "The line is not an envelope: brackets in brackets without end.")
    except ValueError as error:
        return Refused("not-envelope", f"The line cannot be read: {error}.")
    if not replay:
        return Arrival(envelope=value, received=clock.now())
    if not isinstance(value, dict) or value.keys() != {"received", "envelope"}:
        return Refused("not-envelope", "A line of a replay has the members received and envelope, and no other.")
    received = value["received"]
    try:
        return Arrival(envelope=value["envelope"], received=parse_instant(received))
    except (ValueError, TypeError):  # no time, or no text
        return Refused("not-envelope", f"Its time of receipt is not one such as 2026-11-04T03:14:09Z: {received!r}.")


def _members(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object whose names are all different: a doubled one would be read in two ways."""
    members = dict(pairs)
    if len(members) != len(pairs):
        raise ValueError("a member stands there twice")
    return members
