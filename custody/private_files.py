"""Files that are written once, which only the server's own user may read: secrets, and photos.

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
    """The bytes of the file at `path`; where there is none, what `make` returns is written there first.

    Of several processes that come at once, one makes the secret and all read the same: the file appears whole, by a
    link that fails if the name is taken. Raises `OSError` when the folder cannot be written.
    """
    with suppress(FileNotFoundError):
        return path.read_bytes()
    keep_file(path, make())  # where another process was first, its secret counts
    return path.read_bytes()


def keep_file(path: Path, data: bytes) -> bool:
    """Write a file with mode 0600, unless there is one of that name; whether it is new. On the disk when this returns.

    Raises `OSError` when the folder cannot be written.
    """
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle, draft = tempfile.mkstemp(dir=path.parent, prefix=".new-")  # mode 0600, O_EXCL
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        try:
            os.link(draft, path)
        except FileExistsError:
            return False
    finally:
        os.unlink(draft)
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)  # else the name could be lost, and the bytes with it
    finally:
        os.close(folder)
    return True
