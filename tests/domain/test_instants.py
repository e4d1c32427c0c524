"""Instants on the wire and wall-clock times of schedules, where clocks are put forward or back.

Changes of clocks are those of the IANA time zone database (tzdata), each with the offsets it states; which of two
readings is meant follows PEP 495 for `fold`, and for a time that occurs twice the record's own rule: the later one.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from custody.domain.instants import add_months, dump_instant, local_date, local_instant, parse_instant

LAST = 253_402_300_799  # 9999-12-31T23:59:59Z
FIRST = -62_135_596_800  # 0001-01-01T00:00:00Z


@pytest.mark.parametrize(
    ("text", "instant"),
    [
        ("1970-01-01T00:00:00Z", 0),
        ("1969-12-31T23:59:59Z", -1),
        ("2000-02-29T12:00:00Z", 951_825_600),
        ("2001-09-09T01:46:40Z", 1_000_000_000),  # widely noted when it came
        ("2038-01-19T03:14:08Z", 2**31),  # one second past the largest signed 32-bit number
        ("0001-01-01T00:00:00Z", FIRST),
        ("9999-12-31T23:59:59Z", LAST),
    ],
)
def test_an_instant_and_its_text_are_each_other(text: str, instant: int) -> None:
    assert (parse_instant(text), dump_instant(instant)) == (instant, text)


@given(st.integers(FIRST, LAST))
@example(FIRST)
@example(-1)
def test_every_instant_comes_back_from_its_text(instant: int) -> None:
    assert parse_instant(dump_instant(instant)) == instant


@pytest.mark.parametrize(
    "text",
    [
        "1985-04-12T23:20:50.52Z",  # the examples of RFC 3339 section 5.8: right there, and not what the record uses
        "1996-12-19T16:39:57-08:00",
        "1990-12-31T23:59:60Z",
        "1990-12-31T15:59:60-08:00",
        "1937-01-01T12:00:27.87+00:20",
        "2026-11-04T02:04:00z",
        "2026-11-04t02:04:00Z",
        "2026-11-04T02:04:00",
        "2026-11-04T02:04Z",
        "2026-11-04T24:00:00Z",
        "2026-11-04T02:60:00Z",
        "2026-11-31T02:04:00Z",
        "2026-02-29T02:04:00Z",
        "2026-00-10T02:04:00Z",
        "0000-01-01T00:00:00Z",
        "26-11-04T02:04:00Z",
        "02026-11-04T02:04:00Z",
        "+2026-11-04T02:04:00Z",
        " 2026-11-04T02:04:00Z",
        "2026-11-04T02:04:00Z\n",
        "2026-W45-3T02:04:00Z",
        "20261104T020400Z",
        "٢٠٢٦-11-04T02:04:00Z",
        "",
    ],
)
def test_a_time_in_any_other_form_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        parse_instant(text)


@given(st.text(st.sampled_from("0123456789-:TZ+. "), max_size=22))
def test_any_other_text_is_refused_or_is_the_one_spelling_of_its_instant(text: str) -> None:
    try:
        instant = parse_instant(text)
    except ValueError:
        return
    assert dump_instant(instant) == text


# tzdata: zone, wall-clock time, the instant meant.
LOCAL = [
    # Chicago goes back from CDT (5 h behind UTC) to CST (6 h behind) on 1 November 2026 at 02:00.
    ("America/Chicago", "2026-11-01T00:59", "2026-11-01T05:59:00Z"),
    ("America/Chicago", "2026-11-01T01:00", "2026-11-01T07:00:00Z"),
    ("America/Chicago", "2026-11-01T01:59", "2026-11-01T07:59:00Z"),
    ("America/Chicago", "2026-11-01T02:00", "2026-11-01T08:00:00Z"),
    ("America/Chicago", "2026-11-03T20:00", "2026-11-04T02:00:00Z"),
    # and forward on 8 March 2026 at 02:00: 02:00 to 02:59 do not occur, and are read with the offset before (PEP 495).
    ("America/Chicago", "2026-03-08T01:59", "2026-03-08T07:59:00Z"),
    ("America/Chicago", "2026-03-08T02:00", "2026-03-08T08:00:00Z"),
    ("America/Chicago", "2026-03-08T02:30", "2026-03-08T08:30:00Z"),
    ("America/Chicago", "2026-03-08T03:00", "2026-03-08T08:00:00Z"),
    # The example of PEP 495: 01:30 of 2 November 2014 in New York occurred twice, at 05:30 and 06:30 UTC.
    ("America/New_York", "2014-11-02T01:30", "2014-11-02T06:30:00Z"),
    # Phoenix keeps 7 h behind UTC all year.
    ("America/Phoenix", "2026-11-01T01:30", "2026-11-01T08:30:00Z"),
    # Dublin's winter time is the one counted as saved in tzdata (negative DST); 25 October 2026, 01:00 UTC.
    ("Europe/Dublin", "2026-10-25T01:30", "2026-10-25T01:30:00Z"),
    ("Europe/Dublin", "2026-03-29T01:30", "2026-03-29T01:30:00Z"),
    # Lord Howe moves by half an hour: back from +11 to +10:30 on 5 April 2026 at 02:00.
    ("Australia/Lord_Howe", "2026-04-05T01:45", "2026-04-04T15:15:00Z"),
    ("Australia/Lord_Howe", "2026-04-05T01:15", "2026-04-04T14:15:00Z"),
    # Apia left out 30 December 2011, going from 10 h behind UTC to 14 h ahead.
    ("Pacific/Apia", "2011-12-29T23:30", "2011-12-30T09:30:00Z"),
    ("Pacific/Apia", "2011-12-31T00:30", "2011-12-30T10:30:00Z"),
    ("Asia/Kathmandu", "2026-11-03T20:00", "2026-11-03T14:15:00Z"),  # +05:45
]


@pytest.mark.parametrize(("zone", "local", "expected"), LOCAL)
def test_a_wall_clock_time_is_read_as_tzdata_has_it_and_the_later_of_two(zone: str, local: str, expected: str) -> None:
    assert dump_instant(local_instant(local, zone)) == expected


zones = st.sampled_from(sorted({zone for zone, _, _ in LOCAL} | {"Europe/London", "America/St_Johns", "UTC"}))
minutes = st.integers(0, 2**31 // 60).map(lambda minute: minute * 60)


def wall_clock(instant: int, zone: str) -> str:
    return datetime.fromtimestamp(instant, ZoneInfo(zone)).strftime("%Y-%m-%dT%H:%M")


@given(minutes, zones)
@example(1_793_514_600, "America/Chicago")  # 2026-11-01T06:30:00Z, the earlier 01:30
@example(1_793_518_200, "America/Chicago")
def test_no_later_instant_has_the_same_wall_clock_time(instant: int, zone: str) -> None:
    local = wall_clock(instant, zone)
    found = local_instant(local, zone)
    assert wall_clock(found, zone) == local
    assert found >= instant
    later = [found + half_hours * 1_800 for half_hours in range(1, 7)]
    assert [each for each in later if wall_clock(each, zone) == local] == []


@pytest.mark.parametrize("text", ["2026-11-03", "2026-11-03T20:00:00", "2026-11-03T20:00Z", "2026-11-31T20:00", ""])
def test_a_schedule_in_another_form_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        local_instant(text, "America/Chicago")


@pytest.mark.parametrize(
    ("instant", "zone", "day"),
    [
        ("2026-11-04T05:59:59Z", "America/Chicago", date(2026, 11, 3)),
        ("2026-11-04T06:00:00Z", "America/Chicago", date(2026, 11, 4)),
        ("2026-11-04T06:00:00Z", "America/Denver", date(2026, 11, 3)),
        ("2011-12-30T09:59:59Z", "Pacific/Apia", date(2011, 12, 29)),
        ("2011-12-30T10:00:00Z", "Pacific/Apia", date(2011, 12, 31)),
    ],
)
def test_the_day_of_an_instant_is_the_local_one(instant: str, zone: str, day: date) -> None:
    assert local_date(parse_instant(instant), zone) == day


@pytest.mark.parametrize(
    ("election", "until"),
    [
        # 22 months after a federal election (52 U.S.C. 20701), as calendar months.
        ("2020-11-03", "2022-09-03"),
        ("2022-11-08", "2024-09-08"),
        ("2024-11-05", "2026-09-05"),
        ("2024-04-30", "2026-02-28"),
        ("2026-04-30", "2028-02-29"),
    ],
)
def test_retention_is_counted_in_calendar_months(election: str, until: str) -> None:
    assert add_months(date.fromisoformat(election), 22).isoformat() == until


@given(st.dates(date(1900, 1, 1), date(2100, 12, 31)), st.integers(0, 600))
def test_months_later_is_the_same_day_or_the_last_of_a_shorter_month(day: date, months: int) -> None:
    later = add_months(day, months)
    assert (later.year * 12 + later.month) - (day.year * 12 + day.month) == months
    assert later.day == day.day or (later.day < day.day and (later + timedelta(days=1)).day == 1)
    assert add_months(day, 0) == day
