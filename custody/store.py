"""The log's rows: the only code that reads or writes them. It appends lines, hands them out, and proves them.

Dumb on purpose: what a line says is none of its business, beyond the id by which an entry is found again. Hand-written
SQL, the same for both engines, in few statements: this is the path that every entry takes.
Instants are Unix seconds. A `LogHead` is a snapshot; only under `lock_head` is its size the true one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, Literal, TypeVar

from django.conf import settings
from django.db import connection, transaction

from custody import clock
from custody.domain.instants import dump_instant
from custody.errors import CustodyError, Refused, Unverified
from custody.ledger import merkle
from custody.ledger.canonical import dump_canonical, parse_canonical
from custody.ledger.checkpoint import dump_checkpoint, verify_checkpoint, vkey
from custody.ledger.signing import Signer
from custody.ledger.tiles import MAX_ENTRY_BYTES
from custody.models.log import LogKind as LogKind

T = TypeVar("T")

CHUNK: Final = 500
"""Rows a query at most, where many are read: some megabytes at worst."""

_JURISDICTION: Final = re.compile(r"[A-Z0-9-]{1,64}", re.ASCII)
_NAME: Final = re.compile(r"[a-z0-9][a-z0-9-]{0,63}", re.ASCII)

_HEAD: Final = "SELECT id, jurisdiction, name, kind, origin, size FROM custody_log"
_LINE: Final = "SELECT seq, received, entry_id, body, nodes FROM custody_line WHERE log_id = %s"
_CHECKPOINT: Final = "SELECT size, root, note, created FROM custody_checkpoint WHERE log_id = %s"


@dataclass(frozen=True, slots=True, kw_only=True)
class LogHead:
    """A log as it stood when asked: `size` is the number of its lines and the next sequence number."""

    id: int
    jurisdiction: str
    name: str
    kind: LogKind
    origin: str
    size: int

    @property
    def path(self) -> str:
        """`<jurisdiction>/<log>`, as payloads name it in their member `log`."""
        return f"{self.jurisdiction}/{self.name}"


@dataclass(frozen=True, slots=True, kw_only=True)
class NewLine:
    """A line to append. `content` is `{"envelope": …}`, or `{"change": …, "user": …}` without `entry_id`."""

    received: int
    entry_id: str | None
    content: dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredLine:
    """A line of a log. `body` is its canonical JSON, from which the leaf is hashed; `nodes` as of `completed_nodes`."""

    seq: int
    received: int
    entry_id: str | None
    body: bytes
    nodes: bytes

    @property
    def leaf(self) -> bytes:
        """The leaf hash as stored; whoever verifies computes it from `body`."""
        return self.nodes[: merkle.HASH_BYTES]

    def content(self) -> dict[str, Any]:
        """The whole line as parsed JSON, `seq` and `received` included; parsed at each call."""
        return parse_canonical(self.body)


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredCheckpoint:
    """What the log signed at a size: `note` is the signed note, `root` the 32 bytes in it, `created` when it signed."""

    size: int
    root: bytes
    note: str
    created: int


def make_log(jurisdiction: str, name: str, kind: LogKind) -> LogHead:
    """The log of that name, made empty if there is none.

    Raises `CustodyError("bad-log")` for a name that cannot be a log's, or a kind that does not go with it: `main` and
    `register` are of their own kinds, every other name is a rehearsal's.
    """
    usual = {"main": LogKind.MAIN, "register": LogKind.REGISTER}.get(name, LogKind.REHEARSAL)
    if not _JURISDICTION.fullmatch(jurisdiction) or not _NAME.fullmatch(name) or kind != usual:
        detail = "The name of a rehearsal is made of small letters, digits and hyphens, and is not main or register."
        raise CustodyError("bad-log", detail, log=f"{jurisdiction}/{name}", kind=str(kind))
    origin = f"{settings.CUSTODY_ORIGIN}/{jurisdiction}/{name}"
    with transaction.atomic():
        found = _find_log(jurisdiction, name)
        if found:
            return found
        _run(
            "INSERT INTO custody_log (jurisdiction, name, kind, origin, size, created) VALUES (%s, %s, %s, %s, 0, %s)"
            " ON CONFLICT DO NOTHING",
            (jurisdiction, name, kind.value, origin, clock.now()),
        )
    return open_log(jurisdiction, name)


def open_log(jurisdiction: str, name: str) -> LogHead:
    """The log of that name. Raises `CustodyError("no-log")`."""
    found = _find_log(jurisdiction, name)
    if not found:
        raise CustodyError("no-log", f"There is no log {jurisdiction}/{name}.", log=f"{jurisdiction}/{name}")
    return found


def list_logs() -> list[LogHead]:
    """Every log of the installation, by jurisdiction and name."""
    return [_head(row) for row in _rows(f"{_HEAD} ORDER BY jurisdiction, name")]


def _find_log(jurisdiction: str, name: str) -> LogHead | None:
    rows = _rows(f"{_HEAD} WHERE jurisdiction = %s AND name = %s", (jurisdiction, name))
    return _head(rows[0]) if rows else None


def lock_head(log: LogHead) -> LogHead:
    """The log with its true size, which nobody else can change before the end of this transaction.

    Whoever comes second waits here. SQLite has one writer at a time anyhow: a transaction there begins as a writer.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("lock_head is for use inside a transaction")
    lock = " FOR NO KEY UPDATE" if connection.vendor == "postgresql" else ""
    return replace(log, size=_size(log, lock))


