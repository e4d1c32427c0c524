"""Reading over HTTP: equal to the commands' JSON, in pages, to whoever may; proofs that verify; a description that fits."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.core.management import call_command
from django.test import Client
from pytest_django.fixtures import Settings

from api import parameters
from api.views import record
from custody import store
from custody.domain.instants import dump_instant
from custody.keys import log_vkey
from custody.ledger import merkle
from custody.ledger.canonical import dump_canonical
from custody.ledger.checkpoint import verify_checkpoint
from custody.ledger.proof import verify_proof
from custody.ledger.tiles import Tile, parse_bundle, parse_tile
from custody.queries.logs import find_log
from custody.queries.outstanding import list_outstanding
from tests.web.evening import DRILL, Evening
from tests.world_register import JURISDICTION

API = "/api/v1"
PASSWORD = "sixteen herons fly"


def get(client: Client, path: str, **headers: str) -> Any:
    return client.get(f"{API}{path}", headers=headers)


def command(*arguments: str) -> Any:
    out = io.StringIO()
    call_command(*arguments, "--rehearsal", DRILL, "--format", "json", stdout=out)
    return json.loads(out.getvalue())


def pages(client: Client, path: str) -> Iterator[Any]:
    following: str | None = f"{API}{path}"
    while following:
        document = client.get(following).json()
        assert len(document["results"]) <= 100
        yield from document["results"]
        following = document["next"]


def test_lists_equal_the_commands(client: Client, evening: Evening) -> None:
    box = evening.world.kits["P01"].containers[0]
    assert list(pages(client, "/outstanding/")) == command("outstanding")
    assert list(pages(client, "/outstanding/?site=P02")) == command("outstanding", "--site", "P02")
    assert list(pages(client, "/findings/")) == command("findings")
    assert list(pages(client, "/findings/?all")) == command("findings", "--all")
    assert list(pages(client, "/findings/?rule=signer-missing")) == command("findings", "--rule", "signer-missing")
    assert get(client, f"/items/{box}/history/").json() == command("history", box)
    past = dump_instant(evening.world.time("12:00"))
    assert get(client, f"/items/{box}/history/?as_of={past}").json() == command("history", box, "--as-of", past)
    number = evening.world.in_place[box, "front"]
    assert get(client, f"/seals/{number}/").json() == command("seal_history", number)


def test_items_come_in_pages_by_code(client: Client, evening: Evening) -> None:
    items = list(pages(client, "/items/"))
    assert [each["code"] for each in items] == sorted(evening.world.register.items)
    box = evening.world.kits["P01"].containers[0]
    assert [each["code"] for each in pages(client, f"/items/?q={box.lower()}")] == [box]
    assert get(client, f"/items/{box}/").json() == next(each for each in items if each["code"] == box)
    assert get(client, "/items/BC99999X/").status_code == 404


def test_holdings_are_those_of_the_histories(client: Client, evening: Evening) -> None:
    for text in ("", f"?as_of={dump_instant(evening.world.time('12:00'))}"):
        rows = {row["item"]: row for row in pages(client, f"/holdings/{text}")}
        assert len(rows) >= 20
        for code, row in list(rows.items())[::7]:
            now = get(client, f"/items/{code}/history/{text}").json()["now"]
            assert (row["holder"], row["container"]) == (now["holder"], now["container"])
    drivers = evening.world.drivers("P02")["people"]
    theirs = list(pages(client, f"/holdings/?person={drivers[0]}"))
    assert {row["item"] for row in theirs} >= set(evening.world.returned("P02"))
    assert {drivers[0] in row["holder"]["people"] for row in theirs} == {True}
    assert {row["holder"]["site"] for row in pages(client, "/holdings/?site=RS")} == {"RS"}


def test_an_entry_shows_its_line_leaf_signers_and_findings(client: Client, evening: Evening) -> None:
    document = get(client, f"/entries/{evening.lone.id}/").json()
    assert document.keys() == {"line", "leaf", "members", "signers", "findings"}
    assert document["members"] == evening.lone.payload
    assert merkle.leaf_hash(dump_canonical(document["line"])).hex() == document["leaf"]
    assert sorted(each["person"] for each in document["signers"]) == sorted(evening.lone.signers)
    assert {each["rule"] for each in document["findings"]} >= {"signer-missing"}


@pytest.mark.parametrize(
    ("path", "parameter"),
    [
        ("/findings/?now=yesterday", "now"),
        ("/findings/?rule=none", "rule"),
        ("/holdings/?as_of=2026-13-01T00:00:00Z", "as_of"),
        ("/outstanding/?site=%00", "site"),
        (f"/logs/{JURISDICTION}/{DRILL}/consistency?old=x&new=2", "old"),
    ],
)
def test_a_parameter_that_cannot_be_read_is_named(client: Client, evening: Evening, path: str, parameter: str) -> None:
    answer = get(client, path)
    assert (answer.status_code, answer["Content-Type"]) == (400, "application/problem+json")
    assert [each["path"] for each in answer.json()["errors"]] == [parameter]


@pytest.mark.parametrize("path", ["/nothing/", "/items/X/", "/entries/none/", "/logs/X/main/checkpoint"])
def test_what_is_not_there_is_a_problem_document(client: Client, evening: Evening, path: str) -> None:
    answer = get(client, path)
    assert (answer.status_code, answer["Content-Type"]) == (404, "application/problem+json")


READS = (
    "/items/",
    "/holdings/",
    "/outstanding/",
    "/findings/",
    "/seals/S0000026/",
    f"/logs/{JURISDICTION}/register/checkpoint",
    f"/logs/{JURISDICTION}/{DRILL}/tile/0/000.p/1",
)


def token(scope: str, *options: str) -> str:
    out = io.StringIO()
    call_command("token", "clerk", "--scope", scope, *options, stdout=out, stderr=io.StringIO())
    return out.getvalue().strip()


def test_in_earnest_reading_takes_a_session_or_a_token(client: Client, evening: Evening, settings: Settings) -> None:
    settings.CUSTODY_REHEARSAL = ""
    get_user_model().objects.create_user("clerk", password=PASSWORD)
    drill = token("read", "--rehearsal", DRILL)
    for path in READS:
        refused = get(client, path)
        assert (refused.status_code, refused["WWW-Authenticate"]) == (401, "Bearer"), path
        assert get(client, path, Authorization=f"Bearer {drill}").status_code == 200, path
        assert get(client, path, Authorization="Bearer nonsense").status_code == 401, path
    assert get(client, "/findings/", Authorization=f"Bearer {token('record')}").status_code == 403
    in_earnest = get(client, "/findings/", Authorization=f"Bearer {token('read')}")
    assert in_earnest.json() == {"results": [], "next": None}
    clerk = get_user_model().objects.get(username="clerk")
    client.force_login(clerk, backend="django.contrib.auth.backends.ModelBackend")
    assert get(client, "/items/").status_code == 200


def test_a_log_is_read_by_its_own_token_alone(client: Client, evening: Evening, settings: Settings) -> None:
    """That of a rehearsal opens no log in earnest, nor does a page that is open since it shows a rehearsal."""
    get_user_model().objects.create_user("clerk", password=PASSWORD)
    earnest, drill = token("read"), token("read", "--rehearsal", DRILL)
    statuses = {
        (name, word): get(client, f"/logs/{JURISDICTION}/{name}/checkpoint", Authorization=f"Bearer {each}").status_code
        for name in ("main", DRILL, "register")
        for word, each in (("earnest", earnest), ("drill", drill))
    }
    assert statuses == {
        ("main", "earnest"): 200,
        ("main", "drill"): 404,
        (DRILL, "earnest"): 404,
        (DRILL, "drill"): 200,
        ("register", "earnest"): 200,
        ("register", "drill"): 200,
    }
    assert get(client, f"/logs/{JURISDICTION}/main/checkpoint").status_code == 404
    assert get(client, f"/logs/{JURISDICTION}/{DRILL}/checkpoint").status_code == 200


def test_no_cache_on_the_way_keeps_what_not_everybody_may_read(
    client: Client, evening: Evening, settings: Settings
) -> None:
    """RFC 9111: `public` lets a shared cache keep even what was asked for with a token, and hand it to anybody (3.5, 5.2.2.9)."""
    tile = f"/logs/{JURISDICTION}/{DRILL}/tile/0/000.p/1"
    for path in (
        "/findings/",
        "/sites/P02/pocket/",
        f"/entries/{evening.lone.id}/",
        f"/logs/{JURISDICTION}/{DRILL}/proof/x",
    ):
        assert {"no-store", "private"} <= set(get(client, path)["Cache-Control"].split(", ")), path
    assert get(client, tile)["Cache-Control"].split(", ")[0] == "public"
    get_user_model().objects.create_user("clerk", password=PASSWORD)
    asked = {"Authorization": f"Bearer {token('read', '--rehearsal', DRILL)}"}
    assert get(client, tile, **asked)["Cache-Control"].split(", ")[0] == "private"
    settings.CUSTODY_REHEARSAL = ""
    assert get(client, tile, **asked)["Cache-Control"].split(", ")[0] == "private"


def test_pages_follow_the_order_of_the_list_where_one_code_begins_another(
    client: Client, evening: Evening, monkeypatch: pytest.MonkeyPatch
) -> None:
    """P02 comes before P02-A in a list by place: a page that ends with P02 leads on to P02-A, and nothing comes twice."""
    rows = list_outstanding(find_log(JURISDICTION, DRILL), now=evening.now)[:3]
    places = ("P02", "P02-A", "P02-B")
    monkeypatch.setattr(
        record,
        "list_outstanding",
        lambda *_, **__: [replace(row, site=site) for row, site in zip(rows, places, strict=True)],
    )
    monkeypatch.setattr(parameters, "PAGE", 1)
    assert [each["site"] for each in pages(client, "/outstanding/")] == list(places)


def test_a_token_for_reading_records_nothing(client: Client, evening: Evening) -> None:
    get_user_model().objects.create_user("clerk", password=PASSWORD)
    body = json.dumps(evening.lone.envelope())
    statuses = [
        client.post(
            f"{API}/entries/",
            body,
            content_type="application/json",
            headers={"Authorization": f"Bearer {token(scope, '--rehearsal', DRILL)}"},
        ).status_code
        for scope in ("read", "record")
    ]
    assert statuses == [403, 200]


def test_proofs_and_tiles_verify(client: Client, evening: Evening) -> None:
    """C2SP tlog-checkpoint, tlog-proof, tlog-tiles; RFC 6962 section 2.1.2."""
    head = store.open_log(JURISDICTION, DRILL)
    log, vkey = f"/logs/{JURISDICTION}/{DRILL}", log_vkey(head)
    checkpoint = verify_checkpoint(get(client, f"{log}/checkpoint").content.decode(), vkey)
    assert checkpoint.size == head.size
    document = get(client, f"/entries/{evening.lone.id}/").json()
    proof = get(client, f"{log}/proof/{evening.lone.id}").content.decode()
    assert verify_proof(proof, bytes.fromhex(document["leaf"]), vkey).root == checkpoint.root
    old = head.size // 2
    hashes = get(client, f"{log}/consistency?old={old}&new={head.size}").json()["hashes"]
    proven = [bytes.fromhex(each) for each in hashes]
    merkle.verify_consistency(old, head.size, store.root_of(head, old), checkpoint.root, proven)
    width = min(head.size, 256)
    suffix = "" if width == 256 else f".p/{width}"
    lines = parse_bundle(get(client, f"{log}/tile/entries/000{suffix}").content)
    leaves = parse_tile(Tile(level=0, index=0, width=width), get(client, f"{log}/tile/0/000{suffix}").content)
    assert [merkle.leaf_hash(line) for line in lines] == leaves
    assert get(client, f"{log}/tile/0/001").status_code == 404
    assert get(client, f"{log}/tile/0/0000").status_code == 404


def test_every_address_is_described(client: Client, evening: Evening) -> None:
    """OpenAPI 3.1."""
    document = client.get(f"{API}/schema/?format=json").json()
    assert document["openapi"].startswith("3.1")
    described = {path.removeprefix(API) for path in document["paths"]}
    assert described == {
        "/entries/",
        "/entries/{entry_id}/",
        "/items/",
        "/items/{code}/",
        "/items/{code}/history/",
        "/holdings/",
        "/outstanding/",
        "/findings/",
        "/findings/{key}/",
        "/seals/{number}/",
        "/sites/{code}/pocket/",
        "/photos/{sha256}",
        "/logs/{jurisdiction}/{log}/checkpoint",
        "/logs/{jurisdiction}/{log}/proof/{entry_id}",
        "/logs/{jurisdiction}/{log}/consistency",
        "/logs/{jurisdiction}/{log}/tile/entries/{path}",
        "/logs/{jurisdiction}/{log}/tile/{path}",
    }
    posted = document["paths"][f"{API}/entries/"]["post"]["responses"]
    assert posted.keys() == {"200", "201", "207", "401", "403", "409", "413", "422", "429"}
    for path, methods in document["paths"].items():
        for operation in methods.values():
            assert operation["summary"], path
