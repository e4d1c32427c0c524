"""Ed25519 signatures (RFC 8032) under one strict rule, whatever library does the arithmetic.

Libraries agree on honest signatures and differ at the edges: some accept keys for which anybody can sign, some accept
two encodings of one point. A log must give one answer for ever, so the rule is ours, and a library only decides the
equation:

1. the public key is 32 bytes, canonical (y < p), on the curve, and none of the 14 encodings of small-order points;
2. the signature is 64 bytes, R || S, with S < L (RFC 8032 section 5.1.7) and R likewise not of small order;
3. the equation `[S]B = R + [h]A` holds without a cofactor, R compared as bytes (so R is canonical as well).

Keys of mixed order are not looked for, on purpose: without a cofactor every library gives the same answer for them,
and only the holder of the secret key can make one.

libsodium (by way of PyNaCl) verifies nearly twice as fast as OpenSSL and is used where present; `cryptography`
(OpenSSL) otherwise. Not a key store, and it makes no keys: a seed comes from outside, chance has no place in this
package.
"""

from __future__ import annotations

from functools import lru_cache
from hashlib import sha256
from typing import Final

from custody.errors import Refused, Unverified

try:
    from nacl.bindings import crypto_sign, crypto_sign_open, crypto_sign_seed_keypair
    from nacl.exceptions import BadSignatureError

    _HAS_LIBSODIUM = True
except ImportError:  # pragma: no cover - exercised where PyNaCl is absent
    _HAS_LIBSODIUM = False

try:
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
except ImportError:  # pragma: no cover - exercised where cryptography is absent
    if not _HAS_LIBSODIUM:
        raise

LIBRARY: Final = "libsodium" if _HAS_LIBSODIUM else "OpenSSL"
"""The library that decides the equation here; measured figures name it."""

_P: Final = 2**255 - 19
_L: Final = 2**252 + 27742317777372353535851937790883648493
_D: Final = -121665 * pow(121666, -1, _P) % _P
_Y8: Final = 55188659117513257062467267217118295137698188065244968500265048394206261417927

SMALL_ORDER: Final = frozenset(
    (y | sign << 255).to_bytes(32, "little")
    for y in (
        0,  # order 4
        1,  # the neutral point
        _P - 1,  # order 2
        _P,  # 0 written without reduction
        _P + 1,  # 1 written without reduction
        _Y8,  # order 8
        _P - _Y8,  # order 8, the negative
    )
    for sign in (0, 1)
)
"""The 14 encodings of points whose order divides 8."""


def keyid(public_key: bytes) -> str:
    """Lower-case hex of SHA-256 over the raw 32 bytes of the key."""
    return sha256(public_key).hexdigest()


def check_public_key(public_key: bytes) -> None:
    """Raise `Refused("weak-key")` unless rule 1 above holds for the key."""
    fault = _fault_of_key(public_key)
    if fault:
        raise Refused("weak-key", f"The public key {fault}.", keyid=keyid(public_key))


@lru_cache(maxsize=16_384)
def _fault_of_key(public_key: bytes) -> str:
    """What is wrong with a key, or "". Remembered, since a log holds many signatures of few keys."""
    if len(public_key) != 32:
        return f"has {len(public_key)} bytes, not 32"
    if public_key in SMALL_ORDER:
        return "is of small order: anybody can sign for it"
    y = int.from_bytes(public_key, "little") & (1 << 255) - 1
    if y >= _P:
        return "is not encoded in canonical form"
    # On the curve if x^2 = (y^2 - 1) / (d y^2 + 1) has a root (RFC 8032 section 5.1.3); the quotient of two numbers
    # is a square exactly when their product is (Euler's criterion; zero occurs for small orders only).
    square = (y * y - 1) * (_D * y * y + 1) % _P
    return "" if pow(square, (_P - 1) // 2, _P) == 1 else "is not a point of the curve"


def verify_signature(public_key: bytes, message: bytes, signature: bytes) -> None:
    """Raise `Unverified("bad-signature")` unless `signature` (64 bytes) of `message` is valid under rules 1 to 3."""
    if (
        len(signature) != 64
        or int.from_bytes(signature[32:], "little") >= _L
        or signature[:32] in SMALL_ORDER
        or _fault_of_key(public_key)
        or not _equation_holds(public_key, message, signature)
    ):
        raise Unverified("bad-signature", "The signature does not verify.", keyid=keyid(public_key))


def _holds_in_libsodium(public_key: bytes, message: bytes, signature: bytes) -> bool:
    try:
        crypto_sign_open(signature + message, public_key)
    except BadSignatureError:
        return False
    return True


def _holds_in_openssl(public_key: bytes, message: bytes, signature: bytes) -> bool:
    try:
        Ed25519PublicKey.from_public_bytes(public_key).verify(signature, message)
    except InvalidSignature:
        return False
    return True


_equation_holds = _holds_in_libsodium if _HAS_LIBSODIUM else _holds_in_openssl


class Signer:
    """A key pair that signs: a person's, a log's or a witness's. Holds the secret; never dump it."""

    __slots__ = ("_secret", "keyid", "public_key")

    def __init__(self, seed: bytes) -> None:
        """`seed` is the 32-byte private key of RFC 8032 section 5.1.5. Raises `ValueError` for another length."""
        if len(seed) != 32:
            raise ValueError(f"an Ed25519 seed has 32 bytes, not {len(seed)}")
        if _HAS_LIBSODIUM:
            self.public_key, self._secret = crypto_sign_seed_keypair(seed)
        else:
            self._secret = seed
            self.public_key = Ed25519PrivateKey.from_private_bytes(seed).public_key().public_bytes_raw()
        self.keyid = keyid(self.public_key)

    def sign(self, message: bytes) -> bytes:
        """The 64-byte signature of a message. The same message always gets the same signature."""
        if _HAS_LIBSODIUM:
            return crypto_sign(message, self._secret)[:64]
        return Ed25519PrivateKey.from_private_bytes(self._secret).sign(message)

    def __repr__(self) -> str:
        return f"Signer(keyid={self.keyid!r})"
