"""Signed notes, checkpoints and proof files: what spoils them. Against published texts: tests/standards."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from custody.errors import CustodyError, Unverified
from custody.ledger.base64 import dump_base64
from custody.ledger.checkpoint import (
    cosign_checkpoint,
    dump_checkpoint,
    parse_checkpoint,
    verify_checkpoint,
    verify_cosignature,
)
from custody.ledger.merkle import inclusion_proof, leaf_hash, root
from custody.ledger.notes import (
    MAX_SIGNATURES,
    KeyType,
    Note,
    NoteSignature,
    Verifier,
    cosign_note,
    dump_note,
    parse_note,
    sign_note,
    verify_note,
    vkey,
)
from custody.ledger.proof import Proof, dump_proof, parse_proof, verify_proof
from custody.ledger.signing import SMALL_ORDER, Signer
from custody.ledger.tree import NodeTree

LOG, WITNESS, OTHER = (Signer(bytes([number]) * 32) for number in (1, 2, 3))
ORIGIN = "custody.example/ALDER/main"
LOG_KEY = vkey(ORIGIN, LOG.public_key)
WITNESS_KEY = vkey("witness.example/w1", WITNESS.public_key, type=KeyType.COSIGNATURE)
LEAVES = [leaf_hash(b"line %d" % number) for number in range(11)]
TREE = NodeTree(LEAVES)
CHECKPOINT = dump_checkpoint(ORIGIN, 11, root(11, TREE.node), LOG)
PROOF = dump_proof(Proof(index=6, hashes=tuple(inclusion_proof(6, 11, TREE.node)), checkpoint=CHECKPOINT))


def code_of(function: Callable[..., object], *args: object) -> str | None:
    try:
        function(*args)
    except CustodyError as error:
        assert type(error) is Unverified
        return error.code
    return None


def test_checkpoint_says_what_the_log_said() -> None:
    checkpoint = verify_checkpoint(CHECKPOINT, LOG_KEY)
    assert (checkpoint.origin, checkpoint.size, checkpoint.root) == (ORIGIN, 11, root(11, TREE.node))
    assert checkpoint.extensions == ()
    assert [one.name for one in checkpoint.signatures] == [ORIGIN]


def signed(text: str, name: str = ORIGIN, signer: Signer = LOG) -> str:
    return dump_note(Note(text=text, signatures=(sign_note(text, name, signer),)))


ROOT = dump_base64(root(11, TREE.node))


@pytest.mark.parametrize(
    ("text", "code"),
    [
        pytest.param(f"{ORIGIN}\n11\n{ROOT}\n", None, id="as-it-should-be"),
        pytest.param(f"{ORIGIN}\n11\n{ROOT}\nan extension\n", None, id="extension-line"),
        pytest.param(f"{ORIGIN}\n0\n{ROOT}\n", None, id="size-nothing"),
        pytest.param(f"{ORIGIN}\n011\n{ROOT}\n", "not-checkpoint", id="leading-zero"),
        pytest.param(f"{ORIGIN}\n+11\n{ROOT}\n", "not-checkpoint", id="sign-before-size"),
        pytest.param(f"{ORIGIN}\n-1\n{ROOT}\n", "not-checkpoint", id="negative-size"),
        pytest.param(f"{ORIGIN}\n1_1\n{ROOT}\n", "not-checkpoint", id="underscore-in-size"),
        pytest.param(f"{ORIGIN}\n\u0661\u0661\n{ROOT}\n", "not-checkpoint", id="digits-of-another-script"),
        pytest.param(f"{ORIGIN}\n{'9' * 5000}\n{ROOT}\n", "not-checkpoint", id="very-long-size"),
        pytest.param(f"{ORIGIN}\n11\n{ROOT[:-4]}\n", "not-checkpoint", id="root-cut"),
        pytest.param(f"{ORIGIN}\n11\n{ROOT[:-1]}\n", "not-checkpoint", id="root-without-padding"),
        pytest.param(f"{ORIGIN}\n11\n", "not-checkpoint", id="no-root"),
        pytest.param(f"{ORIGIN}\n11\n{ROOT}\n\nmore\n", "not-checkpoint", id="empty-extension-line"),
        pytest.param(f"\n11\n{ROOT}\n", "not-checkpoint", id="no-origin"),
        pytest.param(f"custody.example/ALDER/drill\n11\n{ROOT}\n", "other-origin", id="another-log"),
    ],
)
def test_signed_text_of_another_form_is_no_checkpoint(text: str, code: str | None) -> None:
    assert code_of(verify_checkpoint, signed(text), LOG_KEY) == code


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        pytest.param("\n11\n", "\n12\n", "bad-signature", id="size-changed"),
        pytest.param(f"\n{ROOT[:1]}", "\nA", "bad-signature", id="root-changed"),
        pytest.param("\n\n", "\nmore\n\n", "bad-signature", id="line-added"),
        pytest.param("ALDER/main\n", "ALDER/train\n", "other-origin", id="origin-changed"),
        pytest.param(f"— {ORIGIN} ", f"— {ORIGIN}2 ", "no-signature", id="name-changed"),
        pytest.param("\n\n", "\n", "not-note", id="blank-line-gone"),
        pytest.param("— ", "- ", "not-note", id="hyphen-for-dash"),
        pytest.param("— ", "—  ", "not-note", id="two-spaces"),
        pytest.param("— ", "— short AAAA\n— ", "not-note", id="key-id-of-3-bytes"),
        pytest.param("— ", "— empty AAAAAA==\n— ", "not-note", id="no-signature-after-key-id"),
        pytest.param("=\n", "=\r\n", "not-note", id="carriage-return"),
        pytest.param("11\n", "11\t\n", "not-note", id="tab"),
    ],
)
def test_changed_checkpoint_fails(old: str, new: str, code: str) -> None:
    assert code_of(verify_checkpoint, CHECKPOINT, LOG_KEY) is None
    assert code_of(verify_checkpoint, CHECKPOINT.replace(old, new, 1), LOG_KEY) == code


def test_last_signature_line_without_its_newline_is_not_dropped_silently() -> None:
    line = CHECKPOINT.split("\n\n")[1]
    assert code_of(parse_checkpoint, CHECKPOINT + line) is None
    assert code_of(parse_checkpoint, CHECKPOINT + line[:-1]) == "not-note"


@pytest.mark.parametrize("cut", [1, 2, 5, 40])
def test_cut_checkpoint_fails(cut: int) -> None:
    assert code_of(verify_checkpoint, CHECKPOINT[:-cut], LOG_KEY) == "not-note"


def test_key_of_another_log_or_witness_does_not_open_it() -> None:
    assert code_of(verify_checkpoint, CHECKPOINT, vkey(ORIGIN, OTHER.public_key)) == "no-signature"
    assert code_of(verify_checkpoint, CHECKPOINT, vkey("else.example", LOG.public_key)) == "other-origin"
    assert code_of(verify_checkpoint, CHECKPOINT, vkey(ORIGIN, LOG.public_key, type=KeyType.COSIGNATURE)) == "not-vkey"


def test_unknown_signatures_are_passed_over_and_false_ones_of_a_known_key_are_not() -> None:
    note = parse_note(CHECKPOINT)
    foreign = sign_note(note.text, "else.example", OTHER)
    false = sign_note("another text\n", ORIGIN, LOG)
    assert (
        code_of(verify_checkpoint, dump_note(Note(text=note.text, signatures=(foreign, *note.signatures))), LOG_KEY)
        is None
    )
    with_false = dump_note(Note(text=note.text, signatures=(*note.signatures, false)))
    assert code_of(verify_checkpoint, with_false, LOG_KEY) == "bad-signature"


def test_cosignature_tells_when_the_witness_saw_it() -> None:
    twice = cosign_checkpoint(CHECKPOINT, "witness.example/w1", WITNESS, 1_793_750_400)
    twice = cosign_checkpoint(twice, "witness.example/w1", WITNESS, 1_793_750_300)
    assert verify_cosignature(twice, WITNESS_KEY) == 1_793_750_400
    assert verify_checkpoint(twice, LOG_KEY).size == 11
    assert code_of(verify_cosignature, CHECKPOINT, WITNESS_KEY) == "no-signature"
    assert code_of(verify_cosignature, twice, LOG_KEY) == "not-vkey"
    assert code_of(verify_cosignature, twice.replace("\n11\n", "\n12\n"), WITNESS_KEY) == "bad-signature"


def test_cosignature_with_its_time_changed_fails() -> None:
    note = parse_note(CHECKPOINT)
    one = cosign_note(note.text, "witness.example/w1", WITNESS, 5)
    verifier = Verifier.parse(WITNESS_KEY)
    verify_note(Note(text=note.text, signatures=(one,)), verifier)
    for sig in (b"\0" * 7 + b"\6" + one.sig[8:], b"\x80" + one.sig[1:], one.sig[8:], one.sig[:-1], b"\0"):
        changed = type(one)(name=one.name, key_id=one.key_id, sig=sig)
        assert code_of(verify_note, Note(text=note.text, signatures=(changed,)), verifier) == "bad-signature"


def test_cosignature_of_a_time_that_cannot_be_fails_though_it_was_signed() -> None:
    text, verifier = parse_note(CHECKPOINT).text, Verifier.parse(WITNESS_KEY)
    for at, code in ((2**63 - 1, None), (2**63, "bad-signature")):
        sig = at.to_bytes(8, "big") + WITNESS.sign(f"cosignature/v1\ntime {at}\n{text}".encode())
        one = NoteSignature(name=verifier.name, key_id=verifier.key_id, sig=sig)
        assert code_of(verify_note, Note(text=text, signatures=(one,)), verifier) == code


@pytest.mark.parametrize("at", [-1, 2**63])
def test_no_cosignature_of_a_time_that_does_not_fit(at: int) -> None:
    with pytest.raises(ValueError, match="not an instant"):
        cosign_note("text\n", "witness.example/w1", WITNESS, at)


@pytest.mark.parametrize("name", ["", "a b", "a+b", "a\u00a0b", "a\nb", "a\u2003", "\x00", "\ud800"], ids=ascii)
def test_name_with_space_or_plus_is_no_key_name(name: str) -> None:
    with pytest.raises(ValueError, match="not a key name"):
        vkey(name, LOG.public_key)
    with pytest.raises(ValueError, match="not a key name"):
        dump_checkpoint(name, 0, bytes(32), LOG)


@pytest.mark.parametrize("text", ["no newline", "tab\t\n", "null\0\n", ""], ids=ascii)
def test_text_that_cannot_be_a_note_is_not_signed(text: str) -> None:
    with pytest.raises(ValueError, match="ends in a newline"):
        sign_note(text, ORIGIN, LOG)


def test_checkpoint_is_not_written_with_a_false_size_or_root() -> None:
    for size, top in ((-1, bytes(32)), (0, bytes(31))):
        with pytest.raises(ValueError, match="root of 32 bytes"):
            dump_checkpoint(ORIGIN, size, top, LOG)


def test_blank_lines_inside_the_text_belong_to_the_text() -> None:
    text = "one\n\ntwo\n\n"
    note = parse_note(signed(text))
    assert note.text == text
    verify_note(note, Verifier.parse(LOG_KEY))


def test_number_of_signatures_is_limited() -> None:
    line = CHECKPOINT.split("\n\n")[1]
    body = CHECKPOINT.removesuffix(line)
    assert code_of(parse_checkpoint, body + line * MAX_SIGNATURES) is None
    assert code_of(parse_checkpoint, body + line * (MAX_SIGNATURES + 1)) == "not-note"
    assert code_of(parse_checkpoint, body) == "not-note"


WEAK = sorted(SMALL_ORDER)[0]


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("", id="empty"),
        pytest.param(ORIGIN, id="name-alone"),
        pytest.param(LOG_KEY.rpartition("+")[0], id="no-key"),
        pytest.param(LOG_KEY[:-4], id="key-cut"),
        pytest.param(LOG_KEY.replace("/main", "/drill"), id="another-name"),
        pytest.param(LOG_KEY.upper(), id="upper-case"),
        pytest.param("x" + LOG_KEY, id="letter-before"),
        pytest.param(LOG_KEY.replace("+", "+ ", 1), id="space-before-key-id"),
        pytest.param(LOG_KEY + "\n", id="newline-after"),
        pytest.param(vkey(ORIGIN, WEAK), id="weak-key"),
        pytest.param(vkey(ORIGIN, LOG.public_key + b"\0"), id="key-too-long"),
        pytest.param("\ud800+00000000+AQ==", id="lone-surrogate"),
    ],
)
def test_text_that_is_no_vkey_is_refused(text: str) -> None:
    assert Verifier.parse(LOG_KEY) == Verifier(name=ORIGIN, type=KeyType.ED25519, public_key=LOG.public_key)
    assert code_of(Verifier.parse, text) == "not-vkey"


def test_proof_shows_its_line_and_no_other() -> None:
    assert verify_proof(PROOF, LEAVES[6], LOG_KEY).size == 11
    assert code_of(verify_proof, PROOF, LEAVES[7], LOG_KEY) == "bad-inclusion"
    assert code_of(verify_proof, PROOF, LEAVES[6], vkey(ORIGIN, OTHER.public_key)) == "no-signature"


def test_extra_line_is_kept_and_not_trusted() -> None:
    proof = parse_proof(PROOF.replace("index", "extra AAEC\nindex", 1))
    assert proof.extra == b"\0\1\2"
    assert parse_proof(dump_proof(proof)) == proof
    assert verify_proof(dump_proof(proof), LEAVES[6], LOG_KEY).size == 11


HASH = PROOF.split("\n")[2]


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        pytest.param("@v1", "@v2", "not-proof", id="another-version"),
        pytest.param("index 6", "index 06", "not-proof", id="leading-zero"),
        pytest.param("index 6", "index -6", "not-proof", id="negative-index"),
        pytest.param("index 6", "index", "not-proof", id="no-number"),
        pytest.param("index 6\n", "", "not-proof", id="no-index"),
        pytest.param("index 6", "index 6\nextra AAEC", "not-proof", id="extra-after-index"),
        pytest.param("index 6", "extra A\nindex 6", "not-proof", id="extra-not-base64"),
        pytest.param(HASH, HASH[:-4], "not-proof", id="hash-cut"),
        pytest.param(f"{HASH}\n", f"{HASH}\n" * 64, "not-proof", id="64-hashes-more"),
        pytest.param("\n\n", "\n", "not-proof", id="blank-line-gone"),
        pytest.param("\n\n", "\n\n\n", "not-checkpoint", id="blank-line-more"),
        pytest.param("index 6", "index 7", "bad-inclusion", id="another-index"),
        pytest.param("index 6", "index 11", "bad-inclusion", id="index-is-size"),
        pytest.param(f"{HASH}\n", "", "bad-inclusion", id="hash-missing"),
        pytest.param(f"{HASH}\n", f"{HASH}\n{HASH}\n", "bad-inclusion", id="hash-doubled"),
        pytest.param("\n11\n", "\n12\n", "bad-signature", id="checkpoint-changed"),
        pytest.param("\n", "\r\n", "not-proof", id="carriage-return"),
    ],
)
def test_changed_proof_fails(old: str, new: str, code: str) -> None:
    assert PROOF.count(old) > 0
    assert code_of(verify_proof, PROOF.replace(old, new, 1), LEAVES[6], LOG_KEY) == code


def test_proof_for_the_only_line_has_no_hashes() -> None:
    one = dump_checkpoint(ORIGIN, 1, LEAVES[0], LOG)
    text = dump_proof(Proof(index=0, hashes=(), checkpoint=one))
    assert text == f"c2sp.org/tlog-proof@v1\nindex 0\n\n{one}"
    assert verify_proof(text, LEAVES[0], LOG_KEY).size == 1
