"""When a place is expected back at night, as the office types it. Not evidence: the last word stands, and may be taken back."""

from __future__ import annotations

from custody import store
from custody.models.night import Estimate, Way

MOST_MINUTES = 24 * 60


def set_estimate(log: store.LogHead, election: str, site: str, *, way: str, value: int) -> None:
    """`way` is a word of `Way`; `value` its minutes, or Unix seconds of a time. Raises `ValueError` for another word."""
    Estimate.objects.update_or_create(
        jurisdiction=log.jurisdiction,
        log=log.name,
        election=election,
        site=site,
        defaults={"way": Way(way), "value": value},
    )


def clear_estimate(log: store.LogHead, election: str, site: str) -> None:
    """Go by what is worked out again."""
    Estimate.objects.filter(jurisdiction=log.jurisdiction, log=log.name, election=election, site=site).delete()
