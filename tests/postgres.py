"""A PostgreSQL server of the test run's own: started in a temporary folder, reached by socket, removed at the end."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class Lacking(Exception):
    """The machine cannot run a server; the message says what is missing."""


def find_programs() -> Path:
    """The folder of `initdb` and `pg_ctl`. Raises `Lacking`."""
    debian = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda folder: float(folder.parent.name))
    on_path = shutil.which("initdb")
    found = [*([Path(on_path).parent] if on_path else []), *debian]
    if not found:
        raise Lacking("no PostgreSQL server programs (Debian: apt-get install postgresql)")
    return found[-1]


NO_DISK = "-c fsync=off -c full_page_writes=off -c synchronous_commit=off"


@contextmanager
def run_server(*, durable: bool = False) -> Iterator[str]:
    """The address of a running server, as for `CUSTODY_DATABASE_URL`. Raises `Lacking`.

    The server refuses to be root, who therefore lends it the user `postgres`. Unless asked for, nothing is made durable:
    the data is thrown away, and a test waits for no disk. A measurement does.
    """
    programs = find_programs()
    as_user: list[str] = []
    folder = tempfile.mkdtemp(prefix="custody-pg-")
    try:
        if os.geteuid() == 0:
            try:
                shutil.chown(folder, pwd.getpwnam("postgres").pw_uid)
            except KeyError:
                raise Lacking("no user `postgres` for the server to run as, and it refuses to be root") from None
            as_user = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups"]
        data = f"{folder}/data"
        options = f"-c listen_addresses='' -k {folder} {'' if durable else NO_DISK}"

        def run(program: str, *arguments: str) -> None:
            # Output goes to a file: a server that held a pipe open would keep us waiting for its end.
            with open(f"{folder}.out", "wb") as out:
                command = [*as_user, str(programs / program), *arguments]
                subprocess.run(command, cwd="/", stdin=subprocess.DEVNULL, stdout=out, stderr=out, check=True)  # noqa: S603

        run("initdb", "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
        run("pg_ctl", "-D", data, "-w", "-l", f"{folder}/log", "-o", options, "start")
        try:
            yield f"postgresql://postgres@/postgres?host={folder}"
        finally:
            run("pg_ctl", "-D", data, "-m", "immediate", "-w", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)
        Path(f"{folder}.out").unlink(missing_ok=True)


if __name__ == "__main__":
    # `python -m tests.postgres COMMAND…` runs a command with CUSTODY_DATABASE_URL set to such a server.
    with run_server() as url:
        done = subprocess.run(sys.argv[1:], env={**os.environ, "CUSTODY_DATABASE_URL": url})  # noqa: S603
    sys.exit(done.returncode)
