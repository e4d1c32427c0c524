"""The auditor's room: search, seals, containers, places, who held what, rules; figures against what commands print."""

from __future__ import annotations

import json
import re
from collections import Counter

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pytest_django.fixtures import Settings

from custody import clock, store
from custody.domain.instants import dump_instant
from custody.models.register import Item
from custody.queries.findings import list_findings
from custody.queries.outstanding import list_outstanding
from custody.queries.place_day import get_place_day
from tests.management.test_commands import run
from tests.web.evening import DRILL, Evening, make_evening
from tests.web.test_pages import strip, text_of
from tests.world_register import ELECTION, JURISDICTION
from tests.worlds_on_record import put_deeds


def location(client: Client, text: str) -> str:
    answer = client.get("/search/", {"q": text})
    assert answer.status_code == 302, text
    return str(answer.headers["Location"])


def test_the_box_goes_straight_to_what_is_meant(client: Client, evening: Evening) -> None:
    kit = evening.world.kits["P01"]
    case, lone = kit.case, evening.lone.id
    assert location(client, case) == f"/items/{case}/"
    assert location(client, case.lower()) == f"/items/{case}/"
    assert location(client, f"HTTPS://CUSTODY.EXAMPLE/Q/{case}") == f"/items/{case}/"
    assert location(client, "S0001008") == "/seals/S0001008/"
    assert location(client, "s0001008") == "/seals/S0001008/"
    assert location(client, "P02") == "/places/P02/"
    assert location(client, "CHIEF-P02") == "/moment/?person=CHIEF-P02"
    assert location(client, lone) == f"/entries/{lone}/"
    key = f"lone-custodian/{lone}:receive"
    assert location(client, key) == f"/findings/{key}"


def test_a_badge_says_whose_it_is_and_its_secret_is_not_shown(client: Client, evening: Evening) -> None:
    assert location(client, "CB1:CHIEF-P02:0123456789ABCDEFGHJKMNPQRSX") == "/search/?q=CHIEF-P02"
    assert location(client, "CHIEF-P02") == "/moment/?person=CHIEF-P02"


def test_a_seal_is_found_in_any_spelling(client: Client, evening: Evening) -> None:
    for text in ("S0001008", "s0001008", "S 0001 008", "s-1008", "S1008", "1008", "0001008", "00001008"):
        assert location(client, text) == "/seals/S0001008/", text
    assert "Nothing is called “T1008”." in text_of(client, "/search/?q=T1008")
    assert "Nothing is called “08”." in text_of(client, "/search/?q=08")


def test_a_serial_number_a_tag_and_a_rule_are_found(client: Client, evening: Evening) -> None:
    case = evening.world.kits["P01"].case
    Item.objects.filter(code=case).update(serial="QX-77/3", tag="A-0815")
    assert location(client, "qx-77/3") == f"/items/{case}/"
    assert location(client, "a-0815") == f"/items/{case}/"
    assert location(client, "lone-custodian") == "/rules/lone-custodian/"
    assert location(client, "where two are asked") == "/rules/lone-custodian/"


def test_an_entry_is_found_by_the_beginning_of_its_id(client: Client, evening: Evening) -> None:
    ids = [deed.id for deed in evening.world.log]
    sizes = [size for size in range(8, 36) if sum(each.startswith(evening.lone.id[:size]) for each in ids) == 1]
    beginning = evening.lone.id[: sizes[0]]
    assert location(client, beginning.upper()) == f"/entries/{evening.lone.id}/"


def test_people_are_found_by_name_where_names_are_shown(client: Client, evening: Evening) -> None:
    assert location(client, "kettlewick") == "/moment/?person=CHIEF-P02"


def test_what_means_several_things_is_listed(client: Client, evening: Evening) -> None:
    text = text_of(client, "/search/?q=BC0")
    assert "BC000016" in text and "Items" in text
    assert "Nothing is called “ZZZ”." in text_of(client, "/search/?q=ZZZ")
    assert "Type or scan something." in text_of(client, "/search/?q=")


