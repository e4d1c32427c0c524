"""Merkle trees: RFC 6962 and 9162, probes of transparency-dev/merkle, and `pymerkle` where installed."""

from __future__ import annotations

import json
from base64 import b64decode
from pathlib import Path
from random import Random
from typing import Any

import pytest

from custody.errors import Unverified
from custody.ledger.merkle import (
    consistency_proof,
    inclusion_proof,
    leaf_hash,
    node_hash,
    root,
    verify_consistency,
    verify_inclusion,
)
from custody.ledger.tree import NodeTree, Tree


def load(reference: Path, name: str) -> Any:
    return json.loads((reference / name).read_text("utf-8"))


def test_known_leaves_give_the_known_hashes_and_roots(reference: Path) -> None:
    known = load(reference, "merkle_rfc6962.json")
    leaves = [leaf_hash(bytes.fromhex(one)) for one in known["leaves_hex"]]
    assert [one.hex() for one in leaves] == known["leaf_hashes"]
    assert leaf_hash(b"L123456").hex() == known["leaf_L123456"]
    assert node_hash(b"N123", b"N456").hex() == known["node_N123_N456"]
    kept, streaming, roots = NodeTree(leaves), Tree(), [Tree().root().hex()]
    for leaf in leaves:
        streaming.append(leaf)
        roots.append(streaming.root().hex())
    assert roots == known["roots_by_size"]
    assert [root(size, kept.node).hex() for size in range(9)] == roots


def test_known_proofs_are_written_and_verify(reference: Path) -> None:
    known = load(reference, "merkle_rfc6962.json")
    leaves = [bytes.fromhex(one) for one in known["leaf_hashes"]]
    roots = [bytes.fromhex(one) for one in known["roots_by_size"]]
    tree = NodeTree(leaves)
    for one in known["inclusion"]:
        proof = inclusion_proof(one["index"], one["size"], tree.node)
        assert [part.hex() for part in proof] == one["proof"]
        verify_inclusion(one["index"], one["size"], leaves[one["index"]], proof, roots[one["size"]])
    for one in known["consistency"]:
        proof = consistency_proof(one["size1"], one["size2"], tree.node)
        assert [part.hex() for part in proof] == one["proof"]
        verify_consistency(one["size1"], one["size2"], roots[one["size1"]], roots[one["size2"]], proof)
    assert (len(known["inclusion"]), len(known["consistency"])) == (36, 36)


def test_probes_are_accepted_or_refused_as_published(reference: Path) -> None:
    probes = load(reference, "merkle_probes_transparency_dev.json")
    refused = {}
    for one in [*probes["inclusion"], *probes["consistency"]]:
        proof = [b64decode(part) for part in one["proof"] or []]
        try:
            if "leafIdx" in one:
                leaf, top = b64decode(one["leafHash"] or ""), b64decode(one["root"] or "")
                verify_inclusion(one["leafIdx"], one["treeSize"], leaf, proof, top)
            else:
                before, after = b64decode(one["root1"] or ""), b64decode(one["root2"] or "")
                verify_consistency(one["size1"], one["size2"], before, after, proof)
            refused[one["name"]] = False
        except Unverified:
            refused[one["name"]] = True
    assert refused == {one["name"]: one["wantErr"] for kind in ("inclusion", "consistency") for one in probes[kind]}
    assert (list(refused.values()).count(True), list(refused.values()).count(False)) == (184, 12)


def test_pymerkle_gives_the_same_roots_and_inclusion_proofs() -> None:
    pymerkle = pytest.importorskip("pymerkle", reason="pymerkle is optional: an independent tree, under the GPL")
    chance = Random(6962)  # noqa: S311 - the same logs in every run
    theirs, ours = pymerkle.InmemoryTree(algorithm="sha256"), NodeTree()
    for size in range(1, 301):
        line = chance.randbytes(chance.randrange(80))
        theirs.append_entry(line)
        ours.append(leaf_hash(line))
        assert root(size, ours.node) == theirs.get_root(size)
        index = chance.randrange(size)
        path = theirs.prove_inclusion(index + 1, size).serialize()[
            "path"
        ]  # its indexes start at 1, its paths at the leaf
        assert [ours.node(0, index).hex(), *(one.hex() for one in inclusion_proof(index, size, ours.node))] == path
