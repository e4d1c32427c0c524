"""The page of a seal's life: what it says, its picture, and what it says of a number that nobody knows."""

from __future__ import annotations

import re

from django.test import Client
from django.urls import reverse

from custody.queries.seals import SealEvent, SealHistory
from custody.web.seal_band import draw_seal, say_event
from tests.web.evening import Evening
from tests.web.test_pages import html_of, strip, text_of

HOUR = 3_600


def seal_of(evening: Evening) -> tuple[str, str]:
    """A container of the place that is back, and the number at its front."""
    box = evening.world.kits["P01"].containers[0]
    return box, evening.world.in_place[box, "front"]


def test_a_seals_page_tells_its_lot_its_way_and_where_it_is(client: Client, evening: Evening) -> None:
    box, number = seal_of(evening)
    html = html_of(client, reverse("seal", args=[number]))
    text = strip(html)
    assert f"Where it is at front of {box} ballot container" in text
    assert "LOT-PLACES , S0001000..S0001039" in text and "issued to Site P01" in text
    life = strip(html[html.index('<section aria-labelledby="life"') :])
    told = re.findall(r"CST (Handed over loose|Put on|Read, as S0099999|Read)", life)
    # Issued and delivered loose, put on, read when it left, when it arrived, wrongly at the desk, and there again.
    assert told == ["Handed over loose"] * 2 + ["Put on", "Read", "Read", "Read, as S0099999", "Read"]
    assert f'href="{reverse("entry", args=[evening.misread.id])}"' in html
    assert "Findings that name it" in text and "Cleared" in text


def test_its_picture_has_a_lane_for_each_point_and_a_form_for_each_thing_that_happened(
    client: Client, evening: Evening
) -> None:
    box, number = seal_of(evening)
    html = html_of(client, reverse("seal", args=[number]))
    labels = re.findall(r'<text x="8" y="\d+">([^<]+)</text>', html[: html.index('class="hint"')])
    assert labels == ["not on anything", f"on {box} at front", "seen there"]
    assert re.search(rf'aria-label="in place on {box} at front, from [^"]+ until now"', html)
    assert html.count('<li><svg class="shape-key"') == 4  # wrong, put on, handed over, read


def test_every_page_that_shows_a_seals_number_leads_to_its_life(client: Client, evening: Evening) -> None:
    box, number = seal_of(evening)
    address = f'href="/seals/{number}/"'
    pages = (
        f"/items/{box}/",
        f"/entries/{evening.put_right.id}/",
        f"/findings/seal-mismatch/{evening.misread.id}:{box}:front",
    )
    assert {page: address in html_of(client, page) for page in pages} == dict.fromkeys(pages, True)


def test_a_number_of_two_makers_shows_the_lot_of_each(client: Client, evening: Evening) -> None:
    text = text_of(client, "/seals/T0000007/")
    assert "Several makers have printed this number." in text
    assert text.count("Lot of ") == 2
    assert "nothing on record yet: it should be loose, where its lot is" in text
    assert "No entry names this seal yet." in text


def test_a_number_that_nobody_knows_says_what_to_do(client: Client, evening: Evening) -> None:
    for number in ("Q99", "A/B 7", "%2E"):
        text = text_of(client, reverse("seal", args=[number]), 404)
        assert f"Seal {number} Nobody has this number on record" in text
        assert "keep the seal, record what was found where, and tell the office" in text


def seen(what: str, at: int, **more: str) -> SealEvent:
    event = SealEvent(what=what, entry=str(at), seq=0, at=at, received=at, kind="inspect", site=None)
    return SealEvent(**{**{name: getattr(event, name) for name in SealEvent.__slots__}, **more})


def test_a_seal_that_was_taken_off_stands_in_its_lane_until_then() -> None:
    on = {"item": "BC1", "point": "lid"}
    events = (
        seen("applied", 0, **on),
        seen("read", HOUR, **on, state="damaged"),
        seen("removed", 2 * HOUR, **on, state="intact"),
    )
    history = SealHistory(number="S1", lots=(), events=events, in_place=())
    picture = draw_seal(history, now=3 * HOUR, timezone="UTC")
    assert picture is not None
    in_place, there = picture.lanes
    assert [bar.title for bar in in_place.bars] == [
        "in place on BC1 at lid, from Thu 1 Jan 1970, 00:00 UTC until Thu 1 Jan 1970, 02:00 UTC"
    ]
    assert [mark.shape for mark in there.marks] == ["applied", "wrong", "removed"]
    assert say_event(events[1]) == "Read: damaged"
