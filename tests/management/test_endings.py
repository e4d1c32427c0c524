"""Commands as a shell starts them: what surrounds them ends in a line and an exit code, never in a traceback."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


class Shell:
    """`manage.py` with a data folder of its own."""

    def __init__(self, data: Path) -> None:
        names = [name for name in os.environ if name.startswith(("CUSTODY_", "DJANGO_"))]
        self.environment = {name: value for name, value in os.environ.items() if name not in names}
        self.environment["CUSTODY_DATA"] = str(data)
        self.command = [sys.executable, str(ROOT / "manage.py")]

    def run(self, *arguments: str, stdin: bytes = b"", **environment: str) -> tuple[int, str, str]:
        """Exit code, stdout, stderr."""
        given = {**self.environment, **environment}
        done = subprocess.run([*self.command, *arguments], env=given, input=stdin, capture_output=True)  # noqa: S603
        return done.returncode, done.stdout.decode(), done.stderr.decode()

    def start(self, *arguments: str) -> subprocess.Popen[bytes]:
        pipe = subprocess.PIPE
        command = [*self.command, *arguments]
        return subprocess.Popen(command, env=self.environment, stdin=pipe, stdout=pipe, stderr=pipe)  # noqa: S603


@pytest.fixture
def shell(tmp_path: Path) -> Shell:
    return Shell(tmp_path / "data")


@pytest.fixture(scope="module")
def county(tmp_path_factory: pytest.TempPathFactory) -> Shell:
    """A database with one jurisdiction, and nothing on record that a test could be in the way of."""
    shell, register = Shell(tmp_path_factory.mktemp("data")), tmp_path_factory.mktemp("register")
    (register / "jurisdictions.csv").write_text("code,name,timezone\nALDER,Alder County,America/Chicago\n")
    assert shell.run("migrate", "--verbosity", "0")[0] == 0
    assert shell.run("load_register", str(register))[0] == 0
    return shell


@pytest.mark.parametrize(
    ("url", "said"),
    [
        ("sqlite:////nowhere/at/all.sqlite3", "CommandError: The database cannot be reached: "),
        ("postgresql://nobody@127.0.0.1:1/none", "CommandError: The database cannot be reached: "),
        ("elsewhere://", "CUSTODY_DATABASE_URL must begin with "),
    ],
)
def test_a_database_that_cannot_be_reached_is_said_in_one_line(shell: Shell, url: str, said: str) -> None:
    code, out, err = shell.run("findings", CUSTODY_DATABASE_URL=url)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert err.startswith(said)


@pytest.mark.parametrize("encoding", ["utf-8:strict", "latin-1", "ascii"])
def test_standard_input_is_read_as_utf8_whatever_the_surroundings_say(county: Shell, encoding: str) -> None:
    lines = b'{"a":"\xff"}\n{"a":1,\r"b":2}\nnull'
    code, out, err = county.run("record", "-", stdin=lines, PYTHONIOENCODING=encoding)
    assert (code, out) == (1, "ALDER/main: 0 recorded, 0 known, 3 refused\n")
    assert [line.split(": ")[:2] for line in err.splitlines()[:-1]] == [
        [f"line {number}", "not-envelope"] for number in (1, 2, 3)
    ]


def test_a_reader_who_has_seen_enough_is_no_fault(county: Shell) -> None:
    process = county.start("findings")
    assert process.stdout and process.stderr
    process.stdout.close()
    said = b"Nothing is on record in ALDER/main yet.\n"  # and not a word about the reader who left
    assert (process.wait(), process.stderr.read()) == (141, said)


def test_a_command_that_is_stopped_says_so(county: Shell) -> None:
    process = county.start("record", "-", "--rehearsal", "drill-1")
    assert process.stdin and process.stderr
    # More than a pipe holds: once all is taken, the command is reading.
    process.stdin.write(b" \n" * 1_000_000)
    process.stdin.flush()
    process.send_signal(signal.SIGINT)
    assert (process.wait(), process.stderr.read()) == (130, b"Stopped.\n")


@pytest.mark.parametrize("start", ["yesterday", "0001-01-01T00:00:00Z", "1999-12-31T23:59:59Z", "2100-01-01T00:00:00Z"])
def test_a_demo_of_no_night_of_this_century_is_refused_before_anything_is_thrown_away(shell: Shell, start: str) -> None:
    code, out, err = shell.run("demo", "--no-server", "--fresh", "--start", start)
    assert (code, out) == (2, "")
    assert "error: argument --start: " in err.splitlines()[-1]


def test_a_checkpoint_is_read_as_it_was_copied_from_a_terminal(county: Shell, tmp_path: Path) -> None:
    code, out, _ = county.run("verify")
    assert code == 0
    note = out[out.index("custody.example/ALDER/register") :].strip()
    kept = tmp_path / "kept.txt"
    for text, expected in ((note, 0), (f"\n{note}\n\n", 0), (note.replace("\n1\n", "\n2\n"), 1)):
        kept.write_text(text)
        assert county.run("verify", "--checkpoint", str(kept))[0] == expected
