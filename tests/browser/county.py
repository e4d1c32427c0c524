"""The invented county late on election night, with its log in earnest, so that everybody has to sign in.

What is on record is the demo's own telling up to a moment; what its people do from then on, tests do in browsers.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from custody import store
from custody.domain.instants import parse_instant
from custody.services.record import Arrival, Receipt, record_entries
from fixtures_demo.build import batches, expected, put_register
from fixtures_demo.county import JURISDICTION, list_badges, rows_of
from fixtures_demo.night import tell
from fixtures_demo.scribe import Line
from fixtures_demo.times import MINUTE, times_of
from tests.browser.departure import Badge

LOG = "main"


@dataclass(slots=True, kw_only=True)
class County:
    """Badges, names, and names of sites by code; the numbers of seals in place by item and point.

    `loads` is by place what its drivers take, as the telling has it; `ahead` by how many seconds the county's clock is ahead
    of this machine's.
    """

    badges: Mapping[str, Badge]
    names: Mapping[str, str]
    phones: frozenset[str]
    sites: Mapping[str, str]
    seals: Mapping[tuple[str, str], str]
    loads: Mapping[str, list[str]]
    ahead: int

    def now(self) -> int:
        return int(time.time()) + self.ahead

    def later(self, minutes: int) -> None:
        self.ahead += minutes * MINUTE


def make_county(minutes: int) -> County:
    """So many minutes after the polls closed, at the demo's fixed start."""
    times = times_of(parse_instant(expected()["start"]))
    moment, lines = times.night(minutes), tell(times.start)
    on_record = [line for line in lines if line.received <= moment]
    put_register(times)
    put_in_earnest(on_record)
    people, sites = rows_of("people"), rows_of("sites")
    return County(
        badges={
            each.person: Badge(text=each.text, pin=each.pin, public_key=each.signer.public_key)
            for each in list_badges()
        },
        names={row["code"]: row["name"] for row in people},
        # The number of a place may stand on any page.
        phones=frozenset({row["phone"] for row in people} - {row["phone"] for row in sites}),
        sites={row["code"]: row["name"] for row in sites},
        seals=seals_in_place(on_record),
        loads=departures(lines, since=times.closed),
        ahead=moment - int(time.time()),
    )


def put_in_earnest(lines: Iterable[Line]) -> None:
    """The same entries by the same people, signed for the log in earnest."""
    log = store.make_log(JURISDICTION, LOG, store.LogKind.MAIN)
    signed = [replace(line, payload=line.payload | {"log": log.path}) for line in lines]
    for batch in batches(signed):
        answers = record_entries(log, [Arrival(envelope=line.envelope(), received=line.received) for line in batch])
        assert [each for each in answers if not isinstance(each, Receipt)] == []


def seals_in_place(lines: Iterable[Line]) -> dict[tuple[str, str], str]:
    """By the entries that put seals on and take them off, in order."""
    found: dict[tuple[str, str], str] = {}
    for payload in sorted((line.payload for line in lines), key=lambda payload: str(payload["at"])):
        for each in payload.get("seals", []):
            if payload["kind"] == "seal":
                found[each["item"], each["point"]] = each["number"]
            elif payload["kind"] == "unseal":
                found.pop((each["item"], each["point"]), None)
    return found


def departures(lines: Iterable[Line], *, since: int) -> dict[str, list[str]]:
    """What leaves each place on the night: the first handoff there that is part of its return."""
    found: dict[str, list[str]] = {}
    for line in lines:
        payload = line.payload
        returns = (payload["kind"], payload.get("purpose")) == ("handoff", "return")
        if returns and line.received >= since and payload["release"].get("site") == payload.get("site"):
            found.setdefault(payload["site"], list(payload["items"]))
    return found