def test_the_life_of_a_seal_is_what_the_command_prints(client: Client, evening: Evening) -> None:
    printed = json.loads(run("seal_history", "S0001008", "--rehearsal", DRILL, "--format", "json").out)
    page = client.get("/seals/S0001008/").content.decode()
    life = page[page.index('<section aria-labelledby="life">') :]
    assert re.findall(r'<a href="/entries/([^/]+)/">', life) == [event["entry"] for event in printed["events"]]
    assert len(printed["events"]) >= 2
    now = strip(page[page.index('<section aria-labelledby="now">') : page.index('<section aria-labelledby="band">')])
    assert re.findall(r"at (\w+) of (\w+)", now) == [(each["point"], each["item"]) for each in printed["now"]]
    assert printed["now"]


def test_a_number_that_nobody_knows(client: Client, evening: Evening) -> None:
    assert "Nobody has this number on record, and it is in no lot of the register." in text_of(
        client, "/seals/X999/", 404
    )


def test_a_container_certificate_has_every_seal_and_what_went_in(client: Client, evening: Evening) -> None:
    box = evening.world.kits["P01"].containers[0]
    named = [deed for deed in evening.world.log if box in json.dumps(deed.payload)]
    page = client.get(f"/containers/{box}/").content.decode()
    for deed in named:
        assert f"/entries/{deed.id}/" in page
    numbers = {
        seal["number"]
        for deed in named
        for seal in deed.payload.get("seals", ())
        if seal["item"] == box and "number" in seal
    }
    assert numbers
    for number in numbers:
        assert f"/seals/{number}/" in page
    assert client.get("/containers/ZZ000001/").status_code == 404


def test_who_held_what_is_what_programs_read(client: Client, evening: Evening) -> None:
    read = client.get("/api/v1/holdings/", {"as_of": "2026-11-04T03:30:00Z"}).json()["results"]
    page = client.get("/moment/", {"at": "2026-11-03T21:30"}).content.decode()
    assert f"{len(read)} items held" in page
    for row in read:
        assert f"/items/{row['item']}/" in page


def test_the_difference_between_two_moments(client: Client, evening: Evening) -> None:
    query = {"since": "2026-11-03T20:59", "at": "2026-11-03T21:01"}
    page = client.get("/moment/", query).content.decode()
    named = evening.lone.payload["items"]
    for code in named:
        assert f"/items/{code}/" in page
    assert "Nothing changed hands" in text_of(client, "/moment/?since=2026-11-03T21:50&at=2026-11-03T21:55")


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ({"at": "soon"}, "This is no date and time. Write it as in 2026-11-03 21:30."),
        ({"at": "2026-03-08T02:30"}, "The clocks were put forward over this time"),
        ({"item": "ZZZ"}, "No item is meant by this"),
    ],
)
def test_a_moment_that_is_none_is_told_beside_its_field(
    client: Client, evening: Evening, query: dict[str, str], said: str
) -> None:
    """US Energy Policy Act of 2005: daylight saving time begins on the second Sunday in March, 8 March 2026, at 2:00."""
    answer = client.get("/moment/", query)
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_a_places_day_says_what_is_owed_as_the_command_does(client: Client, evening: Evening) -> None:
    log = store.open_log(JURISDICTION, DRILL)
    owed = list_outstanding(log, now=evening.now, site="P02")
    page = client.get("/places/P02/").content.decode()
    listed = page[page.index('<section aria-labelledby="not-back">') :]
    assert sorted(re.findall(r'<li><a class="code" href="/items/(\w+)/"', listed)) == sorted(each.item for each in owed)
    assert owed
    assert "Everything that must be back is back." in text_of(client, "/places/P01/")
    assert "receiving station" in text_of(client, "/places/RS/").lower()
    assert client.get("/places/P99/").status_code == 404