def append(head: LogHead, lines: Sequence[NewLine]) -> list[StoredLine]:
    """Append lines at the end, in the order given. `head` is fresh from `lock_head`, and is of no further use.

    Raises `Refused("too-large")`, before anything is written, when a line would have more than 65,535 bytes; its
    `data["index"]` is the line's place in `lines`. Raises `ValueError` for content that has no canonical form.
    """
    if not lines:
        return []
    stop = head.size + len(lines)
    asked = (node for seq in range(head.size, stop) for node in merkle.nodes_for_append(seq))
    nodes = fetch_nodes(head, (node for node in asked if merkle.locate(*node)[0] < head.size))
    stored = []
    for seq, line in enumerate(lines, head.size):
        body = line_body(seq, line)
        if len(body) > MAX_ENTRY_BYTES:
            detail = f"The line would have {len(body)} bytes; {MAX_ENTRY_BYTES} is the most."
            raise Refused("too-large", detail, limit=MAX_ENTRY_BYTES, index=seq - head.size)
        hashes = merkle.completed_nodes(seq, merkle.leaf_hash(body), lambda *node: nodes[node])
        for level, at in enumerate(range(0, len(hashes), merkle.HASH_BYTES)):
            nodes[level, seq >> level] = hashes[at : at + merkle.HASH_BYTES]
        stored.append(StoredLine(seq=seq, received=line.received, entry_id=line.entry_id, body=body, nodes=hashes))
    _write(head, stored)
    return stored


def line_body(seq: int, line: NewLine) -> bytes:
    """The canonical JSON of a line under its number. Raises `ValueError` for content that has no canonical form."""
    return dump_canonical({**line.content, "seq": seq, "received": dump_instant(line.received)})


def _write(head: LogHead, lines: list[StoredLine]) -> None:
    size = head.size + len(lines)
    if not _run("UPDATE custody_log SET size = %s WHERE id = %s AND size = %s", (size, head.id, head.size)):
        raise RuntimeError(f"log {head.path} has grown past {head.size}: its head was not locked, or used twice")
    with connection.cursor() as cursor:
        cursor.executemany(
            "INSERT INTO custody_line (log_id, seq, received, entry_id, body, nodes) VALUES (%s, %s, %s, %s, %s, %s)",
            [(head.id, one.seq, one.received, one.entry_id, one.body.decode(), one.nodes) for one in lines],
        )


