"""Envelopes: every good one breeds bad ones. Against DSSE itself: tests/standards/test_dsse.py."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from custody.errors import Refused
from custody.ledger.envelope import (
    MAX_BYTES,
    PAYLOAD_TYPE,
    Envelope,
    Signature,
    dump_envelope,
    pae,
    parse_envelope,
    parse_envelope_bytes,
    sign_envelope,
    verify_envelope,
)
from custody.ledger.signing import SMALL_ORDER, Signer, keyid

GIVER, TAKER, STRANGER = (Signer(bytes([number]) * 32) for number in (1, 2, 3))
KEYS = {signer.keyid: signer.public_key for signer in (GIVER, TAKER)}
PAYLOAD = b'{"kind":"handoff"}'
FIRST, SECOND = sorted((GIVER.keyid, TAKER.keyid))


def good() -> dict[str, Any]:
    return dump_envelope(sign_envelope(PAYLOAD, [GIVER, TAKER]))


def refusal_of(function: Callable[..., object], *args: object, **kwargs: Any) -> tuple[str, dict[str, Any]]:
    with pytest.raises(Refused) as refusal:
        function(*args, **kwargs)
    return refusal.value.code, refusal.value.data


def test_envelope_comes_back_as_it_was_and_verifies() -> None:
    envelope = parse_envelope_bytes(json.dumps(good()).encode())
    verify_envelope(envelope, KEYS)
    assert (envelope.payload_type, envelope.payload) == (PAYLOAD_TYPE, PAYLOAD)
    assert [one.keyid for one in envelope.signatures] == [FIRST, SECOND]
    assert dump_envelope(envelope) == good()


def test_order_of_signers_and_of_signatures_makes_no_difference() -> None:
    turned = good()
    turned["signatures"].reverse()
    assert sign_envelope(PAYLOAD, [TAKER, GIVER]) == sign_envelope(PAYLOAD, [GIVER, TAKER]) == parse_envelope(turned)


def change(path: str, value: object) -> Callable[[dict[str, Any]], None]:
    def apply(envelope: dict[str, Any]) -> None:
        target: Any = envelope
        *steps, last = [int(step) if step.isdigit() else step for step in path.split(".")]
        for step in steps:
            target = target[step]
        if value is None:
            del target[last]
        else:
            target[last] = value

    return apply


SAME_KEY = {"keyid": FIRST, "sig": "AAAA"}
SIG = good()["signatures"][0]["sig"]


@pytest.mark.parametrize(
    ("damage", "code", "path"),
    [
        pytest.param(change("payload", None), "not-envelope", "", id="no-payload"),
        pytest.param(change("payloadType", None), "not-envelope", "", id="no-type"),
        pytest.param(change("signatures", None), "not-envelope", "", id="no-signatures"),
        pytest.param(change("extra", 1), "not-envelope", "", id="a-member-more"),
        pytest.param(change("signatures.0.cert", "x"), "not-envelope", "signatures[0]", id="a-signature-member-more"),
        pytest.param(change("signatures.1.keyid", None), "not-envelope", "signatures[1]", id="no-keyid"),
        pytest.param(change("signatures.1.sig", None), "not-envelope", "signatures[1]", id="no-sig"),
        pytest.param(change("signatures.1", []), "not-envelope", "signatures[1]", id="signature-is-a-list"),
        pytest.param(change("signatures", {}), "not-envelope", "", id="signatures-are-an-object"),
        pytest.param(change("signatures", []), "no-signature", "signatures", id="signatures-are-empty"),
        pytest.param(change("payloadType", 1), "not-envelope", "", id="type-is-a-number"),
        pytest.param(change("payloadType", PAYLOAD_TYPE + " "), "unknown-type", "payloadType", id="another-type"),
        pytest.param(change("payload", 1), "not-envelope", "payload", id="payload-is-a-number"),
        pytest.param(change("payload", "YWI"), "not-envelope", "payload", id="padding-missing"),
        pytest.param(change("payload", "YWJ="), "not-envelope", "payload", id="stray-bits"),
        pytest.param(change("payload", "YWI=\n"), "not-envelope", "payload", id="line-break"),
        pytest.param(change("payload", "YW I="), "not-envelope", "payload", id="space-inside"),
        pytest.param(change("payload", "YWI=YWI="), "not-envelope", "payload", id="two-texts-joined"),
        pytest.param(change("payload", "-_8="), "not-envelope", "payload", id="url-alphabet"),
        pytest.param(change("payload", "ÿÿÿÿ"), "not-envelope", "payload", id="not-ascii"),
        pytest.param(change("signatures.1.sig", SIG[:-2]), "not-envelope", "signatures[1].sig", id="sig-cut"),
        pytest.param(change("signatures.0.keyid", FIRST[:-1]), "not-envelope", "signatures[0].keyid", id="keyid-cut"),
        pytest.param(change("signatures.0.keyid", "A" * 64), "not-envelope", "signatures[0].keyid", id="upper-case"),
        pytest.param(change("signatures.0.keyid", 7), "not-envelope", "signatures[0].keyid", id="keyid-is-a-number"),
        pytest.param(change("signatures.1", SAME_KEY), "not-envelope", "signatures[1].keyid", id="same-key-twice"),
    ],
)
def test_another_form_is_refused(damage: Callable[[dict[str, Any]], None], code: str, path: str) -> None:
    envelope = good()
    damage(envelope)
    found, data = refusal_of(parse_envelope, envelope)
    assert (found, data["path"]) == (code, path)


@pytest.mark.parametrize("value", [None, [], "x", 1, {}, [good()]], ids=repr)
def test_what_is_no_envelope_at_all_is_refused(value: object) -> None:
    assert refusal_of(parse_envelope, value)[0] == "not-envelope"


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(b"", id="empty"),
        pytest.param(b"\xff", id="not-utf-8"),
        pytest.param(json.dumps(good()).encode()[:-1], id="cut"),
        pytest.param(json.dumps(good()).encode().replace(b"{", b'{"payload": "",', 1), id="member-doubled"),
        pytest.param(json.dumps(good()).encode().replace(b'{"keyid"', b'{"sig": "","keyid"', 1), id="inner-doubled"),
        pytest.param(b"[" * MAX_BYTES, id="very-deep"),
        pytest.param(b"9" * 5000, id="very-long-number"),
    ],
)
def test_bytes_that_are_no_envelope_are_refused(data: bytes) -> None:
    assert refusal_of(parse_envelope_bytes, data)[0] == "not-envelope"


def test_limit_of_size_is_exact() -> None:
    data = json.dumps(good()).encode()
    at_the_limit = data + b" " * (MAX_BYTES - len(data))
    assert parse_envelope_bytes(at_the_limit) == parse_envelope(good())
    assert refusal_of(parse_envelope_bytes, at_the_limit + b" ") == ("too-large", {"limit": 65_535})


def with_signature(envelope: Envelope, index: int, **values: Any) -> Envelope:
    signatures = list(envelope.signatures)
    old = signatures[index]
    signatures[index] = Signature(keyid=values.get("keyid", old.keyid), sig=values.get("sig", old.sig))
    return Envelope(payload_type=envelope.payload_type, payload=envelope.payload, signatures=tuple(signatures))


def test_every_signature_must_verify_not_just_one() -> None:
    envelope = sign_envelope(PAYLOAD, [GIVER, TAKER])
    first, second = (one.sig for one in envelope.signatures)
    verify_envelope(envelope, KEYS)
    for bad, culprit in (
        (with_signature(envelope, 0, sig=second), FIRST),
        (with_signature(envelope, 1, sig=first), SECOND),
        (with_signature(envelope, 1, sig=second[:-1]), SECOND),
        (with_signature(envelope, 1, sig=b""), SECOND),
        (with_signature(envelope, 1, sig=bytes([second[0] ^ 1]) + second[1:]), SECOND),
    ):
        assert refusal_of(verify_envelope, bad, KEYS) == ("bad-signature", {"keyid": culprit})


@pytest.mark.parametrize(
    ("kind", "payload"),
    [
        pytest.param(PAYLOAD_TYPE, PAYLOAD + b" ", id="payload-longer"),
        pytest.param(PAYLOAD_TYPE, PAYLOAD[:-1], id="payload-cut"),
        pytest.param(PAYLOAD_TYPE, PAYLOAD.replace(b"o", b"0"), id="payload-changed"),
        pytest.param("application/vnd.custody.sign-in.v1+json", PAYLOAD, id="type-changed"),
        pytest.param(PAYLOAD_TYPE + " ", PAYLOAD, id="type-longer"),
    ],
)
def test_signature_holds_for_one_payload_and_one_type_only(kind: str, payload: bytes) -> None:
    signatures = sign_envelope(PAYLOAD, [GIVER]).signatures
    verify_envelope(Envelope(payload_type=PAYLOAD_TYPE, payload=PAYLOAD, signatures=signatures), KEYS)
    changed = Envelope(payload_type=kind, payload=payload, signatures=signatures)
    assert refusal_of(verify_envelope, changed, KEYS) == ("bad-signature", {"keyid": GIVER.keyid})


def test_key_that_nobody_holds_is_refused_by_name() -> None:
    envelope = sign_envelope(PAYLOAD, [GIVER, STRANGER])
    assert refusal_of(verify_envelope, envelope, KEYS) == ("unknown-key", {"keyid": STRANGER.keyid})
    verify_envelope(envelope, {**KEYS, STRANGER.keyid: STRANGER.public_key})


def test_key_under_a_second_id_is_refused_though_its_signature_is_valid() -> None:
    alias = "0" * 64
    envelope = with_signature(sign_envelope(PAYLOAD, [GIVER]), 0, keyid=alias)
    keys = {**KEYS, alias: GIVER.public_key}
    assert refusal_of(verify_envelope, envelope, keys) == ("unknown-key", {"keyid": alias})


@pytest.mark.parametrize("weak", sorted(SMALL_ORDER), ids=bytes.hex)
def test_weak_key_on_the_register_is_refused_all_the_same(weak: bytes) -> None:
    envelope = with_signature(sign_envelope(PAYLOAD, [GIVER]), 0, keyid=keyid(weak))
    assert refusal_of(verify_envelope, envelope, {keyid(weak): weak}) == ("weak-key", {"keyid": keyid(weak)})


def test_signing_needs_a_signer_and_each_one_once() -> None:
    for signers in ([], [GIVER, GIVER]):
        with pytest.raises(ValueError, match="each key once"):
            sign_envelope(PAYLOAD, signers)


def test_pae_counts_bytes_not_characters() -> None:
    assert pae("typ-é", "ü€".encode()) == "DSSEv1 6 typ-é 5 ü€".encode()


def test_another_payload_type_can_be_asked_for() -> None:
    sign_in = "application/vnd.custody.sign-in.v1+json"
    value = dump_envelope(sign_envelope(b"{}", [GIVER], payload_type=sign_in))
    verify_envelope(parse_envelope(value, payload_type=sign_in), KEYS)
    assert refusal_of(parse_envelope, value)[0] == "unknown-type"