def test_a_day_has_the_steps_and_counts_on_record(client: Client, evening: Evening) -> None:
    log = store.open_log(JURISDICTION, DRILL)
    day = get_place_day(log, ELECTION, "P01", now=evening.now)
    assert day is not None
    here = [deed for deed in evening.world.log if deed.payload.get("site") == "P01"]
    done = {deed.id for deed in here if deed.payload["kind"] == "step" and "item" not in deed.payload}
    assert {each.entry for each in day.steps} >= done
    assert day.opened[1] in done
    counts = [deed.payload for deed in here if deed.payload["kind"] == "count"]
    told = [each["figures"]["public_counter"] for each in counts if "public_counter" in each["figures"]]
    scanned = [each.ballots for each in day.counts if each.ballots is not None]
    assert scanned[-1] == max(told), "one scanner: its counter, and the place's, are never added up"


def queries(client: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as made:
        assert client.get(address).status_code == 200, address
    return len(made)


def test_six_places_and_a_thousand_items_take_as_many_queries_as_three_places(
    client: Client, db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.CUSTODY_REHEARSAL = DRILL
    evening = make_evening(places=3, register_of=6)
    monkeypatch.setattr(clock, "now", lambda: evening.now)
    box = evening.world.kits["P02"].containers[0]
    receipt = f"/receipts/{evening.lone.id}/"
    addresses = [
        *("/moment/", "/moment/?since=2026-11-01T08:00", "/search/?q=BC0", "/places/", "/places/P02/"),
        *("/rules/unreturned/", "/seals/S0001008/", f"/containers/{box}/", receipt),
    ]
    client.get(receipt)  # a log that has grown signs a checkpoint first
    few = {address: queries(client, address) for address in addresses}
    world, before = evening.world, len(evening.world.log)
    for place in world.places[3:]:
        world.until(place, "pack_for_return")
        world.depart(place)
    put_deeds(store.open_log(JURISDICTION, DRILL), world.log[before:])
    Item.objects.bulk_create(
        Item(jurisdiction=JURISDICTION, code=f"BC{number:06d}", kind="ballot_container", line=1, home_site="P02")
        for number in range(900_000, 901_000)
    )
    client.get(receipt)
    many = {address: queries(client, address) for address in addresses}
    assert many == few
    assert max(few.values()) <= 45


def test_findings_are_chosen_by_person_and_item(client: Client, evening: Evening) -> None:
    log = store.open_log(JURISDICTION, DRILL)
    every = [each.as_json() for each in list_findings(log, now=evening.now, everything=True)]
    box = evening.world.kits["P01"].containers[0]
    for name, code in (("person", "DRIVER-2-P02"), ("item", evening.lone.payload["items"][0]), ("item", box)):
        members = {"person": "people", "item": "items"}[name]
        wanted = [each for each in every if code in each[members]]
        assert len(wanted) < len(every)
        assert f"{len(wanted)} finding" in text_of(client, f"/findings/?status=all&{name}={code}")


def test_the_public_view_counts_what_the_start_page_and_the_commands_count(client: Client, evening: Evening) -> None:
    def figures(path: str) -> list[int]:
        html = client.get(path).content.decode()
        return [
            int(each)
            for each in re.findall(r"<dd>\s*(?:<a[^>]*>)?(\d+)", html[html.index("<dl") : html.index("</dl>")])
        ]

    places_in, owed, _, *severities = figures("/public/")
    outstanding, findings = (
        json.loads(run(command, "--rehearsal", DRILL, "--format", "json", "--now", dump_instant(evening.now)).out)
        for command in ("outstanding", "findings")
    )
    alarming = Counter(each["severity"] for each in findings if not each.get("waiting"))
    assert (places_in, owed) == (1, len(outstanding))
    assert severities == [alarming[each] for each in ("critical", "warning", "notice")] != [0, 0, 0]
    assert figures("/") == [places_in, 1, owed, *severities]


def test_a_receipt_says_what_is_found_about_its_entry(client: Client, evening: Evening) -> None:
    (found,) = [
        each
        for each in json.loads(run("findings", "--rehearsal", DRILL, "--format", "json").out)
        if each["rule"] == "lone-custodian"
    ]
    assert found["entries"] == [evening.lone.id]
    assert found["message"] in text_of(client, f"/receipts/{evening.lone.id}/")
