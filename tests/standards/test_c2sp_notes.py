"""C2SP signed-note, tlog-checkpoint, tlog-cosignature and tlog-proof: published and recorded texts, byte for byte."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from custody.errors import Unverified
from custody.ledger.checkpoint import cosign_checkpoint, dump_checkpoint, verify_checkpoint, verify_cosignature
from custody.ledger.merkle import leaf_hash
from custody.ledger.notes import KeyType, Verifier, dump_note, parse_note, verify_note, vkey
from custody.ledger.proof import Proof, dump_proof, parse_proof, verify_proof
from custody.ledger.signing import Signer


@pytest.fixture
def recorded(reference: Path) -> Any:
    return json.loads((reference / "tlog_notes.json").read_text("utf-8"))


def test_published_note_verifies_and_is_written_again_as_it_was(recorded: Any) -> None:
    published = recorded["notes"][0]
    note, verifier = parse_note(published["note"]), Verifier.parse(published["vkey"])
    verify_note(note, verifier)
    assert dump_note(note) == published["note"]
    assert vkey(verifier.name, verifier.public_key) == published["vkey"]


def test_published_note_with_any_byte_of_its_text_changed_fails(recorded: Any) -> None:
    published = recorded["notes"][0]
    verifier = Verifier.parse(published["vkey"])
    text, rest = published["note"].split("\n\n")
    for at, character in enumerate(text):
        changed = text[:at] + chr(ord(character) ^ 1) + text[at + 1 :]
        with pytest.raises(Unverified) as failure:
            verify_note(parse_note(f"{changed}\n\n{rest}"), verifier)
        assert failure.value.code in {"bad-signature", "not-note"}  # not-note: a space became a control character


def test_recorded_checkpoint_and_cosignature_are_written_byte_for_byte(recorded: Any) -> None:
    one = recorded["checkpoint"]
    log, witness = Signer(bytes.fromhex(one["log_seed"])), Signer(bytes.fromhex(one["witness_seed"]))
    assert vkey("custody.example/log", log.public_key) == one["log_vkey"]
    assert vkey("witness.example/w1", witness.public_key, type=KeyType.COSIGNATURE) == one["witness_vkey"]
    checkpoint = verify_checkpoint(one["note"], one["log_vkey"])
    assert (checkpoint.origin, checkpoint.size) == ("custody.example/log", 8)
    assert verify_cosignature(one["note"], one["witness_vkey"]) == one["cosign_time"]
    written = dump_checkpoint(checkpoint.origin, checkpoint.size, checkpoint.root, log)
    assert cosign_checkpoint(written, "witness.example/w1", witness, one["cosign_time"]) == one["note"]


def test_recorded_proof_verifies_and_is_written_byte_for_byte(recorded: Any) -> None:
    text, key = recorded["tlog_proof"]["text"], recorded["checkpoint"]["log_vkey"]
    leaf = leaf_hash(bytes.fromhex(recorded["tlog_proof"]["leaf_hex"]))
    checkpoint = verify_proof(text, leaf, key)
    assert checkpoint.note == parse_note(recorded["checkpoint"]["note"])
    proof = parse_proof(text)
    assert dump_proof(Proof(index=5, hashes=proof.hashes, checkpoint=recorded["checkpoint"]["note"])) == text
    with pytest.raises(Unverified) as failure:
        verify_proof(text.replace("index 5", "index 4"), leaf, key)
    assert failure.value.code == "bad-inclusion"
