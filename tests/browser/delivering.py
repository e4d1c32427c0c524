"""What tests of the outbox do with it: keep entries, send them, look at what became of them."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from typing import Any

from playwright.sync_api import Page

from custody import store
from custody.errors import CustodyError
from tests.web.evening import DRILL
from tests.world_acts import Deed
from tests.world_register import JURISDICTION

MODULES = "/static/custody/js"
OUTBOX = f"import('{MODULES}/phone/outbox.js')"
LOG = f"{JURISDICTION}/{DRILL}"


def keep(page: Page, deeds: Iterable[Deed]) -> None:
    """Into the outbox, one after another."""
    keep_envelopes(page, [deed.envelope() for deed in deeds])


def keep_envelopes(page: Page, envelopes: list[dict[str, Any]]) -> None:
    script = f"async (all) => {{ const it = await {OUTBOX}; for (const each of all) await it.add(each, 'An act'); }}"
    page.evaluate(script, envelopes)


def send(page: Page) -> bool:
    return bool(page.evaluate(f"{OUTBOX}.then((it) => it.send())"))


def states(page: Page) -> list[str]:
    listed = page.evaluate(f"{OUTBOX}.then((it) => it.list())")
    return [each["state"] for each in listed]


def on_record() -> list[str]:
    """The entries of the log, by line."""
    try:
        log = store.open_log(JURISDICTION, DRILL)
    except CustodyError:  # there is none before its first entry
        return []
    return [str(line.entry_id) for line in store.read_lines(log)]


def ids(deeds: Iterable[Deed]) -> list[str]:
    return [deed.id for deed in deeds]


def until(condition: Callable[[], bool], *, seconds: float = 30) -> None:
    limit = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < limit
        time.sleep(0.1)
