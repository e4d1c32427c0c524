"""Revoke what somebody signs with: a badge was lost, or somebody left."""

from __future__ import annotations

from django.db import transaction

from custody import registers, store
from custody.errors import CustodyError
from custody.services.append_changes import append_changes
from custody.services.enrol_key import is_open, key_row


def revoke_keys(jurisdiction: str, person: str, *, since: int, user: str, now: int) -> int:
    """Let none of a person's keys count from `since` on (Unix seconds, not after `now`); how many those were.

    What they signed before counts as far as it arrives within policy's time for late entries. Raises `CustodyError`: `no-person`,
    `bad-date`.
    """
    if since > now:
        raise CustodyError("bad-date", "A badge is revoked from now on, or from an earlier time.", since=since)
    with transaction.atomic():
        log = store.lock_head(registers.open_register_log(jurisdiction))
        register = registers.get_register(jurisdiction)
        if person not in register.people:
            raise CustodyError("no-person", f"There is no person {person}.", person=person)
        held = [each for each in register.keys.values() if each.person == person and is_open(each, since)]
        if held:
            append_changes(log, {"keys": [key_row(each, revoked_at=since) for each in held]}, user=user, now=now)
        return len(held)
