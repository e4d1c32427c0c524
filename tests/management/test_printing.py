"""`labels` and `badges`: what is on the sheets, what is asked wrongly, and that no secret is printed but a public one."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
import zxingcpp
from django.db import transaction
from PIL import Image
from pytest_django.fixtures import Settings
from stdnum.iso7064 import mod_37_2

from fixtures_demo.county import list_badges
from tests.management.test_commands import run
from tests.world import World
from tests.worlds_on_record import put_register

pytestmark = pytest.mark.django_db


@pytest.fixture
def world() -> World:
    world = World(places=2)
    with transaction.atomic():
        put_register(world)
    return world


def codes_on(document: Path) -> list[str]:
    command = ["pdftoppm", "-r", "150", "-gray", str(document), str(document.with_suffix(""))]
    subprocess.run(command, check=True)  # noqa: S603
    sheets = sorted(document.parent.glob("*.pgm"))
    return sorted(each.text for sheet in sheets for each in zxingcpp.read_barcodes(Image.open(sheet)))


def test_labels_carry_the_address_of_each_item(world: World, tmp_path: Path) -> None:
    out = tmp_path / "labels.pdf"
    ran = run("labels", "--site", "P01", "--host", "custody.example", "--out", out)
    kit = world.kits["P01"].all
    assert (ran.code, ran.out, ran.err) == (0, "", f"{len(kit)} labels in {out}\n")
    assert codes_on(out) == sorted(f"HTTPS://CUSTODY.EXAMPLE/Q/{code}" for code in kit)


def test_how_many_there_are_is_told_as_json_when_asked(world: World, tmp_path: Path) -> None:
    out = tmp_path / "labels.pdf"
    ran = run("labels", "--site", "P01", "--out", out, "--format", "json")
    assert (ran.code, ran.err) == (0, "")
    assert json.loads(ran.out) == {"file": str(out), "labels": len(world.kits["P01"].all)}


def test_single_labels_are_named_as_they_are_typed(world: World, tmp_path: Path) -> None:
    code = world.kits["P01"].case
    run("labels", "--item", code.lower(), "--host", "custody.example", "--out", tmp_path / "one.pdf")
    assert codes_on(tmp_path / "one.pdf") == [f"HTTPS://CUSTODY.EXAMPLE/Q/{code}"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("labels", "--item", "BC00001A"), "the check character of 'BC00001A' does not fit"),
        (("labels", "--item", "XX000016"), "is not an item code"),
        (("labels", "--item", "KS00009Y"), "The register has no item KS00009Y."),
        (("labels", "--site", "P99"), "There are no labels to print."),
        (("badges", "--site", "P99"), "There are no cards to print."),
        (("badges", "--person", "CHIEF-P01", "--person", "NOBODY-9"), "There is no card to print for NOBODY-9."),
        (("badges", "--person", "CHIEF-P01", "--site", "P02"), "There is no card to print for CHIEF-P01."),
    ],
)
def test_what_cannot_be_printed_is_said(world: World, tmp_path: Path, arguments: tuple[str, ...], said: str) -> None:
    ran = run(*arguments, "--out", tmp_path / "none.pdf")
    assert ran.code == 2
    assert said in ran.err
    assert not (tmp_path / "none.pdf").exists()


def test_without_a_host_labels_are_for_the_first_that_others_reach(
    world: World, tmp_path: Path, settings: Settings
) -> None:
    code = world.kits["P01"].case
    for name, hosts, found in (
        ("named", ["localhost", "*.alder.example", "custody.alder.example"], "CUSTODY.ALDER.EXAMPLE"),
        ("none", ["localhost", "127.0.0.1"], settings.CUSTODY_ORIGIN.upper()),
    ):
        settings.ALLOWED_HOSTS = hosts
        (tmp_path / name).mkdir()
        run("labels", "--item", code, "--out", tmp_path / name / "one.pdf")
        assert codes_on(tmp_path / name / "one.pdf") == [f"HTTPS://{found}/Q/{code}"]


@pytest.mark.parametrize(
    ("host", "said"),
    [
        ("https://custody.example", "'//custody.example' is not a port"),
        ("custody_example", "'custody_example' is not an address such as"),
        ("custody.example/", "'custody.example/' is not an address such as"),
    ],
)
def test_a_host_that_no_label_can_mean_is_said(world: World, tmp_path: Path, host: str, said: str) -> None:
    ran = run("labels", "--host", host, "--out", tmp_path / "none.pdf")
    assert ran.code != 0
    assert said in ran.err
    assert not (tmp_path / "none.pdf").exists()


def test_cards_bear_no_secret(world: World, tmp_path: Path) -> None:
    ran = run("badges", "--site", "P01", "--out", tmp_path / "cards.pdf")
    assert ran.code == 0
    assert codes_on(tmp_path / "cards.pdf") == []


def test_single_cards_are_named_as_they_are_typed(world: World, tmp_path: Path) -> None:
    """One that was lost is printed again without the whole place's."""
    out = tmp_path / "cards.pdf"
    ran = run("badges", "--person", "chief-p01", "--person", "WORKER-1-P02", "--out", out)
    assert (ran.code, ran.err) == (0, f"2 cards in {out}\n")
    text = subprocess.run(["pdftotext", str(out), "-"], check=True, capture_output=True, text=True).stdout  # noqa: S603, S607
    assert [code for code in ("CHIEF-P01", "WORKER-1-P01", "WORKER-1-P02") if code in text] == [
        "CHIEF-P01",
        "WORKER-1-P02",
    ]


def test_practice_sheets_show_numbers_of_the_place(world: World, tmp_path: Path) -> None:
    run("labels", "--seals", "P01", "--out", tmp_path / "seals.pdf")
    numbers = [
        number for lot in world.register.lots.values() if lot.issued_to == "P01" for number in lot.seals.numbers()
    ]
    shown = codes_on(tmp_path / "seals.pdf")
    assert 0 < len(shown) <= 80
    assert set(shown) <= set(numbers)


def test_a_badge_has_the_check_character_of_the_standard() -> None:
    """ISO 7064 MOD 37-2, by python-stdnum."""
    for badge in list_badges()[:40]:
        head, person, symbols = badge.text.split(":")
        assert (head, person, len(symbols)) == ("CB1", badge.person, 27)
        assert mod_37_2.is_valid(symbols)
