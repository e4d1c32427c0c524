"""Verify logs: every signature, leaf, number, checkpoint and derived row. Reads only, and never stops at the first fault.

1. each line by itself: canonical, its number and time, its entry, every signature by a key of the register;
2. all lines together: numbers without a gap, each leaf and tree node as worked out from the bytes, the head's size;
3. every checkpoint that the log signed, and one kept elsewhere: its signature, and the root at its size;
4. the derived tables against a fresh derivation; the register's tables against the register's log;
5. every photo that was received: its bytes against the hash that was signed for.

Nothing that the process remembers is believed: the register too is read from its log again. All is read at one moment, so
that a log that grows meanwhile looks whole. A log whose end was cut off together with its checkpoints looks whole by
itself, too: an older checkpoint shows it.
"""

from __future__ import annotations

import multiprocessing
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager, nullcontext
from itertools import groupby, islice
from typing import Any

from django.db import connection, transaction

from custody import store
from custody.errors import Unverified
from custody.ledger.checkpoint import parse_checkpoint
from custody.queries.verify_chain import Chain
from custody.queries.verify_lines import Fault, Problem, begin, check_chunk, check_lines, parse_row
from custody.queries.verify_notes import check_notes, sizes_of
from custody.queries.verify_photos import check_photos
from custody.queries.verify_tables import RegisterOnRecord, check_derived, check_register, check_strays, read_register
from custody.registers import LOG as REGISTER

Advance = Callable[[int], None]

CHUNK = 500
"""Lines a process takes at a time."""

WORTH_PROCESSES = 10_000
"""Lines from which on starting processes pays."""


def verify_logs(
    logs: Sequence[store.LogHead], *, checkpoint: str | None = None, advance: Advance = lambda _: None
) -> list[Problem]:
    """Everything that is wrong with these logs, in their order; nothing when all is well.

    `checkpoint` is the text of one that was kept elsewhere, of one of these logs; `advance` hears of lines checked.
    """
    problems: list[Problem] = []
    with _at_one_moment(), _any_text():
        logs = [store.open_log(log.jurisdiction, log.name) for log in logs]
        for _, group in groupby(logs, key=lambda log: log.jurisdiction):
            of_one = list(group)
            register = read_register(store.open_log(of_one[0].jurisdiction, REGISTER))
            for log in of_one:
                kept = checkpoint if _origin(checkpoint) == log.origin else None
                problems += sorted(_verify(log, register, kept, advance), key=_order)
        problems += check_strays(log.jurisdiction for log in store.list_logs())
    origins = {log.origin for log in logs}
    if checkpoint is not None and _origin(checkpoint) not in origins:
        detail = "The checkpoint given is none of these logs'."
        problems.append(Problem(log="", table="checkpoint", key="kept elsewhere", code="other-origin", detail=detail))
    return problems


def verify_log(
    log: store.LogHead, *, checkpoint: str | None = None, advance: Advance = lambda _: None
) -> list[Problem]:
    """`verify_logs` for one log. Whether the register is as it was is not asked, unless it is the register's log."""
    return verify_logs([log], checkpoint=checkpoint, advance=advance)


def _origin(checkpoint: str | None) -> str | None:
    try:
        return None if checkpoint is None else parse_checkpoint(checkpoint).origin
    except (Unverified, ValueError):
        return None


@contextmanager
def _at_one_moment() -> Iterator[None]:
    """Inside, everything is read as it was when the first of it was read; nobody who writes has to wait."""
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "sqlite":
        connection.ensure_connection()
        connection.connection.execute("BEGIN")  # deferred: Django's own would lock writers out
        try:
            yield
        finally:
            connection.connection.execute("ROLLBACK")
    else:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield


