"""The demo is what it says: one fixed start gives one root, and the record shows the troubles of the story and no other."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import cast
from zoneinfo import ZoneInfo

import pytest
from django.db import transaction
from pytest_django import DjangoDbBlocker

from custody import registers, store
from custody.domain.book import Book, derive
from custody.domain.day import place_clock
from custody.domain.evaluate import place_day
from custody.domain.findings import Finding
from custody.domain.instants import parse_instant
from custody.domain.judge import is_waiting, merge_findings, settle
from custody.domain.parsing import parse_entry
from custody.domain.recorded import Recorded, Signed, record_entry
from custody.domain.register import Register
from custody.domain.returns import outstanding
from custody.domain.states import SettlementState
from custody.domain.views import settlement_key
from custody.models.derived import Withdrawn
from custody.models.log import LogKind
from custody.projections.apply import derive_log
from custody.projections.compare import Difference, list_differences
from custody.queries.night import Night, PlaceState, get_night
from fixtures_demo.build import expected, open_log, put_lines, put_register
from fixtures_demo.county import ELECTION, JURISDICTION
from fixtures_demo.night import tell
from fixtures_demo.scribe import Line
from fixtures_demo.times import HOUR, times_of

EXPECTED = expected()
START = parse_instant(EXPECTED["start"])
TROUBLES = EXPECTED["troubles"]
PLACES = [f"P{number:02}" for number in range(1, 27)]
IN, ON_THE_WAY, CLOSING, SILENT = PLACES[:17], PLACES[17:22], PLACES[22:25], PLACES[25:]

Told = tuple[str, str, str]
"""A finding as the list of troubles has it: rule, site, status."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What is left of a demo once its database is gone."""

    root: str
    kind: str
    size: int
    book: Book
    withdrawn: list[Told]
    night: Night
    differences: list[Difference] = field(default_factory=list)


@pytest.fixture(scope="module")
def shown(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Shown]:
    """The demo of the fixed start, as it is when it begins."""
    with django_db_blocker.unblock(), transaction.atomic():
        registers.forget()
        put_register(times_of(START))
        put_lines(line for line in tell(START) if line.received <= START)
        log = open_log()
        book = derive_log(log, registers.get_register(JURISDICTION))
        night = get_night(store.open_log(log.jurisdiction, log.name), now=START)
        assert night is not None
        rows = [json.loads(body) for body in Withdrawn.objects.filter(log_id=log.id).values_list("body", flat=True)]
        yield Shown(
            root=store.root_of(log, log.size).hex(),
            kind=log.kind,
            size=log.size,
            book=book,
            night=night,
            withdrawn=[(row["rule"], row["site"], "withdrawn") for row in rows],
            differences=list_differences(log, book),
        )
        transaction.set_rollback(True)
    registers.forget()


def register_for(start: int) -> Register:
    """The county's register for another start."""
    with transaction.atomic():
        registers.forget()
        put_register(times_of(start))
        register = registers.get_register(JURISDICTION)
        transaction.set_rollback(True)
    registers.forget()
    return register


def recorded(lines: Iterable[Line]) -> list[Recorded]:
    """The entries of lines, each with all its signatures."""
    first: dict[str, Line] = {}
    signed: dict[str, list[Signed]] = {}
    for line in lines:
        first.setdefault(line.id, line)
        signed.setdefault(line.id, []).extend(Signed(keyid=each.keyid, received=line.received) for each in line.signers)
    return [
        record_entry(parse_entry(line.payload), seq=seq, received=line.received, signatures=signed[line.id])
        for seq, line in enumerate(first.values())
    ]


def findings_at(book: Book, now: int) -> list[tuple[Finding, str]]:
    """The findings that are on show at a moment, with their status."""
    found: list[tuple[Finding, str]] = []
    for finding in merge_findings(each for listed in book.findings.values() for each in listed):
        if finding.shown_from <= now:
            settlement = cast(SettlementState, book.tracks.last(settlement_key(finding.key)))
            found.append((finding, settle(finding, settlement, book.register, book.signed).status))
    return found


def told(book: Book, now: int) -> list[Told]:
    return [(finding.rule, finding.site or "", status) for finding, status in findings_at(book, now)]


def expected_findings(*, withdrawn: bool) -> Counter[Told]:
    listed = (tuple(finding) for trouble in TROUBLES for finding in trouble["findings"])
    return Counter(each for each in listed if (each[2] == "withdrawn") == withdrawn)


def missing(book: Book, now: int) -> list[tuple[str, str]]:
    """Place and kind of what is not back."""
    listed = outstanding(sorted(book.register.items), book.tracks.last, book.register, now=now)
    return [(each.site, each.kind.value) for each in listed]


def test_one_start_gives_one_root(shown: Shown) -> None:
    assert shown.root == EXPECTED["root"]


def test_the_log_is_a_rehearsal(shown: Shown) -> None:
    assert shown.kind == LogKind.REHEARSAL


def test_the_county_is_as_large_as_it_says(shown: Shown) -> None:
    register = shown.book.register
    kinds = Counter(site.kind.value for site in register.sites.values())
    assert EXPECTED["counts"] == {
        "polling_places": kinds["polling_place"],
        "sites": len(register.sites),
        "people": len(register.people),
        "items": len(register.items),
        "seal_lots": len(register.lots),
        "entries": len(shown.book.worked),
        "lines": shown.size,
    }
    counts = EXPECTED["counts"]
    assert (counts["polling_places"] >= 24, counts["people"] >= 250, counts["items"] >= 700) == (True, True, True)
    assert 1_400 <= counts["entries"] <= 1_700


