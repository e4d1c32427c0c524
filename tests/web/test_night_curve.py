"""The curve as a picture and as a table, from figures added up by hand."""

from __future__ import annotations

from itertools import pairwise

from custody.queries.night_curve import Curve
from custody.queries.places import CurrentElection
from custody.web.night_curve import NightCurve, draw_curve

CLOSED = 1_793_757_600  # 2026-11-03, 20:00 CST
HOUR, MINUTE = 3600, 60


def curve(places: list[int], items: list[tuple[int, int]], *, all_places: int, all_items: int, name: str) -> Curve:
    return Curve(election=name, name=name, places=places, items=items, all_places=all_places, all_items=all_items)


def drawn(*curves: Curve, hours: float) -> NightCurve:
    election = CurrentElection(
        code="E", name="E", date="2026-11-03", polls_close=CLOSED, return_deadline=CLOSED + 6 * HOUR
    )
    now = CLOSED + int(hours * HOUR)
    found = draw_curve(curves, now=now, election=election, timezone="America/Chicago")
    assert found is not None
    return found


NOW = curve([45 * MINUTE, 80 * MINUTE], [(30 * MINUTE, 5), (45 * MINUTE, 5), (80 * MINUTE, 10)],
            all_places=4, all_items=40, name="now")  # fmt: skip
BEFORE = curve([HOUR, 3 * HOUR], [(HOUR, 1), (3 * HOUR, 1)], all_places=2, all_items=2, name="before")


def test_the_table_has_every_half_hour_and_the_present() -> None:
    found = drawn(NOW, BEFORE, hours=1.4)
    assert [(row.hours, row.time, row.places, row.items, row.before) for row in found.rows] == [
        ("0:00", "20:00 CST", 0, 0, "0/2"),
        ("0:30", "20:30 CST", 0, 5, "0/2"),
        ("1:00", "21:00 CST", 1, 10, "1/2"),
        ("1:24", "21:24 CST", 2, 20, "1/2"),
    ]
    assert found.description == "Since the polls closed: 2 of 4 places are in, 20 of 40 items are back."


def test_lines_end_at_the_present_and_their_labels_do_not_meet() -> None:
    found = drawn(NOW, BEFORE, hours=1.5)
    lines = {line.kind: line for line in found.lines}
    assert [line.label for line in found.lines] == ["places 50 %", "items 50 %", "before 100 %"]
    assert lines["places"].points.split()[-1] == "500,50.0"  # an hour and a half of three, half of the height
    assert lines["before"].points.split()[-1] == "1000,0.0"
    heights = sorted(line.y for line in found.lines)
    assert min(after - before for before, after in pairwise(heights)) >= 17
    assert [label for label, _, _ in found.ticks] == ["20:00", "21:00", "22:00", "23:00"]


def test_a_line_has_steps_and_no_more_points_than_there_is_width_for() -> None:
    found = drawn(NOW, hours=1.5)
    assert found.lines[0].points == "0,100.0 376,100.0 376,75.0 668,75.0 668,50.0 750,50.0 750,50.0"
    many = curve(
        list(range(0, 5_000)), [(each, 1) for each in range(5_000)], all_places=5_000, all_items=5_000, name="m"
    )
    assert len(drawn(many, hours=1.5).lines[0].points.split()) < 1_100


def test_before_anything_is_owed_there_is_no_curve() -> None:
    election = CurrentElection(code="E", name="E", date="", polls_close=CLOSED, return_deadline=CLOSED)
    nothing = curve([], [], all_places=0, all_items=0, name="now")
    assert draw_curve([nothing], now=CLOSED, election=election, timezone="UTC") is None
