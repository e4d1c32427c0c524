"""One line of a log under scrutiny: its form, its signatures, what it says of itself. Pure work, for several processes at once.

Any bytes may stand in a row that somebody changed underneath: nothing here raises for them, everything is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from custody.domain.instants import dump_instant
from custody.domain.parsing import parse_entry
from custody.errors import CustodyError
from custody.ledger.canonical import parse_canonical
from custody.ledger.envelope import parse_envelope, verify_envelope
from custody.ledger.tiles import MAX_ENTRY_BYTES
from custody.store import StoredLine


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is not as it must be: the log, and the line, or the table and key. `code` is stable."""

    log: str
    code: str
    detail: str
    seq: int | None = None
    table: str | None = None
    key: str | None = None


Fault = tuple[int, str, str]
"""Sequence number, code, detail."""


def check_lines(log: str, lines: Iterable[StoredLine], ring: Mapping[str, bytes]) -> list[Fault]:
    """What is wrong with lines, each by itself. `ring` maps key ids to public keys; `log` is `<jurisdiction>/<name>`."""
    faults: list[Fault] = []
    for line in lines:
        try:
            _check_line(log, line, ring)
        except CustodyError as error:
            faults.append((line.seq, error.code, error.detail))
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            faults.append((line.seq, "bad-line", f"The line cannot be read: {error}."))
    return faults


def _check_line(log: str, line: StoredLine, ring: Mapping[str, bytes]) -> None:
    if len(line.body) > MAX_ENTRY_BYTES:
        raise CustodyError("too-large", "The line is larger than a line of the log may be.")
    content = parse_canonical(line.body)
    if content.get("seq") != line.seq or content.get("received") != dump_instant(line.received):
        raise CustodyError("bad-line", "The number or time of receipt in the line is not that of its row.")
    if log.endswith("/register"):
        if content.keys() != {"seq", "received", "change", "user"} or content["change"].keys() != {"table", "rows"}:
            raise CustodyError("bad-line", "The line is not a change of the register.")
        return
    if content.keys() != {"seq", "received", "envelope"}:
        raise CustodyError("bad-line", "The line does not hold an envelope and no more.")
    envelope = parse_envelope(content["envelope"])
    entry = parse_entry(parse_canonical(envelope.payload))
    if entry.id != line.entry_id or entry.log != log:
        raise CustodyError("bad-line", "The entry's id or log is not that of its row.")
    verify_envelope(envelope, ring)
