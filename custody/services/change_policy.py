"""Put a version of a jurisdiction's policy on record: the whole document, every key spelt out, and when it begins.

A version may begin in the past: a later change of policy counts for what is on record already, and stands beside it
with who made it and when.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from custody import registers, store
from custody.domain.instants import dump_instant
from custody.domain.policy_document import dump_policy, parse_policy
from custody.errors import CustodyError
from custody.services.append_changes import append_changes


def change_policy(
    jurisdiction: str, document: str | Mapping[str, Any], *, valid_from: int, user: str, now: int
) -> store.StoredLine | None:
    """Put a policy in force from an instant, in place of one that began then. `document` is TOML or its JSON form.

    What the document leaves out has its default, which is written down with it: a default that changes in this program
    does not change what was in force. Returns the line, or `None` when that version is on record already. Raises
    `CustodyError`: `bad-policy`, `no-jurisdiction`.
    """
    try:
        members = tomllib.loads(document) if isinstance(document, str) else document
        whole = dump_policy(parse_policy(members))
    except ValueError as error:
        raise CustodyError("bad-policy", f"The policy cannot be read: {error}.") from None
    row = {"valid_from": dump_instant(valid_from), "document": whole}
    with transaction.atomic():
        log = store.lock_head(registers.open_register_log(jurisdiction))
        if registers.read_rows(log).tables["policy"].get((row["valid_from"],)) == row:
            return None
        (line,) = append_changes(log, {"policy": [row]}, user=user, now=now)
        return line
