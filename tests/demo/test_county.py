"""The invented county: what its files hold, and badges whose secrets are public."""

from __future__ import annotations

import base64
import csv
from collections import Counter
from hashlib import pbkdf2_hmac
from pathlib import Path

import pytest

from fixtures_demo.county import HERE, list_badges, read_county, rows_of, write_register
from fixtures_demo.times import times_of


def test_the_badges_say_in_their_first_line_that_they_are_public() -> None:
    first = (HERE / "badges.csv").read_text(encoding="utf-8").splitlines()[0]
    assert first.startswith("# Public secrets, for the demo only")


@pytest.mark.parametrize("number", [0, -1])
def test_a_seed_is_what_secret_and_pin_give(number: int) -> None:
    """PBKDF2 of RFC 8018 section 5.2, with the rounds and the salt that every badge has."""
    badge = list_badges()[number]
    salt = b"custody-badge-v1" + badge.secret
    assert pbkdf2_hmac("sha256", badge.pin.encode(), salt, 600_000, 32) == badge.seed


def test_the_register_holds_the_public_keys_of_the_badges() -> None:
    keys = {row["public_key"] for table in ("people", "keys") for row in rows_of(table)} - {""}
    assert keys == {base64.b64encode(badge.signer.public_key).decode() for badge in list_badges()}


def test_everybody_has_a_badge_and_one_has_two() -> None:
    held = Counter(badge.person for badge in list_badges())
    assert set(held) == {row["code"] for row in rows_of("people")}
    assert [person for person, count in held.items() if count > 1] == ["P05-W3"]


def test_no_two_people_share_a_name() -> None:
    names = Counter(row["name"] for row in rows_of("people"))
    assert [name for name, count in names.items() if count > 1] == []


def test_phone_numbers_are_of_the_range_kept_for_fiction() -> None:
    """555-0100 to 555-0199 are set aside for fictional use in the North American Numbering Plan (from memory)."""
    numbers = {row["phone"] for table in ("people", "sites") for row in rows_of(table)} - {""}
    assert {number[:6] for number in numbers} == {"555-01"}
    assert {len(number) for number in numbers} == {8}


def test_every_place_has_a_kit_of_the_same_kinds() -> None:
    kits = read_county().kits
    assert len(kits) == 26
    assert len({tuple((kind, len(codes)) for kind, codes in kit.of.items()) for kit in kits.values()}) == 1


def test_dates_are_filled_in_for_a_start(tmp_path: Path) -> None:
    times = times_of(1_793_765_100)
    write_register(tmp_path, times)
    with (tmp_path / "elections.csv").open(encoding="utf-8", newline="") as file:
        election = next(row for row in csv.DictReader(file) if row["code"] == "GENERAL")
    assert election["polls_close"] == times.local(times.closed)
    assert "{" not in "".join(path.read_text(encoding="utf-8") for path in tmp_path.iterdir())
