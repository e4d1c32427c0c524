"""The register kept by the process: up to date with the log, untouched by what was rolled back, shared between threads."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from django.db import connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.test.utils import CaptureQueriesContext

from custody import registers, store
from custody.models.log import LogKind
from custody.services.append_changes import append_changes


def add_site(code: str, name: str = "Hall") -> None:
    row: dict[str, Any] = {"code": code, "name": name, "kind": "polling_place"}
    with transaction.atomic():
        log = store.lock_head(store.make_log("ALDER", "register", LogKind.REGISTER))
        append_changes(log, {"sites": [row]}, user="u-1", now=1_793_880_000)


def sites() -> dict[str, str]:
    return {code: site.name for code, site in registers.get_register("ALDER").sites.items()}


class Regret(Exception):
    """Ends a transaction without committing it."""


def test_new_lines_are_seen_and_an_unchanged_log_costs_one_query(own_database: BaseDatabaseWrapper) -> None:
    add_site("P01")
    assert sites() == {"P01": "Hall"}
    add_site("P02")
    assert sites() == {"P01": "Hall", "P02": "Hall"}
    with CaptureQueriesContext(own_database) as queries:
        assert sites() == {"P01": "Hall", "P02": "Hall"}
    assert len(queries) == 1


def test_a_transaction_sees_its_own_lines_and_a_rollback_takes_them_away(own_database: BaseDatabaseWrapper) -> None:
    add_site("P01")
    assert sites() == {"P01": "Hall"}
    with pytest.raises(Regret), transaction.atomic():
        add_site("P02", "Never")
        assert sites() == {"P01": "Hall", "P02": "Never"}
        raise Regret
    assert sites() == {"P01": "Hall"}
    add_site("P02", "Truly")  # the log is as long as it was in the transaction
    assert sites() == {"P01": "Hall", "P02": "Truly"}


def test_what_was_rolled_back_is_not_taken_for_what_stands_inside_a_transaction(db: None) -> None:
    for name in ("Never", "Truly"):
        with pytest.raises(Regret), transaction.atomic():
            add_site("P01", name)
            assert sites() == {"P01": name}
            raise Regret


def test_other_threads_see_lines_once_they_are_committed(own_database: BaseDatabaseWrapper) -> None:
    add_site("P01")
    seen: list[dict[str, str]] = []

    def look() -> None:
        try:
            seen.append(sites())
        finally:
            connections.close_all()

    def look_in_own_thread() -> None:
        thread = threading.Thread(target=look)
        thread.start()
        thread.join(timeout=30)

    look_in_own_thread()
    with transaction.atomic():
        add_site("P02")
        assert sites() == {"P01": "Hall", "P02": "Hall"}
        look_in_own_thread()
    look_in_own_thread()
    assert seen == [{"P01": "Hall"}, {"P01": "Hall"}, {"P01": "Hall", "P02": "Hall"}]
