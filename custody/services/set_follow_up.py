"""Who follows up a line of the night's report. A note of the office: it neither settles a finding nor brings an item back."""

from __future__ import annotations

from custody import store
from custody.models.night import FollowUp

MOST_LETTERS = 100


def set_follow_up(log: store.LogHead, key: str, who: str) -> None:
    """Nobody any more, when `who` is empty."""
    if who:
        FollowUp.objects.update_or_create(jurisdiction=log.jurisdiction, log=log.name, key=key, defaults={"who": who})
    else:
        FollowUp.objects.filter(jurisdiction=log.jurisdiction, log=log.name, key=key).delete()