def read_lines(log: LogHead, start: int = 0, stop: int | None = None) -> Iterator[StoredLine]:
    """The lines from `start` up to, not including, `stop`, in order; without `stop`, to the end."""
    while stop is None or start < stop:
        count = CHUNK if stop is None else min(CHUNK, stop - start)
        rows = _rows(f"{_LINE} AND seq >= %s ORDER BY seq LIMIT %s", (log.id, start, count))
        yield from (line for line in map(_line, rows) if stop is None or line.seq < stop)
        if len(rows) < count:
            return
        start = rows[-1][0] + 1


def lines_of_entries(log: LogHead, ids: Iterable[str]) -> dict[str, list[StoredLine]]:
    """By entry id, the lines that hold the entry, in order; an id that the log does not know is left out."""
    found: dict[str, list[StoredLine]] = {}
    for chunk in _chunks(ids):
        # In the order of the index: asked for that of the numbers, SQLite walks the whole log instead.
        sql = f"{_LINE} AND entry_id IN ({_marks(chunk)}) ORDER BY entry_id, seq"
        for line in map(_line, _rows(sql, (log.id, *chunk))):
            found.setdefault(line.entry_id or "", []).append(line)
    return found


def fetch_nodes(log: LogHead, nodes: Iterable[merkle.Node]) -> dict[merkle.Node, bytes]:
    """The hashes of complete nodes of the log's tree. Raises `CustodyError("beyond-log")` when the log is too short."""
    wanted = list(dict.fromkeys(nodes))
    rows: dict[int, bytes] = {}
    for chunk in _chunks({merkle.locate(*node)[0] for node in wanted}):
        sql = f"SELECT seq, nodes FROM custody_line WHERE log_id = %s AND seq IN ({_marks(chunk)})"  # noqa: S608
        rows.update((seq, bytes(hashes)) for seq, hashes in _rows(sql, (log.id, *chunk)))
    found = {}
    for node in wanted:
        seq, offset = merkle.locate(*node)
        if seq not in rows:
            raise CustodyError("beyond-log", f"The log {log.path} has no line {seq} yet.", log=log.path, seq=seq)
        found[node] = rows[seq][offset : offset + merkle.HASH_BYTES]
    return found


def root_of(log: LogHead, size: int) -> bytes:
    """The root hash over the first `size` lines. Raises as `fetch_nodes`."""
    nodes = fetch_nodes(log, merkle.nodes_for_root(size))
    return merkle.root(size, lambda *node: nodes[node])


def inclusion_proof(log: LogHead, seq: int, size: int) -> list[bytes]:
    """The proof that line `seq` is among the first `size` (RFC 6962 section 2.1.1).

    Raises `CustodyError("beyond-log")` unless `0 <= seq < size` and the log has that many lines.
    """
    if not 0 <= seq < size:
        raise CustodyError("beyond-log", f"Line {seq} is not among the first {size}.", log=log.path, seq=seq, size=size)
    nodes = fetch_nodes(log, [(0, size - 1), *merkle.nodes_for_inclusion(seq, size)])
    return merkle.inclusion_proof(seq, size, lambda *node: nodes[node])


def consistency_proof(log: LogHead, old: int, new: int) -> list[bytes]:
    """The proof that the log of `new` lines begins with that of `old` (RFC 6962 section 2.1.2).

    Raises `CustodyError("beyond-log")` unless `1 <= old <= new` and the log has that many lines.
    """
    if not 1 <= old <= new:
        raise CustodyError("beyond-log", f"No log of {new} lines begins with {old}.", log=log.path, old=old, new=new)
    nodes = fetch_nodes(log, [(0, new - 1), *merkle.nodes_for_consistency(old, new)])
    return merkle.consistency_proof(old, new, lambda *node: nodes[node])


