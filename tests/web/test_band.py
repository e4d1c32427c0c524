"""The picture of an item's custody, and the words for times in it."""

from __future__ import annotations

from custody.domain.instants import parse_instant
from custody.queries.history import Event, Standing
from custody.queries.outstanding import Holder
from custody.web.band import draw_band
from custody.web.tags import groups, say_time
from custody.web.timeline import Noted, draw_marks, make_scale

CLERK, CHIEF = (
    Holder(role="warehouse_clerk", people=("A",), site="WH"),
    Holder(role="poll_chief", people=("B",), site="P"),
)
NOON = parse_instant("2026-11-03T18:00:00Z")  # in Chicago, six hours behind since two days before
HOUR, DAY = 3_600, 86_400


def event(at: int, holder: Holder | None, seals: dict[str, str], container: str | None = None) -> Event:
    after = Standing(holder=holder, site=holder.site if holder else None, container=container, seals=seals)
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
        site_words=lambda code: f"Site {code}",
        entry_url=lambda entry: f"/entries/{entry}/",
    )
    assert band is not None
    assert [(lane.kind, lane.label, len(lane.bars)) for lane in band.lanes] == [
        ("site", "place: WH, P", 2),
        ("holder", "warehouse_clerk", 1),
        ("holder", "poll_chief", 1),
        ("container", "in TC1", 1),
        ("seal", "seal at lid: S1, S2", 2),
    ]
    assert band.lanes[1].bars[0].x == "1.00"
    last = band.lanes[2].bars[0]
    assert round(float(last.x) + float(last.width), 1) == 99.0
    assert last.title == "poll_chief, from Wed 4 Nov 2026, 13:00 CST until now"
    assert [tick.label for tick in band.ticks] == ["3 Nov", "4 Nov"]


def test_nothing_on_record_draws_nothing() -> None:
    nothing = draw_band(
        "BC1", [], now=NOON, timezone="UTC", holder_words=lambda each: ("", ""), site_words=str, entry_url=str
    )
    assert nothing is None


def noted(at: int, rank: int, what: str) -> Noted:
    return Noted(at=at, rank=rank, shape=("critical", "warning", "notice")[rank], what=what, href=f"/{what}")


def test_marks_that_a_finger_could_not_tell_apart_are_one_of_the_gravest_shape() -> None:
    """24 of 320 CSS pixels are 7.5 percent: WCAG 2.2, 2.5.8 and 1.4.10."""
    scale = make_scale([NOON, NOON + DAY], "UTC")
    marks = draw_marks(
        [noted(NOON, 2, "first"), noted(NOON + HOUR, 0, "second"), noted(NOON + 12 * HOUR, 1, "third")],
        scale,
    )
    assert [(mark.shape, mark.sign, mark.what, mark.href) for mark in marks] == [
        ("critical", "2", "first; second", "/second"),
        ("warning", "", "third", "/third"),
    ]
    assert marks[1].x == "50.00"
    assert marks[0].title == "first; second, Tue 3 Nov 2026, 18:00 UTC"


def test_a_moment_between_two_of_a_scale_stands_between_them() -> None:
    scale = make_scale([NOON, NOON + HOUR, NOON + 3 * DAY], "UTC")
    assert scale.place(NOON - DAY) == scale.edges[0] == 1
    assert scale.place(NOON + HOUR // 2) == (scale.edges[0] + scale.edges[1]) / 2
    assert scale.place(NOON + 9 * DAY) == scale.edges[2]
    # An hour is drawn wider than its share of three days, and yet narrower than what is longer.
    assert 100 / 72 < scale.edges[1] - scale.edges[0] < scale.edges[2] - scale.edges[1]


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