def test_every_trouble_gives_its_findings_and_nothing_else_gives_any(shown: Shown) -> None:
    assert Counter(told(shown.book, START)) == expected_findings(withdrawn=False)


def test_what_was_put_right_is_in_the_journal_of_withdrawn_findings(shown: Shown) -> None:
    assert Counter(shown.withdrawn) == expected_findings(withdrawn=True)


def test_at_least_fifteen_things_that_go_wrong_are_in_it() -> None:
    kinds = {trouble["like"] for trouble in TROUBLES if trouble["like"]}
    assert len(kinds) >= 15, kinds
    assert [trouble["what"] for trouble in TROUBLES if not trouble["findings"] and not trouble["missing"]] == []


def test_places_that_are_in_lack_only_what_the_troubles_say(shown: Shown) -> None:
    lacking = sorted(
        (place, kind) for trouble in TROUBLES for place in [trouble["place"]] for kind in trouble["missing"]
    )
    assert sorted(each for each in missing(shown.book, START) if each[0] in IN) == lacking


def test_the_night_is_still_under_way(shown: Shown) -> None:
    """Seventeen places are in, five on the way, three closing, one silent."""
    register, tracks = shown.book.register, shown.book.tracks
    listed = outstanding(sorted(register.items), tracks.last, register, now=START)
    cases = {each.site: each.holder.role for each in listed if each.kind == "transfer_case" and each.holder}
    assert cases == dict.fromkeys(ON_THE_WAY, "courier") | dict.fromkeys([*CLOSING, *SILENT], "poll_chief")


def test_nothing_is_known_of_the_silent_place_since_before_the_polls_closed(shown: Shown) -> None:
    day = place_day(shown.book.register, shown.book.tracks, f"place:{ELECTION}/{SILENT[0]}")
    assert day is not None
    clock = place_clock(day)
    assert clock.last_here is not None
    assert clock.last_here < times_of(START).closed
    (finding,) = (each for each, _ in findings_at(shown.book, START) if each.site == SILENT[0])
    settled = settle(finding, SettlementState(), shown.book.register, shown.book.signed)
    assert is_waiting(finding, settled, {(ELECTION, SILENT[0]): clock}, START)


def test_the_derived_tables_equal_the_log(shown: Shown) -> None:
    assert shown.differences == []


def test_in_the_morning_only_what_was_left_behind_is_missing(shown: Shown) -> None:
    morning = times_of(START).on(1, "14:00")
    lines = [line for line in tell(START) if line.received <= morning]
    book = derive(recorded(lines), shown.book.register)
    left = [("P07", "memory_device"), ("P09", "memory_device"), ("P10", "envelope"), ("P11", "key_set")]
    assert sorted(missing(book, morning)) == left
    new = Counter(told(book, morning)) - Counter(told(shown.book, START))
    assert new == Counter(
        {
            **{("unreturned", place, "open"): 1 for place, _ in left},
            ("short-delivery", "P12", "cleared"): 1,
            ("slow-transit", "P12", "open"): 1,
            ("same-affiliation", "RN", "open"): 1,
        }
    )


@pytest.mark.one_engine
@pytest.mark.django_db
@pytest.mark.parametrize("start", ["2027-02-28T20:59:59Z", "2028-03-01T11:00:00Z"])
def test_the_story_is_the_same_whenever_it_starts(start: str) -> None:
    now = parse_instant(start)
    lines = [line for line in tell(now) if line.received <= now]
    book = derive(recorded(lines), register_for(now))
    assert Counter(told(book, now)) == expected_findings(withdrawn=False)


@pytest.mark.parametrize("hour", range(24))
@pytest.mark.parametrize("seconds", [0, 899, 2_700, 3_599])
def test_it_is_late_in_the_evening_there_whenever_it_starts(hour: int, seconds: int) -> None:
    times = times_of(START // HOUR * HOUR + hour * HOUR + seconds)
    clock = times.local(times.start)[11:]
    assert "21:45" <= clock < "22:45"
    assert 135 * 60 <= times.start - times.closed < 150 * 60
    assert times.on(0, clock) == times.start // 60 * 60
    assert times.on(1, "02:00") == times.deadline


def test_the_time_zone_is_where_its_name_says() -> None:
    for hour in range(24):
        times = times_of(START + hour * HOUR)
        there = datetime.fromtimestamp(times.start, ZoneInfo(times.zone))
        assert there.strftime("%Y-%m-%dT%H:%M") == times.local(times.start)


def test_the_night_office_sees_each_place_as_the_story_has_it(shown: Shown) -> None:
    """One box of P12 is still in a car; P07 and P09 lack a device, P10 and P11 an envelope and the keys; P18 never arrived."""
    short = {"P07", "P09", "P10", "P11"}
    states = {place.site: place.state for place in shown.night.places}
    story = dict.fromkeys(IN, PlaceState.IN) | dict.fromkeys(short | set(CLOSING), PlaceState.AT_WORK)
    story |= dict.fromkeys(ON_THE_WAY, PlaceState.ON_THE_WAY) | {"P12": PlaceState.ON_THE_WAY}
    assert states == story | {"P18": PlaceState.OVERDUE} | dict.fromkeys(SILENT, PlaceState.SILENT)
    assert {place.site: place.owed for place in shown.night.places if place.site in {*short, "P12"}} == dict.fromkeys(
        {*short, "P12"}, 1
    )
