"""The pages of the rules, the filters of findings, and what a finding says of its rule and of policy."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.fixtures import Settings

from custody import clock
from custody.domain.rules import RULE_CODES
from custody.services.change_policy import change_policy
from tests.web.evening import DRILL, NAMES, Evening, make_evening
from tests.web.test_pages import html_of, strip, text_of
from tests.world_register import JURISDICTION


def found_on(client: Client, query: str) -> set[str]:
    """The keys of the findings that the page lists."""
    return set(re.findall(r'class="finding-what"><a href="/findings/([^"]+)"', html_of(client, f"/findings/?{query}")))


def test_every_rule_has_a_page_that_the_list_leads_to(client: Client, evening: Evening) -> None:
    listed = re.findall(r'class="rule-link" href="/rules/([a-z-]+)/"', html_of(client, "/rules/"))
    assert sorted(listed) == list(RULE_CODES)
    for code in RULE_CODES:
        main = html_of(client, f"/rules/{code}/").split("<main", 1)[1].split("</main>", 1)[0]
        text = strip(main)
        assert "{" not in main and "Next:" in text, code
        assert all(part in text for part in (code, "What it checks", "Why it matters", "Source", "It looks at")), code
    assert "There is no such page" in text_of(client, "/rules/no-such-rule/", 404)


def test_a_rule_names_its_law_and_the_policy_in_force(client: Client, evening: Evening) -> None:
    # Texas Election Code 66.053 and 129.051(b), as the policy's defaults have them (from memory).
    text = text_of(client, "/rules/not-read-in/")
    assert "Texas Election Code 66.053: at most 24 hours." in text
    assert "results are read in 24 read_in.hours" in text
    assert "The defaults hold" in text
    pair = text_of(client, "/rules/lone-custodian/")
    assert "Texas Election Code 129.051(b)" in pair
    assert "People of a party who sign for a controlled thing 2 people.controlled" in pair
    assert "Takes two people: envelope when it holds what is controlled items.envelope.controlled" in pair
    assert "Nothing: it is the same in every jurisdiction." in text_of(client, "/rules/custody-gap/")


def test_the_list_counts_what_is_open(client: Client, evening: Evening) -> None:
    html = html_of(client, "/rules/")
    assert re.search(r'href="/findings/\?rule=lone-custodian">1<', html)
    assert 'href="/findings/?rule=lost"' not in html


def test_a_finding_says_what_it_means_and_by_which_policy(client: Client, evening: Evening) -> None:
    address = reverse("finding", args=[f"lone-custodian/{evening.lone.id}:receive"])
    html, text = html_of(client, address), text_of(client, address)
    assert 'href="/rules/lone-custodian/"' in html
    assert "Why it matters Two people who watch each other" in text
    assert "What to do If a second person was there, have them sign" in text
    assert "People of a party who sign for a controlled thing 2 people.controlled" in text
    assert "Takes two people: transfer case yes items.transfer_case.controlled" in text
    assert "items.pollbook.controlled" not in text, "it is about no pollbook"
    assert "people.steps" not in text, "it is about no step"
    assert "The defaults hold: no policy of its own was in force." in text


def test_a_finding_shows_the_policy_of_its_own_time_and_the_rule_that_of_now(client: Client, evening: Evening) -> None:
    change_policy(
        JURISDICTION, {"people": {"controlled": 3}}, valid_from=evening.now - 60, user="tests", now=evening.now
    )
    address = reverse("finding", args=[f"lone-custodian/{evening.lone.id}:receive"])
    assert "for a controlled thing 2 people.controlled" in text_of(client, address)
    now = text_of(client, "/rules/lone-custodian/")
    assert "for a controlled thing 3 people.controlled" in now
    assert "In force since Tue 3 Nov 2026, 21:59 CST" in now


def test_findings_are_chosen_by_item_person_and_status(client: Client, evening: Evening) -> None:
    lone = f"lone-custodian/{evening.lone.id}:receive"
    missing = f"signer-missing/{evening.lone.id}:receive"
    memory, case = evening.world.kits["P02"].envelope, evening.world.kits["P02"].case
    box = evening.world.kits["P01"].containers[0]
    assert found_on(client, f"item={case}") == {lone}
    assert found_on(client, f"item={case.lower()}") == {lone}
    assert found_on(client, f"item={memory}") == found_on(client, f"item={memory}&severity=critical")
    assert found_on(client, "person=DRIVER-2-P02") == set()
    assert found_on(client, "person=driver-2-p02&status=resolved") == {missing}
    assert found_on(client, "person=DRIVER-2-P02&status=all") == {missing}
    assert found_on(client, f"item={box}&status=cleared") == {f"seal-mismatch/{evening.misread.id}:{box}:front"}
    assert found_on(client, "status=withdrawn") == set()
    assert found_on(client, "status=no-such-status") == found_on(client, "status=open") == {lone}, (
        "as the form then shows"
    )


def test_a_badge_in_the_filter_leaves_no_secret_on_the_page(client: Client, evening: Evening) -> None:
    for address in ("/findings/?status=all&person=", "/search/?status=all&q=", "/moment/?status=all&person="):
        sent_on = client.get(f"{address}cb1:driver-2-p02:0123456789SECRET").headers["Location"]
        assert sent_on == f"{address}driver-2-p02"
    assert 'value="DRIVER-2-P02"' in html_of(client, "/findings/?status=all&person=driver-2-p02")


def test_a_place_can_be_chosen_by_name_and_a_rule_by_its_title(client: Client, evening: Evening) -> None:
    html = html_of(client, "/findings/")
    assert '<option value="P02">Site P02 (P02)</option>' in html
    assert '<option value="lone-custodian">One person where two are asked for</option>' in html
    assert NAMES["DRIVER-1-P02"] in html


@pytest.mark.parametrize("places", [2, 8])
def test_these_pages_take_no_more_queries_for_more_places(
    client: Client, db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch, places: int
) -> None:
    settings.CUSTODY_REHEARSAL = DRILL
    evening = make_evening(places=places)
    # When every limit has passed, all that is missing is a finding.
    monkeypatch.setattr(clock, "now", lambda: evening.now + 100 * 3600)
    kit = evening.world.kits["P02"]
    lone = reverse("finding", args=[f"lone-custodian/{evening.lone.id}:receive"])
    most = {"/rules/": 9, "/rules/unreturned/": 13, "/findings/": 15, f"/findings/?item={kit.case}": 15, lone: 16}
    counts = {}
    for address in most:
        html_of(client, address)
        with CaptureQueriesContext(connection) as queries:
            html_of(client, address)
        counts[address] = len(queries)
    # One fewer where the first page of a list names nobody.
    assert {
        address: count for address, count in counts.items() if not most[address] - 1 <= count <= most[address]
    } == {}
