"""Rebuild: every derived table of a log, and the register's tables, made again from the lines of the logs alone."""

from __future__ import annotations

from collections.abc import Callable

from django.db import transaction

from custody import register_tables, store
from custody.projections.apply import rebuild
from custody.registers import get_register


def rebuild_log(log: store.LogHead, advance: Callable[[int], None] = lambda _: None) -> int:
    """Work everything out afresh in one transaction; how many entries there are. `advance` hears of lines read.

    The log's head is locked meanwhile: what arrives waits, and nothing is seen half done.
    """
    with transaction.atomic():
        head = store.lock_head(log)
        register_tables.rebuild_register(log.jurisdiction)
        book = rebuild(head, get_register(log.jurisdiction), advance)
        return len(book.worked)
