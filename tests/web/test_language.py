"""Pages in Spanish: chosen by the browser or by hand, whole, and the phone's frames with them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from html import unescape

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils.translation import deactivate, override

from custody.web import worker
from custody.web.tags import say_time
from custody.web.work import list_frames, list_hosts
from tests.translated import PLACEHOLDER, Visible, catalog, written
from tests.web.evening import Evening
from tests.web.test_pages import addresses

ES = {"Accept-Language": "es-US,es;q=0.9,en;q=0.5"}
LONG = 13
"""Shorter texts are too often part of a name or of a code."""


@pytest.fixture(autouse=True)
def _leave_no_language_behind() -> Iterator[None]:
    """A request leaves its thread in its language; the next one sets its own."""
    yield
    deactivate()


def english() -> set[str]:
    """Pieces of the original texts that must not be met on a Spanish page."""
    pieces = set[str]()
    for message in catalog(written("es")):
        forms = message.id if message.pluralizable else (message.id,)
        translated = " ".join(message.string) if message.pluralizable else message.string
        found = {piece.strip(" .:,;“”()") for form in forms for piece in PLACEHOLDER.split(form)}
        pieces |= {piece for piece in found if len(piece) >= LONG and piece not in translated}
    return pieces


def seen(client: Client, address: str, status: int = 200) -> str:
    """What people read of a page, or the words of the scripts."""
    response = client.get(address, headers=ES)
    assert response.status_code == status, address
    html = response.content.decode()
    if address == reverse("work-words"):
        return "\n".join(json.loads(html.removeprefix("export default ").removesuffix(";\n")).values())
    assert '<html lang="es-US">' in html, address
    page = Visible()
    page.feed(html)
    return "\n".join(page.found)


@pytest.mark.one_engine
def test_no_page_says_in_english_what_is_translated(admin_client: Client, evening: Evening) -> None:
    originals = english()
    assert len(originals) > 600
    box = evening.world.kits["P01"].containers[0]
    more = [
        "/search/", "/search/?q=nothing", "/findings/?severity=notice", "/people/", "/people/CHIEF-P02/", "/second-factor/",
        *(reverse("entry", args=[each.id]) for each in (evening.misread, evening.put_right, evening.explained)),
        reverse("finding", args=[f"seal-mismatch/{evening.misread.id}:{box}:front"]),
    ]  # fmt: skip
    signed_in = [address for address in addresses(evening) if address != "/sign-in/"]
    pages = {
        address: seen(admin_client, address) for address in [*signed_in, *more, *list_frames(), reverse("work-words")]
    }
    pages["/sign-in/"] = seen(Client(), "/sign-in/")
    pages["/nowhere/"] = seen(admin_client, "/nowhere/", 404)
    assert len(pages) > 25
    left = {address: sorted(each for each in originals if each in text) for address, text in pages.items()}
    assert {address: found for address, found in left.items() if found} == {}


@pytest.mark.one_engine
def test_what_is_looked_for_is_on_the_pages_in_english(client: Client, evening: Evening) -> None:
    """The check above would find it: the same start page in English has many of the originals."""
    page = Visible()
    page.feed(client.get("/").content.decode())
    text = "\n".join(page.found)
    assert {"items not back yet", "critical finding", "memory device"} <= {
        each for each in english() | {"memory device"} if each in text
    }


@pytest.mark.one_engine
def test_an_evening_reads_in_spanish(client: Client, evening: Evening) -> None:
    text = " ".join(seen(client, "/").split())
    assert "Todo debe estar de vuelta antes de mié 4 nov, 02:00 CST" in text
    assert "lugares que llegaron 1 de 2 lugares por llegar 1 artículos por devolver 9 hallazgo crítico 1" in text
    assert f"{evening.world.kits['P02'].case} maletín de traslado" in text


@pytest.mark.one_engine
def test_a_page_offers_the_other_language_and_keeps_what_was_chosen(client: Client, evening: Evening) -> None:
    page = client.get("/findings/?status=all").content.decode()
    assert '<html lang="en">' in page
    form = re.search(r'<form class="languages" method="post" action="(.*?)".*?</form>', page, re.DOTALL)
    assert form is not None
    assert re.findall(r'<button name="language" value="(\w+)" lang="(\w+)">(.*?)</button>', form[0]) == [
        ("es", "es", "Español")
    ]
    target = re.search(r'name="next" value="(.*?)"', form[0])
    assert target is not None
    answer = client.post(form[1], {"language": "es", "next": unescape(target[1])})
    assert (answer.status_code, answer["Location"]) == (302, "/findings/?status=all")
    cookie = answer.cookies["django_language"]
    assert (cookie.value, cookie["samesite"], cookie["max-age"]) == ("es", "Lax", 365 * 86_400)
    again = client.get("/findings/?status=all", headers={"Accept-Language": "en"}).content.decode()
    assert '<html lang="es-US">' in again
    assert '<button name="language" value="en" lang="en">English</button>' in again


def test_the_form_takes_no_other_language_and_leads_nowhere_else(client: Client) -> None:
    answer = client.post(reverse("set_language"), {"language": "xx", "next": "https://elsewhere.example/"})
    assert answer["Location"] == "/"
    assert "django_language" not in answer.cookies


def test_the_form_needs_its_token() -> None:
    strict = Client(enforce_csrf_checks=True)
    assert strict.post(reverse("set_language"), {"language": "es"}).status_code == 403


@pytest.mark.parametrize("path", list_frames())
def test_a_frame_comes_in_the_language_chosen(client: Client, path: str) -> None:
    client.cookies["django_language"] = "es"
    answer = client.get(path, headers={"Accept-Language": "en"})
    page = answer.content.decode()
    assert '<html lang="es-US">' in page
    assert "Ir al contenido" in page
    assert answer["Content-Language"] == "es"
    assert "Accept-Language" in answer["Vary"]
    assert "no-cache" in answer["Cache-Control"]


@pytest.mark.one_engine
def test_a_frame_in_spanish_is_the_same_for_everybody(client: Client, admin_client: Client, evening: Evening) -> None:
    for path in list_frames():
        mine, theirs = (each.get(path, headers=ES).content for each in (client, admin_client))
        assert mine == theirs, path


def constants(client: Client) -> dict[str, str]:
    text = client.get("/at-work/worker.js").content.decode()
    return dict(re.findall(r'^const (VERSION|LANGUAGE) = "(\w+)";$', text, re.MULTILINE))


def test_the_worker_is_another_version_in_another_language(client: Client) -> None:
    in_english = constants(client)
    client.cookies["django_language"] = "es"
    in_spanish = constants(client)
    assert (in_english["LANGUAGE"], in_spanish["LANGUAGE"]) == ("en", "es")
    assert in_english["VERSION"] != in_spanish["VERSION"]
    assert in_spanish["VERSION"] == worker.version(settings.CUSTODY_REHEARSAL, "es", *list_hosts())


@pytest.mark.parametrize(
    ("instant", "said"),
    [
        (1_793_762_700, "mar 3 nov 2026, 21:25 CST"),
        (1_772_593_500, "mar 3 mar 2026, 21:05 CST"),
        (1_780_758_300, "sáb 6 jun 2026, 10:05 CDT"),
    ],
)
def test_times_read_as_in_spanish(instant: int, said: str) -> None:
    """Days and months are small letters in Spanish (Ortografía de la lengua española, 2010; from memory)."""
    with override("es"):
        assert say_time(instant, "America/Chicago") == said


def test_a_user_who_signs_in_stays_in_the_language(client: Client, db: None) -> None:
    User.objects.create_user("clerk", password="a password of some length")
    client.cookies["django_language"] = "es"
    client.post(reverse("sign-in"), {"username": "clerk", "password": "a password of some length"})
    assert '<html lang="es-US">' in client.get("/nowhere/").content.decode()
