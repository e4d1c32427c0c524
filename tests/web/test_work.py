"""The frames of the phone's pages: open to all, the same for all, without anything personal."""

from __future__ import annotations

import json
import re

import pytest
from django.test import Client
from pytest_django.fixtures import Settings

from custody.web.work import ACTS
from tests.web.evening import NAMES, Evening

PATHS = ["/at-work/", "/at-work/missing/", *(f"/at-work/{name}/" for name in ACTS)]


@pytest.mark.parametrize("path", PATHS)
def test_a_frame_opens_without_signing_in_and_without_a_database(client: Client, settings: Settings, path: str) -> None:
    settings.CUSTODY_REHEARSAL = ""
    answer = client.get(path)
    assert answer.status_code == 200
    assert "no-cache" in answer["Cache-Control"]
    assert "'wasm-unsafe-eval'" in answer["Content-Security-Policy"]
    assert "'unsafe-eval'" not in answer["Content-Security-Policy"]
    assert 'class="rehearsal"' not in answer.content.decode()


@pytest.mark.one_engine
def test_a_frame_is_the_same_for_everybody_and_names_nobody(
    client: Client, admin_client: Client, evening: Evening
) -> None:
    for path in PATHS:
        mine, theirs = (each.get(path).content.decode() for each in (client, admin_client))
        assert mine == theirs
        assert [name for name in NAMES.values() if name in mine] == []


def test_a_frame_says_that_it_is_a_rehearsal(client: Client, settings: Settings) -> None:
    settings.CUSTODY_REHEARSAL = "drill"
    assert "Rehearsal “drill”." in client.get("/at-work/").content.decode()


def test_the_words_are_a_module(client: Client) -> None:
    module = client.get("/at-work/words.js").content.decode()
    words = json.loads(module.removeprefix("export default ").removesuffix(";\n"))
    assert words["word.poll_chief"] == "poll chief"
    assert words["acts.step-of"] == "Step {number} of {all}"


def test_no_other_address_is_an_act(client: Client, db: None) -> None:
    assert client.get("/at-work/anything/").status_code == 404


def test_a_frame_names_the_hosts_of_our_labels(client: Client, settings: Settings) -> None:
    """Those that `labels` prints, and those that are served; where all are served, none in particular is ours."""
    settings.ALLOWED_HOSTS = ["testserver", ".county.example", "*"]
    settings.CUSTODY_ORIGIN = "LOG.example:8443"
    page = client.get("/at-work/").content.decode()
    found = re.search(r'<script id="hosts" type="application/json">(.*?)</script>', page)
    assert found is not None
    assert json.loads(found[1]) == [".county.example", "log.example", "testserver"]
