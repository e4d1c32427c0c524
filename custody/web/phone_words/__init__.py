"""The words that the phone's scripts say. They are a module of their own, `/at-work/words.js`; a script asks
for them by id (`say` of `words.js`).

One module an area. An id is `area.what-it-says`; where one and many differ there are two, ending in `.one` and `.other`.
The words of the record come from where all pages have them, under `word.`. A test holds the ids against the scripts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from django.utils.functional import Promise

from custody.web import words
from custody.web.phone_words import (
    access,
    acts,
    amending,
    desk,
    foresight,
    further_acts,
    outbox,
    photos,
    place,
    scanning,
    settling,
    signing,
)

StrOrPromise = str | Promise

AREAS: tuple[Mapping[str, StrOrPromise], ...] = (
    access.WORDS,
    acts.WORDS,
    amending.WORDS,
    desk.WORDS,
    foresight.WORDS,
    further_acts.WORDS,
    outbox.WORDS,
    photos.WORDS,
    place.WORDS,
    scanning.WORDS,
    settling.WORDS,
    signing.WORDS,
)


def phone_words() -> dict[str, str]:
    """Every word by its id, in the language of the request."""
    return {identifier: str(text) for identifier, text in _all()}


def _all() -> Iterator[tuple[str, StrOrPromise]]:
    for area in AREAS:
        yield from area.items()
    for value, text in words.all_words().items():
        yield f"word.{value}", text
