"""The command `demo`, run as a person runs it, in a copy of the checkout: its folder is `var/demo` of where it lies."""

from __future__ import annotations

import json
import os
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from urllib.request import urlopen

import pytest

from fixtures_demo.build import expected

ROOT = Path(__file__).resolve().parents[2]
START = expected()["start"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checkout:
    """A copy of the project, and a data folder that the surroundings name."""

    folder: Path
    data: Path

    def command(self, *arguments: str) -> list[str]:
        return [sys.executable, str(self.folder / "manage.py"), "demo", *arguments]

    def environment(self) -> dict[str, str]:
        kept = {name: value for name, value in os.environ.items() if not name.startswith(("CUSTODY_", "DJANGO_"))}
        return kept | {
            "CUSTODY_DATA": str(self.data),
            "CUSTODY_DATABASE_URL": f"sqlite:///{self.data / 'real.sqlite3'}",
        }

    def run(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        command = self.command(*arguments)
        return subprocess.run(command, env=self.environment(), cwd=self.data, capture_output=True, text=True)  # noqa: S603


@pytest.fixture(scope="module")
def checkout(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Checkout]:
    """With a demo of the fixed start in it."""
    folder, data = tmp_path_factory.mktemp("checkout"), tmp_path_factory.mktemp("data")
    for name in ("manage.py", "custody", "api", "templates", "fixtures_demo"):
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__", "node_modules"))
        else:
            shutil.copy(source, folder / name)
    copied = Checkout(folder=folder, data=data)
    done = copied.run("--no-server", "--fresh", "--start", START)
    assert (done.returncode, done.stderr) == (0, "")
    assert "does not exist" in done.stdout
    yield copied
    shutil.rmtree(folder)


def told(done: subprocess.CompletedProcess[str]) -> dict[str, object]:
    assert (done.returncode, done.stderr) == (0, "")
    document: dict[str, object] = json.loads(done.stdout)
    return {name: document[name] for name in ("address", "folder", "log", "start", "entries")}


def test_started_again_it_goes_on_where_it_was(checkout: Checkout) -> None:
    assert told(checkout.run("--no-server", "--format", "json")) == {
        "address": None,
        "folder": str(checkout.folder / "var" / "demo"),
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


def test_a_database_that_is_no_demo_is_left_alone(checkout: Checkout) -> None:
    state = checkout.folder / "var" / "demo" / "demo.json"
    kept = state.read_text(encoding="utf-8")
    state.unlink()
    done = checkout.run("--no-server", "--fresh")
    state.write_text(kept, encoding="utf-8")
    assert done.returncode == 2
    assert (checkout.folder / "var" / "demo" / "custody.sqlite3").exists()


def test_it_serves_until_it_is_stopped_and_the_night_goes_on(checkout: Checkout) -> None:
    """The demo's clock is put forward by an hour: what the story has for that hour is recorded while it serves."""
    state = checkout.folder / "var" / "demo" / "demo.json"
    known = json.loads(state.read_text(encoding="utf-8"))
    state.write_text(json.dumps(known | {"ahead": known["start"] + 3_600 - int(time.time())}), encoding="utf-8")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = checkout.command("--port", str(port))
    server = subprocess.Popen(  # noqa: S603
        command, env=checkout.environment(), stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True
    )
    with server:
        assert server.stderr is not None
        said = ""
        while "Ready" not in said and (line := server.stderr.readline()):
            said += line
        assert "Ready" in said, said
        with urlopen(f"http://127.0.0.1:{port}/admin/login/") as answer:
            assert answer.status == 200
        done = checkout.run("--no-server", "--fresh")
        assert (done.returncode, "is being served" in done.stderr) == (2, True)
        arrived = "SELECT max(received) > ? FROM custody_line WHERE entry_id IS NOT NULL"
        with closing(sqlite3.connect(checkout.folder / "var" / "demo" / "custody.sqlite3")) as database:
            while database.execute(arrived, (known["start"] + 3_000,)).fetchone() == (0,):
                assert server.poll() is None
                time.sleep(0.2)
        server.send_signal(signal.SIGINT)
        assert server.wait() == 0
    with socket.socket() as probe:
        assert probe.connect_ex(("127.0.0.1", port)) != 0