@contextmanager
def _any_text() -> Iterator[None]:
    """SQLite keeps as text whatever bytes it is given: those that are no UTF-8 must be read too, to be named."""
    if connection.vendor != "sqlite":
        yield
        return
    connection.ensure_connection()
    raw, usual = connection.connection, connection.connection.text_factory
    raw.text_factory = lambda data: data.decode("utf-8", "surrogateescape")
    try:
        yield
    finally:
        raw.text_factory = usual


def _order(problem: Problem) -> tuple[bool, int, str, str, str]:
    """Lines first, by number, then tables."""
    place = -1 if problem.seq is None else problem.seq
    return (problem.seq is None, place, problem.table or "", problem.key or "", problem.code)


def _verify(log: store.LogHead, register: RegisterOnRecord, kept: str | None, advance: Advance) -> Iterator[Problem]:
    yield from _check_head(log)
    notes = list(store.read_rows(log, "checkpoint"))
    chain = Chain(log, sizes_of(notes, kept))
    ring = {keyid: key.public_key for keyid, key in register.register.keys.items()}
    yield from _check_lines(log, chain, ring, advance)
    yield from check_notes(log, notes, chain.roots, kept)
    if log.kind is store.LogKind.REGISTER:
        yield from check_register(log, register)
    yield from check_derived(log, register.register, chain.entries.values())
    yield from check_photos(log, chain.entries.values())


def _check_head(log: store.LogHead) -> Iterator[Problem]:
    """What a log's own row says of it, as far as it follows from its names."""
    usual = {"main": store.LogKind.MAIN, REGISTER: store.LogKind.REGISTER}.get(log.name, store.LogKind.REHEARSAL)
    if log.kind is not usual or not log.origin.endswith(f"/{log.path}"):
        detail = "The log's kind or origin does not go with its name."
        yield Problem(log=log.path, table="log", key=log.path, code="bad-log", detail=detail)


def _check_lines(log: store.LogHead, chain: Chain, ring: Mapping[str, bytes], advance: Advance) -> Iterator[Problem]:
    """Steps 1 and 2: signatures in as many processes as there are processors when that pays, all else here."""
    workers = os.cpu_count() or 1
    pool = _pool(log.path, ring, workers) if log.size >= WORTH_PROCESSES and workers > 1 else None
    pending: deque[Future[list[Fault]]] = deque()
    with pool or nullcontext():
        for values in _chunks(store.read_rows(log, "line")):
            parsed = [parse_row(each) for each in values]
            rows = [row for row in parsed if row is not None]
            yield from (_bad_row(log, each) for each, row in zip(values, parsed, strict=True) if row is None)
            if pool is None:
                yield from _of_lines(log, check_lines(log.path, rows, ring))
            else:
                pending.append(pool.submit(check_chunk, rows))
                if len(pending) > 4 * workers:  # what waits is held in memory
                    yield from _of_lines(log, pending.popleft().result())
            chain.take(rows)
            advance(len(values))
        while pending:
            yield from _of_lines(log, pending.popleft().result())
    yield from chain.finish()


def _pool(log: str, ring: Mapping[str, bytes], workers: int) -> ProcessPoolExecutor:
    """Processes that share nothing with this one: a copy of an open connection would end it for both."""
    fresh = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(workers, mp_context=fresh, initializer=begin, initargs=(log, dict(ring)))


def _of_lines(log: store.LogHead, faults: Iterable[Fault]) -> Iterator[Problem]:
    for seq, code, detail in faults:
        yield Problem(log=log.path, seq=seq, code=code, detail=detail)


def _bad_row(log: store.LogHead, values: Sequence[Any]) -> Problem:
    seq = values[0] if type(values[0]) is int else None
    key = None if seq is not None else ascii(values[0])
    detail = "A column of the row is not of the type that it must be."
    return Problem(log=log.path, seq=seq, table=None if key is None else "line", key=key, code="bad-row", detail=detail)


def _chunks(rows: Iterator[tuple[Any, ...]]) -> Iterator[list[tuple[Any, ...]]]:
    while chunk := list(islice(rows, CHUNK)):
        yield chunk
