"""What the ledger costs, as ratios taken in one run (`python -m tests.benchmarks.bench_ledger`). It judges nothing."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter
from typing import Any

import rfc8785
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from custody.ledger.canonical import dump_canonical, parse_canonical
from custody.ledger.envelope import dump_envelope, parse_envelope, sign_envelope, verify_envelope
from custody.ledger.merkle import inclusion_proof, leaf_hash
from custody.ledger.signing import LIBRARY, Signer, verify_signature
from custody.ledger.tree import NodeTree, Tree

SIGNERS = [Signer(bytes([number]) * 32) for number in (1, 2)]
KEYS = {signer.keyid: signer.public_key for signer in SIGNERS}
VALUE: dict[str, Any] = {
    "kind": "handoff",
    "v": 1,
    "items": [{"code": f"BC0000{number}", "sealed": True} for number in range(10, 36)],
}


def seconds(function: Callable[[], object], times: int) -> float:
    """Seconds a call, best of five rounds."""

    def once() -> float:
        start = perf_counter()
        for _ in range(times):
            function()
        return (perf_counter() - start) / times

    return min(once() for _ in range(5))


def main() -> None:
    payload = dump_canonical(VALUE)
    signature, key = SIGNERS[0].sign(payload), SIGNERS[0].public_key
    envelope = sign_envelope(payload, SIGNERS)
    value = dump_envelope(envelope)
    loaded = Ed25519PublicKey.from_public_bytes(key)
    ours = seconds(lambda: verify_signature(key, payload, signature), 2000)
    openssl = seconds(lambda: loaded.verify(signature, payload), 2000)
    print(f"payload of {len(payload)} bytes; signatures verified by {LIBRARY}")
    print(f"verify a signature  {1 / ours:8,.0f} /s   {openssl / ours:.2f} x OpenSSL with its key loaded")
    for name, function in (
        ("verify envelope of two", lambda: verify_envelope(envelope, KEYS)),
        ("parse envelope", lambda: parse_envelope(value)),
        ("parse canonical", lambda: parse_canonical(payload)),
        ("dump canonical", lambda: dump_canonical(VALUE)),
        ("rfc8785 library, dump", lambda: rfc8785.dumps(VALUE)),
        ("leaf hash", lambda: leaf_hash(payload)),
    ):
        taken = seconds(function, 2000)
        print(f"{name:24}{taken * 1e6:8.1f} us   {taken / ours:.2f} x one signature")
    leaves = [leaf_hash(b"%d" % number) for number in range(200_000)]
    print(f"root, streaming         {seconds(lambda: Tree().extend(leaves), 1) / len(leaves) * 1e6:8.2f} us a leaf")
    tree = NodeTree(leaves)
    proof = seconds(lambda: inclusion_proof(77_777, len(leaves), tree.node), 2000)
    print(f"inclusion proof         {proof * 1e6:8.1f} us")


if __name__ == "__main__":
    main()
