"""The command `demo` as a person runs it, in a copy of the checkout: its folder is `var/demo` of where it lies."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryFile

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checkout:
    """A copy of the project, and a data folder that the surroundings name."""

    folder: Path
    data: Path

    @property
    def demo(self) -> Path:
        """The demo's own folder."""
        return self.folder / "var" / "demo"

    def command(self, *arguments: str, name: str = "demo") -> list[str]:
        return [sys.executable, str(self.folder / "manage.py"), name, *arguments]

    def environment(self) -> dict[str, str]:
        kept = {name: value for name, value in os.environ.items() if not name.startswith(("CUSTODY_", "DJANGO_"))}
        return kept | {
            "CUSTODY_DATA": str(self.data),
            "CUSTODY_DATABASE_URL": f"sqlite:///{self.data / 'real.sqlite3'}",
        }

    def run(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        command = self.command(*arguments)
        return subprocess.run(command, env=self.environment(), cwd=self.data, capture_output=True, text=True)  # noqa: S603

    @contextmanager
    def serving(self, *arguments: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
        """Inside, the demo is served; gives its process and what it printed. Then Ctrl-C."""
        with TemporaryFile("w+", encoding="utf-8") as printed:
            server = subprocess.Popen(  # noqa: S603
                self.command(*arguments), env=self.environment(), stderr=subprocess.PIPE, stdout=printed, text=True
            )
            with server:
                assert server.stderr is not None
                said = ""
                while "Ready" not in said and (line := server.stderr.readline()):
                    said += line
                assert "Ready" in said, said
                printed.seek(0)
                yield server, printed.read()
                server.send_signal(signal.SIGINT)
                assert server.wait() == 0


def copy_checkout(folder: Path, data: Path) -> Checkout:
    for name in ("manage.py", "custody", "api", "templates", "fixtures_demo"):
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__", "node_modules"))
        else:
            shutil.copy(source, folder / name)
    return Checkout(folder=folder, data=data)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
    return port