def sign_checkpoint(log: LogHead, signer: Signer, now: int) -> str:
    """The checkpoint of the log as it is now, signed and kept; if it has not grown since the last one, that one again.

    Raises `Unverified`, and signs nothing: as `verify_checkpoint` when the last one was signed with another key, since
    a log has one key for life, and a lost one is not replaced behind the back of those who know it; `bad-consistency`
    when the log does not begin with what the last one covers.
    """
    last = latest_checkpoint(log)
    size = _size(log)
    if last:
        verify_checkpoint(last.note, vkey(log.origin, signer.public_key))
        if size < last.size or root_of(log, last.size) != last.root:
            detail = f"The log {log.path} is no longer what it signed at {last.size} lines."
            raise Unverified("bad-consistency", detail, log=log.path, old=last.size, new=size)
        if size == last.size:
            return last.note
    root = root_of(log, size)
    note = dump_checkpoint(log.origin, size, root, signer)
    with transaction.atomic():
        # Of two that sign the same size at once, both have the same text: Ed25519 leaves nothing to chance.
        _run(
            "INSERT INTO custody_checkpoint (log_id, size, root, note, created) SELECT %s, %s, %s, %s, %s"
            " WHERE NOT EXISTS (SELECT 1 FROM custody_checkpoint WHERE log_id = %s AND size = %s)"
            " ON CONFLICT DO NOTHING",
            (log.id, size, root, note, now, log.id, size),
        )
    return note


def latest_checkpoint(log: LogHead) -> StoredCheckpoint | None:
    """The checkpoint of the greatest size, if the log has signed any."""
    rows = _rows(f"{_CHECKPOINT} ORDER BY size DESC LIMIT 1", (log.id,))
    return _checkpoint(rows[0]) if rows else None


def read_rows(log: LogHead, table: Literal["line", "checkpoint"]) -> Iterator[tuple[Any, ...]]:
    """The columns of every row as the database has them, whatever somebody put there: for whoever verifies.

    Of a line: seq, received, entry_id, body, nodes; of a checkpoint: size, root, note, created. In the order of the first.
    """
    sql = f"{_LINE} ORDER BY seq" if table == "line" else f"{_CHECKPOINT} ORDER BY size"
    with connection.chunked_cursor() as cursor:
        cursor.execute(sql, (log.id,))
        while rows := cursor.fetchmany(CHUNK):
            yield from rows


def last_checkpoints(log: LogHead, most: int) -> list[StoredCheckpoint]:
    """The checkpoints that the log signed last, the latest first."""
    return [_checkpoint(row) for row in _rows(f"{_CHECKPOINT} ORDER BY size DESC LIMIT %s", (log.id, most))]


def _size(log: LogHead, lock: str = "") -> int:
    ((size,),) = _rows(f"SELECT size FROM custody_log WHERE id = %s{lock}", (log.id,))  # noqa: S608
    return int(size)


def _head(row: Sequence[Any]) -> LogHead:
    number, jurisdiction, name, kind, origin, size = row
    if kind not in LogKind.values:
        raise CustodyError("bad-log", f"The row of the log {jurisdiction}/{name} is of no known kind.", kind=kind)
    return LogHead(id=number, jurisdiction=jurisdiction, name=name, kind=LogKind(kind), origin=origin, size=size)


def _line(row: Sequence[Any]) -> StoredLine:
    seq, received, entry_id, body, nodes = row
    return StoredLine(seq=seq, received=received, entry_id=entry_id, body=body.encode(), nodes=bytes(nodes))


def _checkpoint(row: Sequence[Any]) -> StoredCheckpoint:
    size, root, note, created = row
    return StoredCheckpoint(size=size, root=bytes(root), note=note, created=created)


def _rows(sql: str, values: Sequence[Any] = ()) -> list[Any]:
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return cursor.fetchall()


def _run(sql: str, values: Sequence[Any]) -> int:
    """Run a statement that changes rows; how many it changed."""
    with connection.cursor() as cursor:
        cursor.execute(sql, values)
        return cursor.rowcount


def _chunks(values: Iterable[T]) -> Iterator[list[T]]:
    distinct = list(dict.fromkeys(values))
    for start in range(0, len(distinct), CHUNK):
        yield distinct[start : start + CHUNK]


def _marks(values: Sequence[object]) -> str:
    return ", ".join(["%s"] * len(values))
