"""Secrets that are made once and kept in a file which only the server's own user may read.

Not a vault: whoever can read the data folder as that user can read the secret. A file that is lost is made anew with
another secret, so backups of the data folder have to hold it.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path


def keep_secret(path: Path, make: Callable[[], bytes]) -> bytes:
    """The bytes of the file at `path`; where there is none, what `make` returns is written there first, with mode 0600.

    Of several processes that come at once, one makes the secret and all read the same: the file appears whole, by a
    link that fails if the name is taken. Raises `OSError` when the folder cannot be written.
    """
    with suppress(FileNotFoundError):
        return path.read_bytes()
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle, draft = tempfile.mkstemp(dir=path.parent, prefix=".new-")  # mode 0600, O_EXCL
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(make())
            file.flush()
            os.fsync(file.fileno())
        with suppress(FileExistsError):  # another process was first; its secret counts
            os.link(draft, path)
    finally:
        os.unlink(draft)
    return path.read_bytes()
