"""The photos that entries name, as far as they were received: their bytes must be those that were signed for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from custody import photos, store
from custody.domain.photos import photos_of
from custody.domain.recorded import Recorded
from custody.errors import CustodyError
from custody.queries.verify_lines import Problem


def check_photos(log: store.LogHead, entries: Iterable[Recorded]) -> Iterator[Problem]:
    """Each photo once. One that did not come is no fault of the log's: it may still be on the phone that took it."""
    for sha256 in sorted({name for entry in entries for name in photos_of(entry.signed)}):
        try:
            photos.read(sha256)
        except CustodyError as error:
            yield Problem(log=log.path, table="photo", key=sha256, code=error.code, detail=error.detail)
        except OSError as error:
            yield Problem(
                log=log.path, table="photo", key=sha256, code="photo-changed", detail=f"Cannot be read: {error}"
            )
