"""The photos that entries name. What is to be seen on them counts for no rule; that there is one does (`end_unsigned`)."""

from __future__ import annotations

from custody.domain.entries import Amend, Entry
from custody.domain.values import SHA256


def photos_of(entry: Entry) -> frozenset[str]:
    """The photos that an entry names by their SHA-256, those that an amendment would put into another among them."""
    found = set(entry.photos)
    if isinstance(entry, Amend) and isinstance(replaced := entry.replaces.get("photos"), list):
        found.update(each for each in replaced if isinstance(each, str) and SHA256.fullmatch(each))
    return frozenset(found)
