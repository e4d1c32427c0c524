"""The worked examples of DEVELOPERS.md are true: every byte in them is worked out again."""

from __future__ import annotations

import json
import re
from pathlib import Path

from custody.domain.parsing import dump_entry, parse_entry
from custody.ledger.canonical import dump_canonical, parse_canonical
from custody.ledger.checkpoint import dump_checkpoint, verify_checkpoint
from custody.ledger.envelope import dump_envelope, sign_envelope
from custody.ledger.merkle import leaf_hash
from custody.ledger.proof import verify_proof
from custody.ledger.signing import Signer

TEXT = (Path(__file__).resolve().parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
ORIGIN = "custody.example/ALDER/main"


def example(title: str, language: str) -> str:
    """The first code block of a language below a heading."""
    (section,) = re.findall(rf"^### {re.escape(title)}\n(.*?)(?=^##)", TEXT, re.DOTALL | re.MULTILINE)
    return re.findall(rf"```{language}\n(.*?)```", section, re.DOTALL)[0]


def test_the_payload_is_canonical_and_an_entry() -> None:
    payload = parse_canonical(example("A payload", "json").strip().encode())
    assert dump_entry(parse_entry(payload)) == payload


def test_the_envelope_is_what_both_ends_sign() -> None:
    payload = example("A payload", "json").strip().encode()
    signed = sign_envelope(payload, [Signer(bytes([1] * 32)), Signer(bytes([2] * 32))])
    assert json.loads(example("An envelope", "json")) == dump_envelope(signed)


def test_leaf_checkpoint_and_proof_follow_from_the_envelope() -> None:
    envelope = json.loads(example("An envelope", "json"))
    body = dump_canonical({"seq": 0, "received": "2026-11-04T03:14:09Z", "envelope": envelope})
    leaf = leaf_hash(body)
    assert example("A line of the log and its leaf", "leaf").strip() == leaf.hex()
    checkpoint = example("A checkpoint", "checkpoint")
    assert checkpoint == dump_checkpoint(ORIGIN, 1, leaf, Signer(bytes([9] * 32)))
    vkey = example("A checkpoint", "vkey").strip()
    assert verify_checkpoint(checkpoint, vkey).root == leaf
    assert verify_proof(example("A proof of one entry", "proof"), leaf, vkey).size == 1


def test_the_change_of_the_register_is_canonical_but_for_its_spaces() -> None:
    change = json.loads(example("A change of the register", "json"))
    assert parse_canonical(dump_canonical(change)) == change
    assert sorted(change) == ["change", "received", "seq", "user"]
