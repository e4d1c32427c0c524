"""Signing in by badge: the server asks with a challenge, the person's key answers, once and soon.

A challenge is a payload of a type of its own (DSSE keeps types apart): no signature of it can pass for one of an entry, and no
entry can pass for an answer.
"""

from __future__ import annotations

import hmac
import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import F
from django.utils.crypto import salted_hmac

from custody.domain.instants import dump_instant, parse_instant
from custody.domain.recorded import Signed, key_fault
from custody.errors import CustodyError, Refused
from custody.ledger.canonical import parse_canonical
from custody.ledger.envelope import Envelope, parse_envelope_bytes, verify_envelope
from custody.models.access import MOST_FAILURES, BadgeTries, Challenge
from custody.models.register import Person
from custody.registers import get_register

PAYLOAD_TYPE = "application/vnd.custody.sign-in.v1+json"
SECONDS = 120
CHANCE = 16
"""Bytes by which one challenge differs from all others."""
MEMBERS = {"origin", "nonce", "expiry", "person"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """An answer to a challenge of ours; `expires` in Unix seconds. Whether its signature is the person's is not known yet."""

    jurisdiction: str
    person: str
    nonce: str
    expires: int
    envelope: Envelope


def make_challenge(jurisdiction: str, person: str, *, origin: str, now: int) -> dict[str, Any]:
    """The payload to be signed. Made for any code alike: it does not tell who is on the register.

    Nothing is written, however many are asked for: the nonce itself shows that the challenge is ours.
    """
    members = {"origin": origin, "expiry": dump_instant(now + SECONDS), "person": person}
    return {**members, "nonce": _nonce(secrets.token_hex(CHANCE), jurisdiction, members)}


def open_answer(body: bytes, jurisdiction: str, *, origin: str, now: int) -> Answer:
    """The answer that the bytes hold, to a challenge of ours that has time left.

    Raises `CustodyError`: `stale-challenge` when it is none of ours, or too old; `Refused` for bytes that are no such envelope.
    """
    envelope = parse_envelope_bytes(body, payload_type=PAYLOAD_TYPE)
    members = parse_canonical(envelope.payload)
    if members.keys() != MEMBERS or not all(isinstance(each, str) for each in members.values()):
        raise _stale()
    wanted = _nonce(members["nonce"][: 2 * CHANCE], jurisdiction, members)
    # Only what is ours is read any further.
    if not hmac.compare_digest(members["nonce"].encode(), wanted.encode()) or members["origin"] != origin:
        raise _stale()
    expires = parse_instant(members["expiry"])
    if expires <= now:
        raise _stale()
    return Answer(
        jurisdiction=jurisdiction, person=members["person"], nonce=members["nonce"], expires=expires, envelope=envelope
    )


def _nonce(chance: str, jurisdiction: str, members: Mapping[str, str]) -> str:
    """Something new, and a code over it and all that the challenge says: HMAC-SHA-256, of which half is kept (RFC 2104, 5)."""
    said = [chance, jurisdiction, *(members[name] for name in ("origin", "expiry", "person"))]
    return chance + salted_hmac(PAYLOAD_TYPE, json.dumps(said), algorithm="sha256").hexdigest()[:32]


def _stale() -> CustodyError:
    return CustodyError("stale-challenge", "This took too long, or was sent before. Try once more.")


def sign_in_by_badge(answer: Answer, *, now: int) -> None:
    """Check an answer, and count those that were wrong in a row.

    A challenge signs in once. Raises `CustodyError`: `not-signed-in`; `stale-challenge` when it did so before; `badge-locked`
    after ten of them (NIST SP 800-63B), whatever the answer, until the office lifts it or enrols another badge.
    """
    tries, _ = BadgeTries.objects.get_or_create(jurisdiction=answer.jurisdiction, person=answer.person)
    row = BadgeTries.objects.filter(pk=tries.pk)
    if is_badge_locked(answer.jurisdiction, answer.person):
        raise CustodyError("badge-locked", "There were too many wrong PINs.", person=answer.person)
    # Counted before it is checked: of many at once no more than ten are ever looked at.
    row.update(failures=F("failures") + 1)
    verify_answer(answer, now=now)
    _spend(answer, now=now)
    row.update(failures=0)


def _spend(answer: Answer, *, now: int) -> None:
    """Note that a challenge signed somebody in, for as long as it could do so again."""
    Challenge.objects.filter(expires__lte=now).delete()
    # Being the one who makes the row says who came first, if an answer is sent twice at once.
    _, made = Challenge.objects.get_or_create(
        nonce=answer.nonce,
        defaults={"jurisdiction": answer.jurisdiction, "person": answer.person, "expires": answer.expires},
    )
    if not made:
        raise _stale()


def is_badge_locked(jurisdiction: str, person: str) -> bool:
    tries = BadgeTries.objects.filter(jurisdiction=jurisdiction, person=person, failures__gte=MOST_FAILURES)
    return tries.exists()


def lift_badge_lock(jurisdiction: str, person: str) -> None:
    """Let somebody try again."""
    BadgeTries.objects.filter(jurisdiction=jurisdiction, person=person).delete()


def verify_answer(answer: Answer, *, now: int) -> None:
    """Check that one key signed, that it is the person's and valid now, and that the person did not leave service.

    Raises `CustodyError("not-signed-in")`.
    """
    wrong = CustodyError("not-signed-in", "Badge and PIN do not go together, or the badge is not valid any more.")
    (first, *others) = answer.envelope.signatures
    key = get_register(answer.jurisdiction).keys.get(first.keyid)
    # A wrong PIN gives a key that nobody has: it ends here, as for a person that nobody knows.
    if key is None or key.person != answer.person or others:
        raise wrong
    try:
        verify_envelope(answer.envelope, {key.keyid: key.public_key})
    except Refused:
        raise wrong from None
    if key_fault(key, Signed(keyid=key.keyid, received=now), now, 0) or _left(answer.jurisdiction, answer.person):
        raise wrong


def _left(jurisdiction: str, person: str) -> bool:
    return Person.objects.filter(jurisdiction=jurisdiction, code=person, retired=True).exists()


def is_valid_person(jurisdiction: str, person: str, *, now: int) -> bool:
    """Whether somebody in service has a key that is valid now: a session by badge lasts no longer than either."""
    if _left(jurisdiction, person):
        return False
    keys = get_register(jurisdiction).keys.values()
    signed = (key for key in keys if key.person == person)
    return any(not key_fault(key, Signed(keyid=key.keyid, received=now), now, 0) for key in signed)
