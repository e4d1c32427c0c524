"""The commands from a shell, in a data folder of their own: what comes out where, and the status they end with."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.world import World

ROOT = Path(__file__).resolve().parents[2]


def shell(data: Path, *arguments: str, text: str | None = None) -> subprocess.CompletedProcess[str]:
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("CUSTODY_", "DJANGO_"))}
    return subprocess.run(  # noqa: S603
        [sys.executable, "manage.py", *arguments],
        cwd=ROOT,
        env=environment | {"CUSTODY_DATA": str(data)},
        input=text,
        capture_output=True,
        text=True,
        timeout=120,
    )


def test_from_an_empty_folder_to_a_verified_record(tmp_path: Path) -> None:
    data, files = tmp_path / "data", tmp_path / "register"
    files.mkdir()
    world = World(places=1, log="ALDER/drill")
    world.until("P01", "issue_kit")
    world.write_csv(files)
    lines = "".join(f"{json.dumps(deed.line())}\n" for deed in world.lines())
    unprepared = shell(data, "findings")
    assert (unprepared.returncode, unprepared.stdout) == (2, "")
    assert "migrate" in unprepared.stderr
    assert unprepared.stderr.count("\n") == 1
    assert shell(data, "migrate", "--verbosity", "0").returncode == 0
    assert shell(data, "load_register", str(files)).returncode == 0
    recorded = shell(data, "record", "--rehearsal", "drill", "--replay", "-", text=lines)
    assert (recorded.returncode, recorded.stderr) == (0, "")
    assert recorded.stdout == f"ALDER/drill: {len(world.log)} recorded, 0 known, 0 refused\n"
    refused = shell(data, "record", "--rehearsal", "drill", "-", text="{}\n")
    assert (refused.returncode, refused.stdout) == (1, "ALDER/drill: 0 recorded, 0 known, 1 refused\n")
    assert refused.stderr.startswith("line 1: not-envelope: ")
    history = shell(data, "history", world.kits["P01"].case, "--rehearsal", "drill", "--format", "json")
    assert (history.returncode, history.stderr) == (0, "")
    assert [each["kind"] for each in json.loads(history.stdout)["events"]] == ["register", "handoff", "handoff"]
    verified = shell(data, "verify", "--format", "json")
    assert (verified.returncode, verified.stderr, json.loads(verified.stdout)["ok"]) == (0, "", True)


@pytest.mark.parametrize(
    "arguments",
    [
        ("findings", "--now", "today"),
        ("findings", "--now", "2026-11-04"),
        ("findings", "--rule", "no-rule"),
        ("history",),
        ("record", "-", "--format", "yaml"),
    ],
    ids=" ".join,
)
def test_what_is_called_wrongly_ends_with_2(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    ran = shell(tmp_path / "data", *arguments)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr.startswith("usage: ")
