"""Signed notes: a text with signatures below it (C2SP signed-note v1, and cosignatures of C2SP tlog-cosignature v1).

    The text.

    — example.com/key base64(4 bytes of key id || signature)

A key is told by its name and a key id of four bytes, which are a label and prove nothing: whoever reads a note holds
the key itself, as a **vkey** `name+keyid+base64(type || public key)`. Signatures of keys that the reader does not
hold are passed over, so that witnesses can be added without asking anybody; a signature of a key that the reader does
hold must verify.

Two types of key are known: Ed25519 over the text (a log), and the timestamped Ed25519 cosignature (a witness: "at
that time this was the largest tree I had seen"). What the text means is for `checkpoint.py`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from hashlib import sha256
from typing import Final

from custody.errors import Refused, Unverified
from custody.ledger.base64 import dump_base64, parse_base64
from custody.ledger.signing import Signer, check_public_key, verify_signature

MAX_SIGNATURES: Final = 100
"""Most signature lines that are read. The standard asks readers to have a limit, and to take at least 16."""

_LATEST: Final = 2**63 - 1
"""Largest timestamp of a cosignature (C2SP tlog-cosignature, section Format)."""

_DASH: Final = "\N{EM DASH} "


class KeyType(IntEnum):
    """The signature type byte of C2SP signed-note, as far as known here."""

    ED25519 = 0x01
    COSIGNATURE = 0x04


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteSignature:
    """One signature line: name of the key, its 4-byte key id, and the signature, of whatever type."""

    name: str
    key_id: bytes
    sig: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A text, its final newline included, with its signatures in the order of their lines."""

    text: str
    signatures: tuple[NoteSignature, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verifier:
    """A key that notes are checked with. `key_id` is the 4 bytes of `note_key_id`."""

    name: str
    type: KeyType
    public_key: bytes

    @property
    def key_id(self) -> bytes:
        return note_key_id(self.name, self.type, self.public_key)

    @classmethod
    def parse(cls, text: str) -> Verifier:
        """The key of a vkey. Raises `Unverified("not-vkey")`: another form, a foreign key id, a weak key."""
        failed = Unverified("not-vkey", "Not a verifier key of the form name+keyid+base64, of an Ed25519 key.")
        parts = text.split("+", 2)  # a name holds no plus, base64 may
        try:
            name, key_id, material = parts[0], bytes.fromhex(parts[1]), parse_base64(parts[2])
            verifier = cls(name=name, type=KeyType(material[0]), public_key=material[1:])
            check_public_key(verifier.public_key)
        except (IndexError, ValueError, Refused):
            raise failed from None
        if not _is_key_name(name) or key_id != verifier.key_id or parts[1] != key_id.hex():
            raise failed
        return verifier


def vkey(name: str, public_key: bytes, *, type: KeyType = KeyType.ED25519) -> str:
    """The text by which others know a key: `name+keyid+base64(type || public key)`, inverse of `Verifier.parse`."""
    _check_key_name(name)
    return f"{name}+{note_key_id(name, type, public_key).hex()}+{dump_base64(bytes([type]) + public_key)}"


def note_key_id(name: str, type: KeyType, public_key: bytes) -> bytes:
    """`SHA-256(name || 0x0A || type || public key)[:4]` (C2SP signed-note, section Signatures)."""
    return sha256(name.encode("utf-8") + b"\n" + bytes([type]) + public_key).digest()[:4]


def sign_note(text: str, name: str, signer: Signer) -> NoteSignature:
    """An Ed25519 signature of a note's text. Raises `ValueError` for what cannot be a note's text or a key's name."""
    _check_key_name(name)
    _check_text(text)
    key_id = note_key_id(name, KeyType.ED25519, signer.public_key)
    return NoteSignature(name=name, key_id=key_id, sig=signer.sign(text.encode("utf-8")))


def cosign_note(text: str, name: str, signer: Signer, at: int) -> NoteSignature:
    """A witness's cosignature of a note's text, made at the instant `at` (Unix seconds). Errors as of `sign_note`."""
    if not 0 <= at <= _LATEST:
        raise ValueError(f"not an instant that a cosignature can hold: {at}")
    _check_key_name(name)
    _check_text(text)
    key_id = note_key_id(name, KeyType.COSIGNATURE, signer.public_key)
    return NoteSignature(name=name, key_id=key_id, sig=at.to_bytes(8, "big") + signer.sign(_cosigned(text, at)))


def dump_note(note: Note) -> str:
    """The text of a signed note: text, blank line, one line for each signature."""
    lines = [f"{_DASH}{one.name} {dump_base64(one.key_id + one.sig)}\n" for one in note.signatures]
    return f"{note.text}\n{''.join(lines)}"


def parse_note(text: str) -> Note:
    """The inverse of `dump_note`. Raises `Unverified("not-note")`. Checks no signature: believe nothing yet."""
    failed = Unverified("not-note", "Not a signed note: a text, a blank line, and signature lines.")
    body, blank, below = text.rpartition("\n\n")  # the last blank line separates; the text may hold others
    lines = below.split("\n")
    if not blank or lines.pop() or not 1 <= len(lines) <= MAX_SIGNATURES:
        raise failed
    try:
        _check_text(body + "\n")
        return Note(text=body + "\n", signatures=tuple(map(_parse_signature, lines)))
    except ValueError:
        raise failed from None


def verify_note(note: Note, verifier: Verifier) -> None:
    """Check that the note bears the verifier's signature, and every signature under its name and id.

    Raises `Unverified`: `no-signature` when it bears none, `bad-signature` when one does not verify.
    """
    own = [one for one in note.signatures if (one.name, one.key_id) == (verifier.name, verifier.key_id)]
    if not own:
        raise Unverified("no-signature", f"The note bears no signature of {verifier.name}.", name=verifier.name)
    for one in own:
        message, sig = note.text.encode("utf-8"), one.sig
        if verifier.type is KeyType.COSIGNATURE:
            at, sig = cosigned_at(one), one.sig[8:]
            if at > _LATEST:
                raise Unverified("bad-signature", "A cosignature is of a time that cannot be.", name=verifier.name)
            message = _cosigned(note.text, at)
        verify_signature(verifier.public_key, message, sig)


def cosigned_at(signature: NoteSignature) -> int:
    """The instant at which a cosignature says it was made; to be believed once `verify_note` has passed."""
    return int.from_bytes(signature.sig[:8], "big")


def _cosigned(text: str, at: int) -> bytes:
    """What a witness signs: a header of its own, so that a cosignature never passes for the log's own signature."""
    return f"cosignature/v1\ntime {at}\n{text}".encode()


def _parse_signature(line: str) -> NoteSignature:
    name, space, encoded = line.removeprefix(_DASH).partition(" ")
    data = parse_base64(encoded)
    if not line.startswith(_DASH) or not space or not _is_key_name(name) or len(data) < 5:
        raise ValueError("not a signature line")
    return NoteSignature(name=name, key_id=data[:4], sig=data[4:])


def _check_text(text: str) -> None:
    """Raise `ValueError` unless `text` is valid in UTF-8, ends in a newline and has no other control character."""
    text.encode("utf-8")
    if not text.endswith("\n") or any(character < " " and character != "\n" for character in text):
        raise ValueError("a note's text ends in a newline and holds no other control character")


def _check_key_name(name: str) -> None:
    if not _is_key_name(name):
        raise ValueError(f"not a key name: {name!r}")


def _is_key_name(name: str) -> bool:
    """Not empty, no white space of any script, no plus, nothing that UTF-8 cannot hold."""
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return name != "" and "+" not in name and not any(map(str.isspace, name)) and min(name) > " "
