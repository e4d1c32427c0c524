"""Ed25519: RFC 8032 section 7.1, the Wycheproof project's tests (C2SP), and the points of small order."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from custody.errors import Refused, Unverified
from custody.ledger import signing
from custody.ledger.signing import SMALL_ORDER, Signer, check_public_key, verify_signature


@pytest.fixture(params=["libsodium", "OpenSSL"], autouse=True)
def library(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    holds: dict[str, Callable[[bytes, bytes, bytes], bool]] = {
        "libsodium": signing._holds_in_libsodium,
        "OpenSSL": signing._holds_in_openssl,
    }
    monkeypatch.setattr(signing, "_equation_holds", holds[request.param])
    monkeypatch.setattr(signing, "_HAS_LIBSODIUM", request.param == "libsodium")


def load(reference: Path, name: str) -> Any:
    return json.loads((reference / name).read_text("utf-8"))


def test_rfc_8032_vectors_give_the_exact_keys_and_signatures(reference: Path) -> None:
    vectors = load(reference, "ed25519_rfc8032.json")["vectors"]
    assert [one["name"] for one in vectors] == ["TEST 1", "TEST 2", "TEST 3", "TEST SHA(abc)"]
    for one in vectors:
        signer, message = Signer(bytes.fromhex(one["seed"])), bytes.fromhex(one["message"])
        assert signer.public_key.hex() == one["public"]
        assert signer.sign(message).hex() == one["signature"]
        verify_signature(signer.public_key, message, bytes.fromhex(one["signature"]))


def test_wycheproof_verdicts_are_ours(reference: Path) -> None:
    tests = load(reference, "ed25519_wycheproof_condensed.json")["tests"]
    verdicts = {}
    for one in tests:
        try:
            verify_signature(*(bytes.fromhex(one[part]) for part in ("pk", "msg", "sig")))
            verdicts[one["tcId"]] = "valid"
        except Unverified:
            verdicts[one["tcId"]] = "invalid"
    assert verdicts == {one["tcId"]: one["result"] for one in tests}
    assert (len(verdicts), list(verdicts.values()).count("valid")) == (151, 88)


def test_keys_of_small_order_are_the_fourteen_and_refused(reference: Path) -> None:
    listed = load(reference, "ed25519_small_order_keys.json")
    encodings = [*(one["encoding"] for one in listed["points"]), *listed["noncanonical"]]
    assert len(encodings) == 14
    assert set(map(bytes.fromhex, encodings)) == SMALL_ORDER
    for encoding in encodings:
        with pytest.raises(Refused) as refusal:
            check_public_key(bytes.fromhex(encoding))
        assert refusal.value.code == "weak-key"
