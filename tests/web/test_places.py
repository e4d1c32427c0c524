"""The page of a place's day and the list of places: what each says, and its pictures."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.fixtures import Settings

from custody.domain.instants import parse_instant
from custody.queries.place_day import HourCount
from custody.web.plot import draw_plot
from tests.web.evening import DRILL, NAMES, Evening
from tests.web.test_pages import html_of, strip, text_of
from tests.world import World
from tests.worlds_on_record import put_register

NOON = parse_instant("2026-11-03T18:00:00Z")
HOUR = 3_600


def section(html: str, name: str) -> str:
    """One section of a page, by the id of its heading, as a reader sees it."""
    start = html.index(f'<section aria-labelledby="{name}">')
    return strip(html[start : html.index("</section>", start)])


def test_a_places_day_has_its_steps_counts_account_things_and_what_is_owed(client: Client, evening: Evening) -> None:
    kit = evening.world.kits["P02"]
    html = html_of(client, reverse("place-day", args=["P02"]))
    text = strip(html)
    assert "Polls opened Tue 3 Nov, 07:00 CST" in text and "Polls closed Tue 3 Nov, 20:00 CST" in text
    assert "Left for the way back Tue 3 Nov, 21:00 CST" in text and "Not back yet 9 items" in text
    assert "Results tape signed Tue 3 Nov, 20:0" in section(html, "steps")
    assert "not on record yet" not in section(html, "steps")
    assert "250 252 −2" in section(html, "counts")
    # The worksheet of tests/world.py: 3,203 − 2,685 = 518; 518 − 3 − 3 = 512.
    told = section(html, "account")
    assert "= ballots used 518" in told and "= should be on the scanners 512 on the scanners 512" in told
    assert "Difference 0 adds up" in told and "2 on record, 2 by the closing count" in told
    things = section(html, "items")
    assert f"{kit.case} transfer case on the way not back" in things
    assert f"{kit.scanner} scanner here" in things and f"{kit.scanner} scanner here not back" not in things
    assert f"Courier · {NAMES['DRIVER-1-P02']}, DRIVER-2-P02 since Tue 3 Nov, 21:00 CST" in section(html, "not-back")


def test_the_grid_and_its_table_say_the_same(client: Client, evening: Evening) -> None:
    html = html_of(client, reverse("place-day", args=["P02"]))
    cells = re.findall(r'<li class="cell (\w+)( owed)?">', html)
    rows = re.findall(
        r'<tr role="row"><th role="rowheader" scope="row">[A-Z][a-z ]+</th>((?:<td[^>]*>\d+</td>)+)</tr>', html
    )
    sums = [sum(column) for column in zip(*(map(int, re.findall(r">(\d+)<", row)) for row in rows), strict=True)]
    standings = [standing for standing, _ in cells]
    counted = [standings.count(each) for each in ("here", "way", "elsewhere", "nobody")]
    assert sums == [*counted, sum(bool(owed) for _, owed in cells)]
    assert sums == [2, 8, 0, 0, 9]


def test_the_findings_of_a_place_are_those_that_arose_there_or_are_about_it(client: Client, evening: Evening) -> None:
    html = html_of(client, reverse("place-day", args=["P02"]))
    assert f"/findings/lone-custodian/{evening.lone.id}:receive" in html
    assert "No open findings." in html_of(client, reverse("place-day", args=["P01"]))


def test_a_place_that_takes_things_in_lists_what_it_holds(client: Client, evening: Evening) -> None:
    html = html_of(client, reverse("place-day", args=["RS"]))
    assert evening.world.kits["P01"].case in section(html, "items")
    assert 'aria-labelledby="account"' not in html and 'aria-labelledby="not-back"' not in html


def test_the_list_of_places_says_how_each_stands(client: Client, evening: Evening) -> None:
    html = html_of(client, "/places/")
    text = strip(html)
    assert re.search(r"Site P01 P01 polling place Tue 3 Nov, 2\d:\d\d CST everything back 0 0 0", text)
    assert re.search(r"Site P02 P02 polling place Tue 3 Nov, 21:00 CST 9 1 \d \d", text)
    assert text.index("Site P01") < text.index("Site P02") < text.index("Site RS")
    assert 'href="/places/P02/"' in html


def test_a_place_that_is_not_on_the_register_says_where_to_look(client: Client, evening: Evening) -> None:
    text = text_of(client, "/places/P99/", 404)
    assert "The register has no place with the code “P99”." in text and "All places" in text


@pytest.mark.django_db
def test_a_place_before_anything_happened_says_what_comes(client: Client, settings: Settings) -> None:
    settings.CUSTODY_REHEARSAL = DRILL
    put_register(World(places=1))
    text = text_of(client, "/places/P01/")
    for said in (
        "Nothing counted yet.",
        "No figures on record yet.",
        "Nothing is here,",
        "Nothing is owed by this place",
    ):
        assert said in text
    assert "polling place nothing yet – nothing owed 0 0 0" in text_of(client, "/places/")


def count(at: int, ballots: int | None, checked_in: int | None) -> HourCount:
    return HourCount(at=at, entry=str(at), ballots=ballots, checked_in=checked_in)


def test_a_plot_stands_each_count_at_its_time_and_height() -> None:
    counts = [count(NOON, 0, None), count(NOON + 4 * HOUR, 300, 310), count(NOON + 8 * HOUR, None, 400)]
    plot = draw_plot(counts, opened=NOON, closed=NOON + 8 * HOUR, timezone="America/Chicago", title="P")
    assert plot is not None
    assert [point.x for point in plot.points] == ["12.00", "54.00", "96.00"]
    assert [level.label for level in plot.levels] == ["0", "100", "200", "300", "400"]
    # 200 pixels for 400 ballots, from the floor at 230 upwards.
    assert [(point.ballots_y, point.checked_y) for point in plot.points] == [(230, None), (80, 75), (None, 30)]
    assert [(line.series, line.y1, line.y2) for line in plot.lines] == [("ballots", 230, 80), ("checked", 75, 30)]
    assert [point.difference for point in plot.points] == ["", "−10", ""]
    assert plot.points[1].title.endswith("16:00 CST: public counter 300, checked in 310, difference −10")
    assert [hour.label for hour in plot.hours] == ["12:00", "14:00", "16:00", "18:00", "20:00"]


def test_without_counts_there_is_no_plot() -> None:
    assert draw_plot([], opened=NOON, closed=NOON + HOUR, timezone="UTC", title="P") is None
