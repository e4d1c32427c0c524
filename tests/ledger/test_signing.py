"""One strict rule for signatures, whichever library decides the equation."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha512

import pytest

from custody.errors import Refused, Unverified
from custody.ledger import signing
from custody.ledger.signing import SMALL_ORDER, Signer, check_public_key, keyid, verify_signature
from tests.ledger import edwards

SIGNER = Signer(bytes(range(32)))
MESSAGE = b"eighteen ballots"
SIGNATURE = SIGNER.sign(MESSAGE)
SECRET, NONCE = 1234567, 7654321


@pytest.fixture(params=["libsodium", "OpenSSL"], autouse=True)
def library(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    holds: dict[str, Callable[[bytes, bytes, bytes], bool]] = {
        "libsodium": signing._holds_in_libsodium,
        "OpenSSL": signing._holds_in_openssl,
    }
    monkeypatch.setattr(signing, "_equation_holds", holds[request.param])
    monkeypatch.setattr(signing, "_HAS_LIBSODIUM", request.param == "libsodium")


def verifies(public_key: bytes, message: bytes, signature: bytes) -> bool:
    try:
        verify_signature(public_key, message, signature)
    except Unverified as error:
        assert error.code == "bad-signature"
        return False
    return True


def test_signature_of_the_signer_verifies() -> None:
    assert verifies(SIGNER.public_key, MESSAGE, SIGNATURE) is True


@pytest.mark.parametrize(
    ("key", "message", "signature"),
    [
        pytest.param(SIGNER.public_key, b"nineteen ballots", SIGNATURE, id="another-message"),
        pytest.param(SIGNER.public_key, MESSAGE[:-1], SIGNATURE, id="message-cut"),
        pytest.param(SIGNER.public_key, MESSAGE + b"\0", SIGNATURE, id="message-longer"),
        pytest.param(Signer(bytes(32)).public_key, MESSAGE, SIGNATURE, id="another-key"),
        pytest.param(SIGNER.public_key, MESSAGE, SIGNATURE[32:] + SIGNATURE[:32], id="halves-swapped"),
        pytest.param(SIGNER.public_key, MESSAGE, SIGNATURE[:-1], id="signature-cut"),
        pytest.param(SIGNER.public_key, MESSAGE, SIGNATURE + b"\0", id="signature-longer"),
        pytest.param(SIGNER.public_key, MESSAGE, b"", id="signature-empty"),
        pytest.param(SIGNER.public_key, MESSAGE, bytes(64), id="signature-of-zeros"),
        pytest.param(SIGNER.public_key[:-1], MESSAGE, SIGNATURE, id="key-cut"),
        pytest.param(b"", MESSAGE, SIGNATURE, id="key-empty"),
    ],
)
def test_anything_swapped_or_cut_fails(key: bytes, message: bytes, signature: bytes) -> None:
    assert verifies(key, message, signature) is False


@pytest.mark.parametrize("bit", range(0, 512, 37))
def test_one_flipped_bit_of_the_signature_fails(bit: int) -> None:
    changed = bytearray(SIGNATURE)
    changed[bit // 8] ^= 1 << bit % 8
    assert verifies(SIGNER.public_key, MESSAGE, bytes(changed)) is False


def test_s_plus_l_fails_though_the_equation_holds() -> None:
    s = int.from_bytes(SIGNATURE[32:], "little") + edwards.L
    assert verifies(SIGNER.public_key, MESSAGE, SIGNATURE[:32] + s.to_bytes(32, "little")) is False


def forged(commitment: bytes, *, nonce: int, key: bytes | None = None) -> tuple[bytes, bytes]:
    """A key, and a signature made knowing its secret, with a commitment R of the forger's choice."""
    key = key or edwards.encode(edwards.multiply(SECRET, edwards.BASE))
    return key, edwards.sign(SECRET, nonce, MESSAGE, key=key, commitment=commitment)


def test_forging_tool_makes_valid_signatures_when_used_honestly() -> None:
    key, signature = forged(edwards.encode(edwards.multiply(NONCE, edwards.BASE)), nonce=NONCE)
    assert verifies(key, MESSAGE, signature) is True


