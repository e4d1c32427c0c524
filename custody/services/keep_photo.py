"""Keep a photo that an entry names. It is no entry: it counts for what the hash in the entry says of it, and for nothing else."""

from __future__ import annotations

import hashlib

from custody import photos, store
from custody.domain.photos import photos_of
from custody.errors import CustodyError
from custody.photos import MOST_BYTES as MOST_BYTES
from custody.photos import too_large as too_large
from custody.projections.recorded_lines import record_lines


def keep_photo(sha256: str, data: bytes) -> bool:
    """Keep the bytes under their SHA-256 (hex); whether they are new. They are on the disk when this returns.

    Raises `CustodyError`: `other-photo` where the bytes have another hash, and what `photos.check_picture` and `keep` raise.
    """
    if hashlib.sha256(data).hexdigest() != sha256:
        raise CustodyError("other-photo", "These bytes have another SHA-256 than the address says.")
    photos.check_picture(data)
    return photos.keep(sha256, data)


def is_named(log: store.LogHead | None, entry_id: str, sha256: str) -> bool:
    """Whether an entry on record, as it was signed, names that photo: a valid signature has asked for it then."""
    lines = store.lines_of_entries(log, [entry_id]).get(entry_id) if log else None
    return sha256 in photos_of(record_lines(lines).signed) if lines else False
