"""The picture of an item's custody, and the words for times in it."""

from __future__ import annotations

from custody.domain.instants import parse_instant
from custody.queries.history import Event, Standing
from custody.queries.outstanding import Holder
from custody.web.band import draw_band
from custody.web.tags import groups, say_time

CLERK, CHIEF = (
    Holder(role="warehouse_clerk", people=("A",), site="WH"),
    Holder(role="poll_chief", people=("B",), site="P"),
)
NOON = parse_instant("2026-11-03T18:00:00Z")  # in Chicago, six hours behind since two days before
HOUR, DAY = 3_600, 86_400


def event(at: int, holder: Holder | None, seals: dict[str, str], container: str | None = None) -> Event:
    after = Standing(holder=holder, site=None, container=container, seals=seals)
    return Event(entry=str(at), seq=0, at=at, received=at, kind="handoff", site=None, after=after)


def test_a_band_has_a_lane_for_each_holder_container_and_seal_point() -> None:
    events = [
        event(NOON, CLERK, {}),
        event(NOON + DAY, CLERK, {"lid": "S1"}, container="TC1"),
        event(NOON + DAY + HOUR, CHIEF, {"lid": "S2"}),
    ]
    band = draw_band(
        "BC1",
        events,
        now=NOON + 2 * DAY,
        timezone="America/Chicago",
        holder_words=lambda each: (each.role, each.people[0]),
    )
    assert band is not None
    assert [(lane.kind, lane.label, len(lane.bars)) for lane in band.lanes] == [
        ("holder", "warehouse_clerk", 1),
        ("holder", "poll_chief", 1),
        ("container", "in TC1", 1),
        ("seal", "seal at lid: S1, S2", 2),
    ]
    assert band.lanes[0].bars[0].x == "1.00"
    last = band.lanes[1].bars[0]
    assert round(float(last.x) + float(last.width), 1) == 99.0
    assert last.title == "from Wed 4 Nov 2026, 13:00 CST until now"
    assert [tick.label for tick in band.ticks] == ["3 Nov", "4 Nov"]


def test_nothing_on_record_draws_nothing() -> None:
    assert draw_band("BC1", [], now=NOON, timezone="UTC", holder_words=lambda each: ("", "")) is None


def test_times_name_their_zone_and_their_year_unless_it_is_this_one() -> None:
    assert say_time(NOON, "America/Chicago") == "Tue 3 Nov 2026, 12:00 CST"
    assert say_time(NOON, "America/Chicago", now=NOON + DAY) == "Tue 3 Nov, 12:00 CST"
    assert say_time(NOON - 7 * DAY, "America/Chicago", now=NOON) == "Tue 27 Oct, 13:00 CDT"
    assert say_time(NOON, "Etc/GMT+5", now=NOON) == "Tue 3 Nov, 13:00 UTC\N{MINUS SIGN}5"


def test_seal_numbers_stand_in_groups_of_four_from_the_right() -> None:
    assert groups("S0010106") == '<span class="group">S001</span><span class="group">0106</span>'
    assert groups("AB0010106") == (
        '<span class="group">A</span><span class="group">B001</span><span class="group">0106</span>'
    )
