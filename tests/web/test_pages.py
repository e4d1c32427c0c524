"""The pages: what each says of one evening, to whom, and in how many queries."""

from __future__ import annotations

import re
from html import unescape

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.fixtures import Settings

from custody import clock
from tests.web.evening import DRILL, NAMES, PHONE, Evening, make_evening

CLEARED = "seal-mismatch"


def text_of(client: Client, address: str, status: int = 200) -> str:
    """The page as a reader sees it: without tags, spaces as one."""
    return strip(html_of(client, address, status))


def html_of(client: Client, address: str, status: int = 200) -> str:
    response = client.get(address)
    assert response.status_code == status, address
    return response.content.decode()


def strip(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def addresses(evening: Evening) -> list[str]:
    """One of every page."""
    box = evening.world.kits["P01"].containers[0]
    return [
        "/",
        "/findings/",
        "/findings/?status=all",
        reverse("finding", args=[f"lone-custodian/{evening.lone.id}:receive"]),
        reverse("rules"),
        reverse("rule", args=["lone-custodian"]),
        reverse("item", args=[box]),
        "/search/?q=BC0",
        reverse("container", args=[box]),
        reverse("seal", args=[evening.world.in_place[box, "front"]]),
        reverse("places"),
        reverse("place-day", args=["P02"]),
        reverse("entry", args=[evening.lone.id]),
        "/night/",
        "/night/wall/",
        "/night/report/",
        "/sign-in/",
    ]


def test_the_start_page_lists_what_is_not_back_with_holder_and_number_to_ring(client: Client, evening: Evening) -> None:
    text = text_of(client, "/")
    kit = evening.world.kits["P02"]
    assert "places in 1 of 2 places not in 1 items not back yet 9 critical finding 1" in text
    assert "Site P02" in text and "Everything is due back by Wed 4 Nov, 02:00 CST" in text
    assert (
        f"Courier · {NAMES['DRIVER-1-P02']}, DRIVER-2-P02 since Tue 3 Nov, 21:00 CST (1 h 00 min) Ring {PHONE}" in text
    )
    assert f"{kit.case} transfer case" in text
    assert f"{kit.memory} memory device in {kit.envelope}" in text
    assert evening.world.kits["P01"].case not in text


def test_the_start_page_shows_critical_findings_before_others(client: Client, evening: Evening) -> None:
    html = html_of(client, "/")
    severities = re.findall(r'class="tag (critical|warning|notice)"', html)
    assert severities[0] == "critical"
    assert severities == sorted(severities, key=("critical", "warning", "notice").index)
    assert f'href="{reverse("finding", args=[f"lone-custodian/{evening.lone.id}:receive"])}"' in html


def test_every_page_names_the_rehearsal_and_the_caution(client: Client, evening: Evening) -> None:
    for address in addresses(evening):
        text = text_of(client, address)
        assert f"Rehearsal “{DRILL}”. Nothing on this page is in earnest." in text, address
        assert "A matching seal number does not prove that nothing was opened." in text, address
        assert "Heavy cases: lift with two. Never chase a vehicle." in text, address


def test_no_page_has_anything_inline(client: Client, evening: Evening) -> None:
    for address in addresses(evening):
        html = html_of(client, address)
        data, module = r" id=\"\w+\" type=\"application/json\"", r" type=\"module\" src="
        inline = rf"<style|<script(?!{data}|{module})|\sstyle=|\son\w+=|javascript:"
        assert re.findall(inline, html) == [], address
    assert "style-src 'self'" in client.get("/").headers["Content-Security-Policy"]


@pytest.mark.parametrize(
    ("query", "rules"),
    [
        ("severity=critical", {"lone-custodian"}),
        ("rule=lone-custodian&site=P02", {"lone-custodian"}),
        ("site=P01", set()),
        ("status=cleared", {"seal-mismatch"}),
        ("status=resolved", {"signer-missing"}),
    ],
)
def test_findings_are_filtered(client: Client, evening: Evening, query: str, rules: set[str]) -> None:
    html = html_of(client, f"/findings/?{query}")
    assert set(re.findall(r'href="/findings/([a-z-]+)/', html)) == rules


def test_a_finding_shows_its_entries_and_that_it_is_not_settled(client: Client, evening: Evening) -> None:
    html = html_of(client, reverse("finding", args=[f"lone-custodian/{evening.lone.id}:receive"]))
    assert f'href="{reverse("entry", args=[evening.lone.id])}"' in html
    assert "Not settled yet." in html
    assert "Critical Open" in strip(html)


def test_a_cleared_finding_names_the_act_that_put_it_right(client: Client, evening: Evening) -> None:
    box = evening.world.kits["P01"].containers[0]
    html = html_of(client, f"/findings/seal-mismatch/{evening.misread.id}:{box}:front")
    assert "A later act put its cause right:" in html
    assert f'href="{reverse("entry", args=[evening.put_right.id])}"' in html


def test_a_resolved_finding_names_the_entry_that_settled_it(client: Client, evening: Evening) -> None:
    html = html_of(client, f"/findings/signer-missing/{evening.lone.id}:receive")
    assert "It was settled by a signed entry:" in html
    assert f'href="{reverse("entry", args=[evening.explained.id])}"' in html
    assert "Outcome Explained Done by Official · OFFICE-1 Reason Looked into" in strip(html)


def test_an_unknown_finding_is_not_found(client: Client, evening: Evening) -> None:
    assert "There is no such page" in text_of(client, "/findings/lost/XX", 404)


def test_an_item_shows_holder_seals_and_every_entry(client: Client, evening: Evening) -> None:
    box = evening.world.kits["P01"].containers[0]
    html = html_of(client, f"/items/{box}/")
    about = [each for each in evening.world.log if box in str(each.payload)]
    assert html.count('<th role="rowheader" scope="row"><a href="/entries/') == len(about)
    text = strip(html)
    assert "Held by Receiving clerk · DESK-1, DESK-2 · Site RS" in text
    assert f"front {evening.world.in_place[box, 'front'][:4]} {evening.world.in_place[box, 'front'][4:]}" in text
    assert f"Custody of {box} over time" in text
    assert "Handoff: return" in text
    # The finding of the misread seal, settled since, stands in the picture and in the list.
    finding = f"/findings/seal-mismatch/{evening.misread.id}:{box}:front"
    marks = re.findall(r'<a class="at" href="([^"]+)" aria-label="Critical: [^"]+"', html)
    assert marks == [finding] and html.count(f'href="{finding}"') == 2
    assert text.index("Settled findings") > text.index("History")


def test_a_label_address_answers_in_any_case_without_a_redirect(client: Client, evening: Evening) -> None:
    box = evening.world.kits["P01"].containers[0]
    for address in (f"/Q/{box}", f"/q/{box.lower()}", f"/Q/{box.lower()}/"):
        assert text_of(client, address).startswith(f"{box} ballot container"), address


def test_an_item_is_found_by_a_code_that_was_read_forgivingly(client: Client, evening: Evening) -> None:
    box = evening.world.kits["P01"].containers[0]
    typed = f"{box[:2]} {box[2:].replace('0', 'o')}".lower()
    response = client.get("/search/", {"q": typed})
    assert response.headers["Location"] == f"/items/{box}/"


def test_a_code_that_does_not_exist_is_asked_about(client: Client, evening: Evening) -> None:
    assert "Nothing is called “ZZ999”." in text_of(client, "/search/?q=ZZ999")


def test_an_entry_shows_its_leaf_and_who_has_not_signed(client: Client, evening: Evening) -> None:
    text = text_of(client, reverse("entry", args=[evening.lone.id]))
    receipt = evening.receipts[evening.lone.id]
    assert text.startswith("Handoff: return") and f"Leaf hash {receipt.leaf.hex()}" in text
    assert f"ALDER/{DRILL} {receipt.seq}" in text
    assert "DRIVER-2-P02 not signed" in text
    proof = reverse("api:proof", args=["ALDER", DRILL, evening.lone.id])
    assert f'href="{proof}"' in html_of(client, reverse("entry", args=[evening.lone.id]))
    assert f"{NAMES['DRIVER-1-P02']} DRIVER-1-P02 yes" in text


def test_the_log_in_earnest_asks_for_a_sign_in_and_keeps_names_for_those_who_ring(
    client: Client, db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    evening = make_evening(log="main")
    monkeypatch.setattr(clock, "now", lambda: evening.now)
    for address in addresses(evening)[:-1]:
        assert client.get(address).headers["Location"].startswith("/sign-in/?next=/"), address
    User.objects.create_user("clerk", password="sixteen herons fly")
    User.objects.create_user("office", password="sixteen herons fly", is_staff=True)
    assert client.post("/sign-in/", {"username": "clerk", "password": "wrong"}).status_code == 200
    signed_in = client.post("/sign-in/", {"username": "clerk", "password": "sixteen herons fly", "next": "/findings/"})
    assert signed_in.headers["Location"] == "/findings/"
    seen = text_of(client, "/")
    assert f"{NAMES['DRIVER-1-P02']}, DRIVER-2-P02" in seen
    assert "Rehearsal" not in seen
    client.post("/sign-out/")
    client.force_login(User.objects.get(username="office"))
    assert f"{NAMES['DRIVER-1-P02']}, DRIVER-2-P02" in text_of(client, "/")


def test_an_empty_installation_says_what_to_do(client: Client, db: None, settings: Settings) -> None:
    settings.CUSTODY_REHEARSAL = DRILL
    assert "python manage.py load_register FOLDER --dry-run" in text_of(client, "/")


def test_what_went_wrong_has_a_page_in_the_same_look(client: Client, evening: Evening) -> None:
    assert f"Rehearsal “{DRILL}”" in text_of(client, "/nowhere", 404)
    client.raise_request_exception = False
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(clock, "now", lambda: 1 // 0)
        assert "What was on record before is still on record." in text_of(client, "/", 500)


def test_a_page_takes_fewer_queries_than_it_lists_things(
    client: Client, db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.CUSTODY_REHEARSAL = DRILL
    evening = make_evening(places=4)
    monkeypatch.setattr(clock, "now", lambda: evening.now)
    box = evening.world.kits["P01"].containers[0]
    assert html_of(client, "/").count('class="code" href="/items/') > 30
    counts = {}
    for address in ("/", "/findings/?status=all", f"/items/{box}/", f"/entries/{evening.lone.id}/"):
        with CaptureQueriesContext(connection) as queries:
            html_of(client, address)
        counts[address] = len(queries)
    assert all(count <= 25 for count in counts.values()), counts


@pytest.mark.parametrize("address", ["/items/%00/", "/Q/%00", "/entries/%00/", "/findings/%00", "/search/?q=BC%00"])
def test_a_zero_character_in_an_address_is_a_bad_request(client: Client, evening: Evening, address: str) -> None:
    # PostgreSQL keeps no such text and refuses to compare with it.
    assert "This request cannot be read" in text_of(client, address, 400)
