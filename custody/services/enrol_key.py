"""Enrol a public key: a badge was made for somebody. The other half never comes here."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from custody import registers, store
from custody.domain.instants import dump_instant
from custody.domain.register import Key, Register
from custody.errors import CustodyError, Refused
from custody.ledger.base64 import dump_base64, parse_base64
from custody.ledger.signing import check_public_key
from custody.services.append_changes import append_changes
from custody.services.sign_in import lift_badge_lock


def enrol_key(jurisdiction: str, person: str, public_key: str, *, user: str, now: int) -> None:
    """Let a key count for a person from now on, in place of the ones before, which end now.

    What they signed before keeps counting. `public_key` is base64 of 32 bytes. Raises `CustodyError`: `no-person`, `bad-key` (no
    key, or one that anybody can sign for), `key-taken`.
    """
    try:
        raw = parse_base64(public_key)
        check_public_key(raw)
    except (ValueError, Refused):
        raise CustodyError("bad-key", "This is no public key that can be trusted.", person=person) from None
    with transaction.atomic():
        log = store.lock_head(registers.open_register_log(jurisdiction))
        register = registers.get_register(jurisdiction)
        if person not in register.people:
            raise CustodyError("no-person", f"There is no person {person}.", person=person)
        taken = {key.public_key for other in registers.list_register_logs() for key in _keys(other.jurisdiction)}
        if raw in taken:
            raise CustodyError("key-taken", "This key is on a register already.", person=person)
        earlier = [each for each in register.keys.values() if each.person == person and is_open(each, now)]
        rows = [key_row(each, valid_until=now) for each in earlier]
        rows.append({"person": person, "public_key": dump_base64(raw), "valid_from": dump_instant(now)})
        append_changes(log, {"keys": rows}, user=user, now=now)
        lift_badge_lock(jurisdiction, person)


def _keys(jurisdiction: str) -> list[Key]:
    register: Register = registers.get_register(jurisdiction)
    return list(register.keys.values())


def is_open(key: Key, now: int) -> bool:
    """Whether a key counts at a moment, or will."""
    return (key.valid_until is None or key.valid_until > now) and key.revoked_at is None


def key_row(key: Key, **changes: int) -> dict[str, Any]:
    """The row of a key in the register log, with limits (Unix seconds) changed."""
    limits = {name: getattr(key, name) for name in ("valid_from", "valid_until", "revoked_at")} | changes
    written = {name: dump_instant(value) for name, value in limits.items() if value is not None}
    return {"person": key.person, "public_key": dump_base64(key.public_key), **written}
