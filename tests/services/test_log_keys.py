"""The log's own key: one for each log, made at first use, told to others as a vkey."""

from __future__ import annotations

from pathlib import Path

import pytest
from pytest_django import Settings

from custody import store
from custody.keys import log_signer, log_vkey
from custody.ledger.checkpoint import Verifier
from custody.models.log import LogKind


def head(jurisdiction: str, name: str) -> store.LogHead:
    origin = f"custody.example/{jurisdiction}/{name}"
    return store.LogHead(id=1, jurisdiction=jurisdiction, name=name, kind=LogKind.REHEARSAL, origin=origin, size=0)


@pytest.fixture
def data(settings: Settings, tmp_path: Path) -> Path:
    settings.CUSTODY_DATA = tmp_path
    return tmp_path


def test_a_log_keeps_its_key(data: Path) -> None:
    first = log_signer(head("ALDER", "main"))
    assert log_signer(head("ALDER", "main")).public_key == first.public_key
    assert len((data / "keys" / "ALDER" / "main.seed").read_bytes()) == 32


def test_no_two_logs_share_a_key(data: Path) -> None:
    heads = [head("ALDER", "main"), head("ALDER", "drill"), head("A-B", "c"), head("A", "b-c")]
    assert len({log_signer(one).public_key for one in heads}) == 4


def test_the_vkey_names_the_origin_and_holds_the_public_key(data: Path) -> None:
    verifier = Verifier.parse(log_vkey(head("ALDER", "main")))
    assert verifier.name == "custody.example/ALDER/main"
    assert verifier.public_key == log_signer(head("ALDER", "main")).public_key
