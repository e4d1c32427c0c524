"""Keys: the one with which a log signs its checkpoints.

A log has one key for life, whose name is the log's origin. The secret half is a file of 32 bytes in the data folder,
made at first use; it belongs in the backup, since `store.sign_checkpoint` refuses to go on with another.
"""

from __future__ import annotations

import secrets
from pathlib import Path
from typing import Protocol

from django.conf import settings

from custody.ledger.checkpoint import vkey
from custody.ledger.signing import Signer
from custody.private_files import keep_secret

SEED_BYTES = 32


class NamedLog(Protocol):
    """What is asked of a log here: its names. `store.LogHead` has them."""

    @property
    def jurisdiction(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def origin(self) -> str: ...


def log_signer(log: NamedLog) -> Signer:
    """The signer of a log's checkpoints. Raises `OSError` when the data folder cannot be read or written."""
    return Signer(keep_secret(_path(log), lambda: secrets.token_bytes(SEED_BYTES)))


def _path(log: NamedLog) -> Path:
    return Path(settings.CUSTODY_DATA) / "keys" / log.jurisdiction / f"{log.name}.seed"


def log_vkey(log: NamedLog) -> str:
    """The log's public key in the form that others verify its checkpoints with (C2SP signed-note)."""
    return vkey(log.origin, log_signer(log).public_key)


def known_vkey(log: NamedLog) -> str | None:
    """The same, for whoever verifies and must make nothing: `None` as long as the log never signed."""
    return log_vkey(log) if _path(log).exists() else None
