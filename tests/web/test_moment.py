"""Who held what: by holder, paged, within so many queries; what is no moment is told beside its field."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pytest_django.fixtures import Settings

from custody import clock, store
from custody.queries.holdings import list_holdings
from custody.queries.moments import first_time, look_at_states
from custody.web import moment as page
from tests.web.evening import DRILL, NAMES, Evening, make_evening
from tests.web.test_pages import html_of, text_of

ALL = "/moment/?at=2026-11-03T21:30"


def test_things_stand_below_who_held_them_with_item_and_entry(client: Client, evening: Evening) -> None:
    html = html_of(client, ALL)
    held = list_holdings(look_at_states(store.open_log("ALDER", DRILL), evening.world.time("21:30")))
    bodies = html.split('<tbody role="rowgroup">')[1:]
    assert len(bodies) == len({each.holder for each in held})
    (drivers,) = [body for body in bodies if NAMES["DRIVER-1-P02"] in body]
    theirs = [each for each in held if "DRIVER-1-P02" in each.holder.people]
    assert f"{len(theirs)} items" in drivers
    assert re.findall(r'scope="row"><a class="code" href="/items/(\w+)/"', drivers) == [each.item for each in theirs]
    for each in theirs:
        assert f'href="/entries/{each.entry}/"' in drivers
    assert "21:30 CST" in html and "America/Chicago" in html


def test_the_filters_take_what_is_scanned(client: Client, evening: Evening) -> None:
    case = evening.world.kits["P02"].case
    one = text_of(client, f"{ALL}&item=https://custody.example/q/{case}")
    assert "1 item held" in one and case in one
    assert text_of(client, f"{ALL}&person=driver-2-p02") != text_of(client, f"{ALL}&person=chief-p02")
    assert "Nothing was held then, by the record." in text_of(client, f"{ALL}&site=CC")


def test_a_place_tells_what_went(client: Client, evening: Evening) -> None:
    text = text_of(client, "/moment/?since=2026-11-03T20:59&at=2026-11-03T21:01&site=p02")
    kit = evening.world.kits["P02"]
    went = set(kit.all) - {kit.scanner, kit.keys}
    assert "Came: 0" in text and "Changed hands: 0" in text
    assert f"Went: {len(went)} " in text and all(code in text for code in went)


def errors(client: Client, query: dict[str, str]) -> dict[str, str]:
    """What is said beside each field, by its name; and that the field points to it."""
    answer = client.get("/moment/", query)
    assert answer.status_code == 422
    html = answer.content.decode()
    found = dict(re.findall(r'<p class="error" id="id_(\w+)_error">(.*?)</p>', html))
    for name in found:
        (field,) = re.findall(rf"<input[^>]*name=\"{name}\"[^>]*>", html)
        assert f'aria-describedby="id_{name}_error"' in field and 'aria-invalid="true"' in field
    return {name: unescape(said) for name, said in found.items()}


def test_what_is_no_moment_of_the_record_is_told_beside_its_field(client: Client, evening: Evening) -> None:
    # 15 U.S.C. 260a: daylight saving time begins on the second Sunday in March at 2:00; in 2026 that is the 8th.
    first = first_time(store.open_log("ALDER", DRILL))
    assert first is not None
    assert errors(client, {"at": "soon"}) == {"at": "This is no date and time. Write it as in 2026-11-03 21:30."}
    assert list(errors(client, {"at": ""})) == ["at"]
    early = errors(client, {"at": "2026-01-05T12:00"})["at"]
    assert early.startswith("The record begins later: its first entry is of ") and "2026" in early
    assert errors(client, {"at": "2026-11-04T12:00"})["at"].startswith("This time has not come yet: it is Tue 3 Nov")
    assert errors(client, {"at": "9999-12-31T23:59"})["at"].startswith("This time has not come yet")
    skipped = errors(client, {"at": "2026-03-08T02:30", "since": "2026-11-03T21:40"})
    assert skipped == {"at": "The clocks were put forward over this time: there was no such time that day."}
    assert list(errors(client, {"at": "2026-11-03T21:30", "since": "2026-11-03T21:40"})) == ["since"]
    for field in ("item", "site", "person"):
        assert list(errors(client, {"at": "2026-11-03T21:30", field: "ZZZ"})) == [field]


def test_an_hour_that_came_twice_is_told(client: Client, evening: Evening) -> None:
    """15 U.S.C. 260a: it ends on the first Sunday in November at 2:00, in 2026 the first, two days before the election."""
    twice = "The clocks were put back that night and this time came twice"
    first = first_time(store.open_log("ALDER", DRILL))
    assert first is not None and first < evening.world.time("01:30", day=-2)
    assert twice in text_of(client, "/moment/?at=2026-11-01T01:30")
    assert "01:30 CDT" in text_of(client, "/moment/?at=2026-11-01T01:30")
    assert twice not in text_of(client, "/moment/?at=2026-11-01T02:30")
    assert twice not in text_of(client, ALL)


def test_pages_of_the_list_hold_everything_once(
    client: Client, evening: Evening, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = re.findall(r'scope="row"><a class="code" href="/items/(\w+)/"', html_of(client, ALL))
    monkeypatch.setattr(page, "PER_PAGE", 4)
    last = -(-len(whole) // 4)
    assert last > 2
    parts = []
    for number in range(1, last + 1):
        html = html_of(client, f"{ALL}&page={number}")
        parts += re.findall(r'scope="row"><a class="code" href="/items/(\w+)/"', html)
        assert ('rel="next"' in html) == (number < last)
    assert parts == whole == list(dict.fromkeys(whole))


@pytest.mark.parametrize("places", [2, 8])
def test_the_page_takes_as_many_queries_however_much_is_held(
    client: Client, db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch, places: int
) -> None:
    settings.CUSTODY_REHEARSAL = DRILL
    evening = make_evening(places=places)
    monkeypatch.setattr(clock, "now", lambda: evening.now)
    counts = {}
    for address in (ALL, "/moment/?at=2026-11-03T21:30&since=2026-11-03T12:00", "/search/?q=BC0", "/search/?q=1008"):
        client.get(address)
        with CaptureQueriesContext(connection) as queries:
            client.get(address)
        counts[address] = len(queries)
    assert list(counts.values()) == [13, 18, 12, 12]