def test_r_with_a_torsion_part_fails_since_no_cofactor_is_applied() -> None:
    r = edwards.add(edwards.multiply(NONCE, edwards.BASE), edwards.ORDER_8)
    key, signature = forged(edwards.encode(r), nonce=NONCE)
    assert verifies(key, MESSAGE, signature) is False


@pytest.mark.parametrize("encoding", sorted(SMALL_ORDER), ids=bytes.hex)
def test_r_of_small_order_fails(encoding: bytes) -> None:
    key, signature = forged(encoding, nonce=0)
    assert verifies(key, MESSAGE, signature) is False


@pytest.mark.parametrize("encoding", sorted(SMALL_ORDER), ids=bytes.hex)
def test_key_of_small_order_fails_and_is_refused(encoding: bytes) -> None:
    # With A of small order, R = [S]B verifies whenever the order divides h: anybody can try messages until it does.
    signature = edwards.encode(edwards.multiply(NONCE, edwards.BASE)) + NONCE.to_bytes(32, "little")
    messages = [b"message %d" % number for number in range(32)]
    assert [verifies(encoding, message, signature) for message in messages] == [False] * 32
    with pytest.raises(Refused) as refusal:
        check_public_key(encoding)
    assert (refusal.value.code, refusal.value.data) == ("weak-key", {"keyid": keyid(encoding)})


def test_two_libraries_and_the_rule_agree_on_a_key_of_mixed_order() -> None:
    point = edwards.add(edwards.multiply(SECRET, edwards.BASE), edwards.ORDER_8)
    key, r = edwards.encode(point), edwards.encode(edwards.multiply(NONCE, edwards.BASE))
    check_public_key(key)
    verdicts = []
    for number in range(24):
        message = b"message %d" % number
        signature = edwards.sign(SECRET, NONCE, message, key=key, commitment=r)
        h = int.from_bytes(sha512(r + key + message).digest(), "little") % edwards.L
        verdicts.append((verifies(key, message, signature), h % 8 == 0))
    assert [verdict for verdict, _ in verdicts] == [expected for _, expected in verdicts]
    assert {True, False} == {verdict for verdict, _ in verdicts}


def not_on_the_curve() -> bytes:
    """The smallest y from 2 on that belongs to no point: y^2 - 1 over d y^2 + 1 has no root."""
    for y in range(2, 100):
        quotient = (y * y - 1) * pow(edwards.D * y * y + 1, -1, edwards.P)
        if pow(quotient, (edwards.P - 1) // 2, edwards.P) != 1:
            return y.to_bytes(32, "little")
    raise AssertionError("half of all y belong to no point")


@pytest.mark.parametrize(
    "key",
    [
        pytest.param(b"", id="empty"),
        pytest.param(SIGNER.public_key[:-1], id="one-byte-short"),
        pytest.param(SIGNER.public_key + b"\0", id="one-byte-long"),
        pytest.param((2**255 - 19 + 3).to_bytes(32, "little"), id="y-is-p-plus-3"),
        pytest.param(b"\xff" * 32, id="y-is-largest"),
        pytest.param(not_on_the_curve(), id="off-the-curve"),
    ],
)
def test_malformed_key_is_refused(key: bytes) -> None:
    with pytest.raises(Refused) as refusal:
        check_public_key(key)
    assert refusal.value.code == "weak-key"


@pytest.mark.parametrize("number", range(8))
def test_key_of_a_signer_is_taken(number: int) -> None:
    check_public_key(Signer(bytes([number]) * 32).public_key)


def test_seed_of_another_length_is_no_seed() -> None:
    with pytest.raises(ValueError, match="32 bytes, not 31"):
        Signer(bytes(31))


def test_signer_signs_the_same_with_either_library() -> None:
    signer = Signer(bytes(range(32)))
    assert (signer.public_key, signer.sign(MESSAGE)) == (SIGNER.public_key, SIGNATURE)


def test_signer_does_not_show_its_secret() -> None:
    assert repr(SIGNER) == f"Signer(keyid='{keyid(SIGNER.public_key)}')"
