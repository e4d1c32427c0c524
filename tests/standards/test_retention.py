"""52 U.S.C. 20701: records of a federal election are kept for 22 months; a month is a calendar month."""

from __future__ import annotations

from datetime import date

import pytest

from custody.domain.instants import add_months
from custody.domain.policy import DEFAULT_POLICY


@pytest.mark.parametrize(
    ("election", "until"),
    [
        ("2020-11-03", "2022-09-03"),
        ("2022-11-08", "2024-09-08"),
        ("2024-11-05", "2026-09-05"),
        ("2024-04-30", "2026-02-28"),  # February has no 30th: its last day
    ],
)
def test_retention_ends_22_calendar_months_after_the_election(election: str, until: str) -> None:
    assert add_months(date.fromisoformat(election), DEFAULT_POLICY.retention_months).isoformat() == until


def test_a_leap_year_gives_february_its_29th() -> None:
    assert add_months(date(2022, 4, 30), 22) == date(2024, 2, 29)
