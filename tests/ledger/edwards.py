"""Just enough edwards25519 (RFC 8032 section 5.1) to forge the signatures that honest signers never make. Slow, tests
only.
"""

from __future__ import annotations

from hashlib import sha512

P = 2**255 - 19
L = 2**252 + 27742317777372353535851937790883648493
D = -121665 * pow(121666, -1, P) % P

Point = tuple[int, int]


def add(a: Point, b: Point) -> Point:
    (x1, y1), (x2, y2) = a, b
    k = D * x1 * x2 * y1 * y2
    return (x1 * y2 + x2 * y1) * pow(1 + k, -1, P) % P, (y1 * y2 + x1 * x2) * pow(1 - k, -1, P) % P


def multiply(n: int, point: Point) -> Point:
    result = (0, 1)
    while n:
        if n & 1:
            result = add(result, point)
        point, n = add(point, point), n >> 1
    return result


def decode(data: bytes) -> Point:
    y = int.from_bytes(data, "little")
    sign, y = y >> 255, y & 2**255 - 1
    u, v = (y * y - 1) % P, (D * y * y + 1) % P
    x = u * pow(v, 3, P) * pow(u * pow(v, 7, P), (P - 5) // 8, P) % P
    if (v * x * x - u) % P:
        x = x * pow(2, (P - 1) // 4, P) % P
    assert (v * x * x - u) % P == 0
    return (x if x & 1 == sign else P - x, y)


def encode(point: Point) -> bytes:
    return (point[1] | (point[0] & 1) << 255).to_bytes(32, "little")


BASE = decode(bytes.fromhex("58" + "66" * 31))
ORDER_8 = decode(bytes.fromhex("26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05"))


def sign(secret: int, nonce: int, message: bytes, *, key: bytes, commitment: bytes) -> bytes:
    """R || S with any R and any public key written beside it; `[S]B = [nonce]B + [h * secret]B` whatever those are."""
    h = int.from_bytes(sha512(commitment + key + message).digest(), "little")
    return commitment + ((nonce + h * secret) % L).to_bytes(32, "little")
