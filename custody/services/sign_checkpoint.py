"""Sign a checkpoint: what somebody else keeps, so that nobody can later change or cut off what it covers."""

from __future__ import annotations

from django.db import transaction

from custody import store
from custody.keys import log_signer


def sign_checkpoint(log: store.LogHead, *, now: int) -> str:
    """The log's checkpoint at its present size, a signed note (C2SP tlog-checkpoint); the same one while it has not grown.

    Raises `Unverified` when the log no longer begins with what it signed before, or another key is in the data folder.
    """
    with transaction.atomic():
        return store.sign_checkpoint(store.lock_head(log), log_signer(log), now)
