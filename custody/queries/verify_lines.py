"""One line of a log under scrutiny: its form, its signatures, what it says of itself. Pure work, for several processes at once.

Any bytes may stand in a row that somebody changed underneath: nothing here raises for them, everything is told. What an
entry means is not asked here; whether it is one at all is found out where it is replayed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from custody.domain.instants import dump_instant
from custody.errors import CustodyError
from custody.ledger.canonical import parse_canonical
from custody.ledger.envelope import dump_envelope, parse_envelope, verify_envelope
from custody.ledger.tiles import MAX_ENTRY_BYTES


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is not as it must be: the log, and the line, or the table and key. `code` is stable."""

    log: str
    code: str
    detail: str
    seq: int | None = None
    table: str | None = None
    key: str | None = None


class Row(NamedTuple):
    """A line as its row has it, once its columns are of the right types."""

    seq: int
    received: int
    entry_id: str | None
    body: bytes
    nodes: bytes


Fault = tuple[int, str, str]
"""Sequence number, code, detail."""

_MEANING = (ValueError, KeyError, TypeError, AttributeError, IndexError, OverflowError, RecursionError)
"""What code may raise that reads a value of another form than it expects."""


def parse_row(values: Sequence[Any]) -> Row | None:
    """A row from the values of its columns, or `None` when one is of another type. Text may hold bytes that are no UTF-8."""
    seq, received, entry_id, body, nodes = values
    if isinstance(nodes, memoryview):
        nodes = bytes(nodes)
    if type(seq) is not int or type(received) is not int or not isinstance(entry_id, str | None):
        return None
    if not isinstance(body, str) or not isinstance(nodes, bytes):
        return None
    return Row(seq, received, entry_id, body.encode("utf-8", "surrogateescape"), nodes)


def check_lines(log: str, rows: Iterable[Row], ring: Mapping[str, bytes]) -> list[Fault]:
    """What is wrong with lines, each by itself. `ring` maps key ids to public keys; `log` is `<jurisdiction>/<name>`."""
    faults: list[Fault] = []
    for row in rows:
        try:
            _check_line(log, row, ring)
        except CustodyError as error:
            faults.append((row.seq, error.code, error.detail))
        except _MEANING as error:
            faults.append((row.seq, "bad-line", f"The line cannot be read: {error}."))
    return faults


_given: tuple[str, Mapping[str, bytes]] = ("", {})
"""In a process of its own: the log whose lines it checks, and the keys."""


def begin(log: str, ring: Mapping[str, bytes]) -> None:
    """Begin to check lines of a log in a process of its own."""
    global _given
    _given = (log, ring)


def check_chunk(rows: list[Row]) -> list[Fault]:
    """`check_lines` with what `begin` was given."""
    return check_lines(_given[0], rows, _given[1])


def _check_line(log: str, row: Row, ring: Mapping[str, bytes]) -> None:
    if len(row.body) > MAX_ENTRY_BYTES:
        raise CustodyError("too-large", "The line is larger than a line of the log may be.")
    content = parse_canonical(row.body)
    if content.get("seq") != row.seq or content.get("received") != dump_instant(row.received):
        raise CustodyError("bad-line", "The number or time of receipt in the line is not that of its row.")
    if log.endswith("/register"):
        if content.keys() != {"seq", "received", "change", "user"} or content["change"].keys() != {"table", "rows"}:
            raise CustodyError("bad-line", "The line is not a change of the register.")
        if row.entry_id is not None:
            raise CustodyError("bad-line", "The row of a change of the register has an entry's id.")
        return
    if content.keys() != {"seq", "received", "envelope"}:
        raise CustodyError("bad-line", "The line does not hold an envelope and no more.")
    envelope = parse_envelope(content["envelope"])
    if dump_envelope(envelope) != content["envelope"]:
        raise CustodyError("bad-line", "The signatures are not in the order of their key ids.")
    payload = parse_canonical(envelope.payload)
    if payload.get("id") != row.entry_id or payload.get("log") != log:
        raise CustodyError("bad-line", "The entry's id or log is not that of its row.")
    verify_envelope(envelope, ring)
