"""Every address by every sort of visitor, against the table of rights. An address without an answer fails here."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from pytest_django.fixtures import Settings

from custody import clock, store
from custody.models.access import PageSettings
from custody.models.register import Assignment, Kit
from custody.queries.rights import AREAS, NOBODY, Audience, Right, Standing, area_of, user_name
from custody.queries.shown import get_shown
from custody.services.make_token import make_token
from tests.web.evening import NAMES, Evening, make_evening
from tests.world_register import JURISDICTION
from tests.worlds_on_record import put_deeds

PERSON_OF = {
    Audience.OBSERVER: "CHIEF-P01",
    Audience.CREW: "CHIEF-P02",
    Audience.COURIER: "DRIVER-1-P02",
    Audience.DESK: "DESK-1",
    Audience.AUDITOR: "OFFICE-1",
}


def addresses(patterns: Any = None, spaces: tuple[str, ...] = ()) -> Iterator[tuple[str, Any]]:
    """The name of every address, with what it is a part of, as `area_of` takes it."""
    for each in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(each, URLResolver):
            yield from addresses(each.url_patterns, (*spaces, each.namespace) if each.namespace else spaces)
        else:
            assert isinstance(each, URLPattern)
            yield ":".join((*spaces, each.name or "")), each


@pytest.fixture
def evening(db: None, settings: Settings, monkeypatch: pytest.MonkeyPatch) -> Evening:
    """In earnest: a rehearsal is open to whoever reaches it."""
    settings.CUSTODY_REHEARSAL = ""
    made = make_evening(log="main")
    monkeypatch.setattr(clock, "now", lambda: made.now)
    # An observer is somebody whom the register assigns as one, and nothing else.
    Assignment.objects.filter(person="CHIEF-P01").update(role="observer", site="")
    return made


def client_of(audience: Audience) -> Client:
    users = get_user_model().objects
    client = Client(raise_request_exception=False)
    if audience is Audience.OFFICE:
        client.force_login(users.create_user("office", is_staff=True))
    elif audience is Audience.PROGRAM:
        users.create_user("program")
        shown = get_shown()
        assert shown.log is not None
        client = Client(headers={"Authorization": f"Bearer {make_token('program', 'read', shown.log)}"})
    elif audience is not Audience.PUBLIC:
        client.force_login(
            users.create_user(user_name(JURISDICTION, PERSON_OF[audience])),
            backend="custody.web.badge_backend.BadgeBackend",
        )
    return client


def carried_of(evening: Evening) -> str:
    """What the drivers of the second place have in hand."""
    return str(evening.lone.payload["items"][0])


def arguments(evening: Evening) -> dict[str, str]:
    """Of the second place, whose things are with its drivers; the chief there is the crew, the driver the courier."""
    handoff = evening.lone
    return {
        "code": carried_of(evening),
        "entry_id": handoff.id,
        "key": f"signer-missing/{handoff.id}:receive",
        "number": "S0001001",
        "sha256": "0" * 64,
        "jurisdiction": JURISDICTION,
        "log": "main",
    }


def test_every_address_has_its_place_in_the_table() -> None:
    named = {name for name, _ in addresses() if not name.startswith("admin:")}
    listed = {address for area in AREAS.values() for address in area.addresses} - {"admin"}
    assert named == listed


def test_an_address_that_is_in_no_area_is_shut() -> None:
    area = area_of("something-new")
    assert area is None
    for each in Audience:
        standing = Standing(visitor=NOBODY, audiences=frozenset({each}), opened=True)
        assert (standing.right(area), standing.right(AREAS["doors"])) == (Right.NO, Right.YES)


def of_area(right: Right) -> str:
    return {Right.NO: "no", Right.OPENED: "no", Right.OWN: "yes", Right.YES: "yes"}[right]


@pytest.mark.parametrize("audience", Audience)
def test_the_table_is_what_visitors_meet(evening: Evening, audience: Audience) -> None:
    """A GET at every address: let in (whatever the answer then is), or sent away."""
    client, given = client_of(audience), arguments(evening)
    known = audience in {Audience.OFFICE, *PERSON_OF}
    wrong = []
    for name, pattern in addresses():
        if name.startswith("admin:"):
            continue
        wanted = {key: given.get(key, "P02") for key in pattern.pattern.converters or pattern.pattern.regex.groupindex}
        if name in ("api:pocket", "place-day"):
            wanted["code"] = "P02"
        if name in ("person", "enrol-badge", "revoke-badge", "lift-badge"):
            wanted["code"] = "CHIEF-P02"
        if name.startswith("work-"):
            wanted.pop("name", None)
        area = area_of(name)
        assert area is not None
        # A program is one for the API; pages see no token.
        right = area.right(audience if name.startswith("api:") or audience is not Audience.PROGRAM else Audience.PUBLIC)
        if name in ("api:entries", "api:photo") and audience is Audience.PROGRAM:
            continue  # asked by tests/api: the scope of a token
        if name == "sign-in-who":
            continue  # "nobody" is its answer to who is not signed in
        answer = client.get(reverse(name, kwargs=wanted))
        if name == "place-day" and audience is Audience.COURIER:
            continue  # a courier has a place's page where the register assigns one: asked below
        sent_away = answer.status_code in (401, 403) or (
            answer.status_code == 302
            and answer["Location"].startswith(("/sign-in/?next=", "/at-work/", "/public/"))
            and not area.is_for_everybody
        )
        if sent_away == (of_area(right) == "yes"):
            wrong.append((name, right, answer.status_code, answer.headers.get("Location")))
        if name.startswith("api:") and sent_away:
            assert answer.status_code == (403 if known or audience is Audience.PROGRAM else 401), name
    assert wrong == []


def test_a_crew_sees_its_own_and_nothing_else(evening: Evening) -> None:
    client = client_of(Audience.CREW)
    own, foreign = (evening.world.kits[place].containers[0] for place in ("P02", "P01"))
    assert client.get(f"/items/{own}/").status_code == 200
    assert client.get(f"/items/{foreign}/").status_code == 403
    entry = client.get(f"/entries/{evening.lone.id}/").content.decode()
    assert "DRIVER-1-P02" in entry and NAMES["DRIVER-1-P02"] not in entry
    assert client.get(f"/entries/{evening.misread.id}/").status_code == 403
    assert client.get("/api/v1/sites/P02/pocket/").status_code == 200
    assert client.get("/api/v1/sites/P01/pocket/").status_code == 403
    assert client.get("/").headers["Location"] == "/at-work/"


def test_a_crew_sees_findings_about_its_own_and_no_others(evening: Evening) -> None:
    """The box of the first place, as if it were meant for the second: its page, and nothing of the finding about the first."""
    crew, auditor = client_of(Audience.CREW), client_of(Audience.AUDITOR)
    box = evening.world.kits["P01"].containers[0]
    own = f"/findings/lone-custodian/{evening.lone.id}:receive"
    foreign = f"/findings/seal-mismatch/{evening.misread.id}:{box}:front"
    assert crew.get(own).status_code == 200
    assert crew.get(foreign).status_code == 403
    Kit.objects.filter(item=box).update(site="P02")
    for address in (f"/items/{box}/", f"/items/{evening.lone.payload['items'][0]}/", "/places/P02/"):
        marked = [f'href="{finding}"' in crew.get(address).content.decode() for finding in (own, foreign)]
        seen = [f'href="{finding}"' in auditor.get(address).content.decode() for finding in (own, foreign)]
        assert marked == [seen[0], False], address
        assert any(seen), address


def test_a_crew_meets_no_link_that_is_shut(evening: Evening) -> None:
    page = client_of(Audience.CREW).get("/places/P02/").content.decode()
    main = page[page.index("<main") : page.index("</main>")]
    for address in ("/seals/", "/findings/?", 'href="/places/"', 'href="/places/P01/"'):
        assert address not in main, address
    item = client_of_crew().get(f"/items/{evening.world.kits['P02'].scanner}/").content.decode()
    assert 'href="/places/P02/"' in item and 'href="/seals/' not in item
    assert client_of_crew().get("/places/P99/").status_code == 403


def test_a_courier_sees_what_they_carry(evening: Evening) -> None:
    client = client_of(Audience.COURIER)
    carried, foreign = carried_of(evening), evening.world.kits["P01"].containers[0]
    page = client.get(f"/items/{carried}/").content.decode()
    linked = set(re.findall(r'href="(/(?:entries|receipts)/[^"#]+)', page))
    assert linked
    assert {client.get(path).status_code for path in linked} == {200}
    opened = {path.split("/")[2] for path in linked}
    assert opened < set(re.findall(r'id="line-([^"]+)"', page)), "what is not theirs is a line without a link"
    assert client.get("/places/P02/").status_code == 403
    Assignment.objects.filter(person="DRIVER-1-P02").update(site="P02")
    assert client.get("/places/P02/").status_code == 200
    assert client.get(f"/items/{foreign}/").status_code == 403


def test_an_entry_that_was_put_right_is_a_link_where_its_page_opens(evening: Evening) -> None:
    """Amended to have been at the crew's place, it is the crew's, in a list as by its address."""
    box = evening.world.kits["P01"].containers[0]
    Kit.objects.filter(item=box).update(site="P02")
    crew, address = client_of(Audience.CREW), f"/entries/{evening.misread.id}/"

    def is_linked() -> bool:
        return f'href="{address}"' in crew.get(f"/items/{box}/").content.decode()

    assert (crew.get(address).status_code, is_linked()) == (403, False)
    desk, before = evening.world.party("receiving_clerk"), len(evening.world.log)
    evening.world.amend(evening.misread, desk, {"site": "P02"})
    put_deeds(store.open_log(JURISDICTION, "main"), evening.world.log[before:])
    assert (crew.get(address).status_code, is_linked()) == (200, True)


def test_the_public_view_is_opened_by_the_office_and_names_nobody(evening: Evening) -> None:
    visitor = Client()
    assert visitor.get("/public/").headers["Location"] == "/sign-in/?next=/public/"
    assert client_of(Audience.AUDITOR).post("/public/switch/", {"open": "yes"}).status_code == 403
    office = client_of(Audience.OFFICE)
    assert office.post("/public/switch/", {"open": "yes"}).status_code == 302
    page = visitor.get("/public/").content.decode()
    assert "custody.example/" in page
    for person in ("CHIEF", "DRIVER", "DESK-", "555-"):
        assert person not in page
    log = f"/api/v1/logs/{JURISDICTION}/main"
    assert visitor.get(f"{log}/checkpoint").status_code == 200
    assert visitor.get(f"{log}/tile/0/000.p/1").status_code == 200
    assert visitor.get(f"{log}/tile/entries/000.p/1").status_code == 401
    assert visitor.get("/").headers["Location"] == "/public/"
    office.post("/public/switch/", {"open": "no"})
    assert visitor.get("/public/").status_code == 302
    assert PageSettings.objects.get().public_view is False


def test_a_method_that_writes_is_shut_by_the_same_door(evening: Evening) -> None:
    """The door stands before the view: it asks for no method."""
    for name in ("revoke-badge", "lift-badge", "enrol-badge"):
        assert client_of_crew().post(reverse(name, kwargs={"code": "CHIEF-P02"})).status_code == 403


def client_of_crew() -> Client:
    client = Client()
    user, _ = get_user_model().objects.get_or_create(username=user_name(JURISDICTION, "CHIEF-P02"))
    client.force_login(user, backend="custody.web.badge_backend.BadgeBackend")
    return client


def test_the_page_of_rights_says_what_the_table_says(evening: Evening) -> None:
    page = Client().get("/rights/").content.decode()
    assert f"{JURISDICTION}/main" not in page  # how long the log is, is for those who may see the public view
    assert page.count('scope="row"') == len(AREAS)
    assert page.count("<b>their own</b>") == sum(
        area.right(each) is Right.OWN for area in AREAS.values() for each in Audience
    )
