"""The command `demo`, run as a person runs it, in a copy of the checkout: its folder is `var/demo` of where it lies."""

from __future__ import annotations

import json
import shutil
import socket
import sqlite3
import subprocess
import time
from contextlib import closing
from pathlib import Path
from urllib.request import urlopen

import pytest
import zxingcpp
from PIL import Image

from fixtures_demo.build import expected
from fixtures_demo.county import list_badges
from tests.conftest import lacking
from tests.demo.checkout import Checkout, free_port

START = expected()["start"]


def told(done: subprocess.CompletedProcess[str]) -> dict[str, object]:
    assert (done.returncode, done.stderr) == (0, "")
    document: dict[str, object] = json.loads(done.stdout)
    return {name: document[name] for name in ("address", "folder", "log", "start", "entries")}


def test_started_again_it_goes_on_where_it_was(checkout: Checkout) -> None:
    assert told(checkout.run("--no-server", "--format", "json")) == {
        "address": None,
        "folder": str(checkout.demo),
        "log": "ALDER/demo",
        "start": START,
        "entries": expected()["counts"]["lines"],
    }


def test_another_start_asks_for_a_fresh_one(checkout: Checkout) -> None:
    done = checkout.run("--no-server", "--start", "2026-11-04T04:06:00Z")
    assert done.returncode == 2
    assert "--fresh" in done.stderr


def test_the_data_folder_of_the_surroundings_gets_no_database(checkout: Checkout) -> None:
    assert {path.name for path in checkout.data.iterdir()} <= {"secret_key"}


def test_a_port_that_is_taken_is_said_at_once(checkout: Checkout) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        done = checkout.run("--port", str(other.getsockname()[1]))
    assert done.returncode == 2
    assert "--port" in done.stderr


@pytest.mark.parametrize("host", ["https://demo.example", "192.0.2.254", "demo_example", "1.2.3"])
def test_a_host_that_phones_cannot_mean_is_said(checkout: Checkout, host: str) -> None:
    """192.0.2.254 is of a block for documentation (RFC 5737)."""
    done = checkout.run("--network", host)
    assert (done.returncode, done.stdout) == (2, "")
    assert "argument --network" in done.stderr
    assert not (checkout.demo / "certificate").exists()


def test_a_database_that_is_no_demo_is_left_alone(checkout: Checkout) -> None:
    state = checkout.demo / "demo.json"
    kept = state.read_text(encoding="utf-8")
    state.unlink()
    done = checkout.run("--no-server", "--fresh")
    state.write_text(kept, encoding="utf-8")
    assert done.returncode == 2
    assert (checkout.demo / "custody.sqlite3").exists()


def test_its_badges_are_printed_whole_for_anybody_to_sign_with(checkout: Checkout, tmp_path: Path) -> None:
    """What is scanned from the cards gives the very keys that are on the register (the seeds were worked out beforehand)."""
    if shutil.which("pdftoppm") is None:
        lacking("browser", "there is no pdftoppm (Debian: poppler-utils)")
    command = checkout.command("--site", "P26", "--out", str(tmp_path / "cards.pdf"), name="badges")
    environment = checkout.environment() | {"CUSTODY_DATA": str(checkout.demo)}
    del environment["CUSTODY_DATABASE_URL"]
    done = subprocess.run(command, env=environment, capture_output=True, text=True)  # noqa: S603
    assert (done.returncode, done.stdout, done.stderr) == (0, "", f"6 cards in {tmp_path / 'cards.pdf'}\n")
    sheet = ["pdftoppm", "-r", "203", "-gray", "-singlefile", str(tmp_path / "cards.pdf"), str(tmp_path / "cards")]
    subprocess.run(sheet, check=True)  # noqa: S603
    scanned = {each.text for each in zxingcpp.read_barcodes(Image.open(tmp_path / "cards.pgm"))}
    people = {"P26-CHIEF", *(f"P26-W{number}" for number in range(1, 6))}
    assert scanned == {badge.text for badge in list_badges() if badge.person in people}


def test_a_fresh_one_has_another_key_and_phones_need_no_other_authority(checkout: Checkout) -> None:
    folder, names = checkout.demo, ("secret_key", "certificate/authority.crt", "static/mark")
    for name in names[1:]:
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text("kept")
    before = {name: (folder / name).read_text() for name in names}
    assert checkout.run("--no-server", "--fresh", "--start", START).returncode == 0
    assert [(folder / name).read_text() == before[name] for name in names] == [False, True, True]
    shutil.rmtree(folder / "static")


def test_it_serves_until_it_is_stopped_and_the_night_goes_on(checkout: Checkout) -> None:
    """The demo's clock is put forward by an hour: what the story has for that hour is recorded while it serves."""
    state = checkout.demo / "demo.json"
    known = json.loads(state.read_text(encoding="utf-8"))
    state.write_text(json.dumps(known | {"ahead": known["start"] + 3_600 - int(time.time())}), encoding="utf-8")
    port = free_port()
    with checkout.serving("--port", str(port)) as (server, _):
        with urlopen(f"http://127.0.0.1:{port}/admin/login/") as answer:
            assert answer.status == 200
        done = checkout.run("--no-server", "--fresh")
        assert (done.returncode, "is being served" in done.stderr) == (2, True)
        arrived = "SELECT max(received) > ? FROM custody_line WHERE entry_id IS NOT NULL"
        with closing(sqlite3.connect(checkout.demo / "custody.sqlite3")) as database:
            while database.execute(arrived, (known["start"] + 3_000,)).fetchone() == (0,):
                assert server.poll() is None
                time.sleep(0.2)
    with socket.socket() as probe:
        assert probe.connect_ex(("127.0.0.1", port)) != 0
