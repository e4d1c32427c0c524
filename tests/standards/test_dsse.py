"""DSSE (Dead Simple Signing Envelope), protocol v1.0.2."""

from __future__ import annotations

import json
from base64 import b64decode
from copy import deepcopy
from importlib import import_module
from pathlib import Path
from typing import Any
from unicodedata import normalize

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256
from hypothesis import given
from hypothesis import strategies as st

from custody.errors import Refused
from custody.ledger.canonical import dump_canonical
from custody.ledger.envelope import dump_envelope, pae, parse_envelope, sign_envelope, verify_envelope
from custody.ledger.signing import Signer

SIGNERS = [Signer(bytes([number]) * 32) for number in (1, 2, 3)]
KEYS = {signer.keyid: signer.public_key for signer in SIGNERS}


def load(reference: Path, name: str) -> Any:
    return json.loads((reference / name).read_text("utf-8"))


def test_published_signature_holds_over_our_encoding(reference: Path) -> None:
    # DSSE protocol, section "Test Vectors": ECDSA P-256 with SHA-256.
    vector = load(reference, "dsse_p256.json")
    encoding = pae("http://example.com/HelloWorld", b"hello world")
    assert encoding == b"DSSEv1 29 http://example.com/HelloWorld 11 hello world"
    assert encoding.decode() == vector["pae"]
    raw = b64decode(vector["signature_raw_base64"])
    signature = encode_dss_signature(int.from_bytes(raw[:32], "big"), int.from_bytes(raw[32:], "big"))
    numbers = ec.EllipticCurvePublicNumbers(int(vector["public_x"]), int(vector["public_y"]), ec.SECP256R1())
    numbers.public_key().verify(signature, encoding, ec.ECDSA(SHA256()))


def test_envelope_of_two_signers_is_the_recorded_one(reference: Path) -> None:
    vector = load(reference, "dsse_two_ed25519.json")
    kind, payload = vector["payloadType"], vector["body"].encode()
    signers = [Signer(bytes.fromhex(seed)) for seed in vector["seeds"]]
    assert pae(kind, payload).hex() == vector["pae_hex"]
    envelope = sign_envelope(payload, signers, payload_type=kind)
    assert dump_envelope(envelope) == vector["envelope"]
    assert parse_envelope(vector["envelope"], payload_type=kind) == envelope
    verify_envelope(envelope, {signer.keyid: signer.public_key for signer in signers})


def judged_by_securesystemslib(value: dict[str, Any], keys: dict[str, bytes], threshold: int) -> set[str]:
    """The key ids that an independent DSSE library accepts; empty when it refuses the envelope."""
    dsse = pytest.importorskip("securesystemslib.dsse")
    from securesystemslib.exceptions import VerificationError

    library = import_module("securesystemslib.signer")
    public = [library.SSlibKey(one, "ed25519", "ed25519", {"public": key.hex()}) for one, key in keys.items()]
    try:
        return set(dsse.Envelope.from_dict(deepcopy(value)).verify(public, threshold))
    except VerificationError:
        return set()


payloads = st.dictionaries(st.text("abcdef", min_size=1), st.text(max_size=20) | st.integers(0, 99), max_size=4)


@given(payloads, st.sets(st.sampled_from(range(3)), min_size=1))
def test_independent_library_accepts_what_we_sign(payload: dict[str, Any], chosen: set[int]) -> None:
    normal = {name: normalize("NFC", one) if isinstance(one, str) else one for name, one in payload.items()}
    signers = [SIGNERS[number] for number in chosen]
    envelope = sign_envelope(dump_canonical(normal), signers)
    verify_envelope(envelope, KEYS)
    accepted = judged_by_securesystemslib(dump_envelope(envelope), KEYS, len(signers))
    assert accepted == {signer.keyid for signer in signers}


def test_independent_library_and_we_refuse_the_same_damage() -> None:
    def both(value: dict[str, Any]) -> tuple[bool, int]:
        try:
            verify_envelope(parse_envelope(value), KEYS)
        except Refused:
            ours = False
        else:
            ours = True
        return ours, len(judged_by_securesystemslib(value, KEYS, 2))

    good = dump_envelope(sign_envelope(b'{"v":1}', SIGNERS[:2]))
    assert both(good) == (True, 2)
    first, second = good["signatures"]
    swapped = [{**first, "sig": second["sig"]}, {**second, "sig": first["sig"]}]
    assert both({**good, "payload": "eyJ2IjoyfQ=="}) == (False, 0)
    assert both({**good, "payloadType": "application/json"}) == (False, 0)
    assert both({**good, "signatures": swapped}) == (False, 0)
    # One signature is enough for an envelope of ours; whether two were needed is for the rules to say.
    assert both({**good, "signatures": [first]}) == (True, 0)


def test_one_key_under_two_ids_is_refused() -> None:
    # DSSE protocol, section "Protocol": signatures of one key must not count twice; the independent library counts two.
    good = dump_envelope(sign_envelope(b'{"v":1}', SIGNERS[:1]))
    alias = "ab" * 32
    doubled = {**good, "signatures": [*good["signatures"], {**good["signatures"][0], "keyid": alias}]}
    keys = {SIGNERS[0].keyid: SIGNERS[0].public_key, alias: SIGNERS[0].public_key}
    assert len(judged_by_securesystemslib(doubled, keys, 2)) == 2
    with pytest.raises(Refused) as refusal:
        verify_envelope(parse_envelope(doubled), keys)
    assert (refusal.value.code, refusal.value.data) == ("unknown-key", {"keyid": alias})
