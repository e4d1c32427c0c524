"""`demo`: an invented county on election night, in a data folder of its own, served on this machine.

The command starts itself afresh with the demo's settings, so that whatever `CUSTODY_DATA` and `CUSTODY_DATABASE_URL`
name is never opened. While it serves, the night goes on: what the story has for later is recorded when its time comes.
"""

from __future__ import annotations

import fcntl
import json
import os
import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time
from argparse import ArgumentParser, ArgumentTypeError
from dataclasses import asdict, dataclass
from hashlib import sha256
from http.client import HTTPConnection, HTTPException
from importlib import import_module
from importlib.util import find_spec
from ipaddress import IPv4Address
from pathlib import Path
from types import ModuleType
from typing import IO, Any, NoReturn

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.staticfiles.finders import get_finders
from django.core.management import call_command
from django.core.management.base import CommandError
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from custody import clock, static_files
from custody.domain.instants import dump_instant, parse_instant
from custody.management.command import USE_AT_FAULT, CustodyCommand, host_name
from custody.management.demo_certificate import Certificate, make_certificate
from custody.management.demo_words import OFFICE_PASSWORD, OFFICE_USER, for_phones, sign_ins, welcome
from custody.management.log_command import instant

FOLDER = Path(settings.BASE_DIR) / "var" / "demo"
STATE = FOLDER / "demo.json"
DATABASE = FOLDER / "custody.sqlite3"
LOCK = FOLDER / "serving.lock"
GATHERED = FOLDER / "static.mark"
CERTIFICATES = FOLDER / "certificate"
KEPT = {CERTIFICATES, FOLDER / "static", GATHERED}
"""What a fresh demo takes over: phones have the certificate's authority already, and pages are the same every night."""
PORT = 8000
EARLIEST, LATEST = parse_instant("2000-01-01T00:00:00Z"), parse_instant("2100-01-01T00:00:00Z")
POLL_SECONDS = 2
READY_SECONDS = 25


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """What the demo's folder says: its start (Unix seconds), by how much its clock is ahead of ours, whether it is whole."""

    start: int
    ahead: int
    ready: bool

    def keep(self) -> None:
        FOLDER.mkdir(mode=0o700, parents=True, exist_ok=True)
        STATE.write_text(json.dumps(asdict(self)) + "\n", encoding="utf-8")


# Beside the packages in a checkout, inside one of them when installed.
STORY = "fixtures_demo" if find_spec("fixtures_demo") else "custody.fixtures_demo"


def story(part: str) -> ModuleType:
    """A module of the demo."""
    return import_module(f"{STORY}.{part}")


class Command(CustodyCommand):
    help = (
        "Builds Alder County, which is invented, on an election night that is still under way, and serves it on this machine."
        " It has a data folder of its own, var/demo, and touches no other. Started again, it goes on where it was."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--port", type=int, default=PORT, help=f"the port to serve on (default {PORT})")
        parser.add_argument("--no-server", action="store_true", help="build the demo, and do not serve it")
        parser.add_argument("--fresh", action="store_true", help="throw the demo of before away, and start a new night")
        parser.add_argument(
            "--start", type=_start, metavar="T", help="let the night start at T (YYYY-MM-DDTHH:MM:SSZ) instead of now"
        )
        parser.add_argument(
            "--network",
            type=_host,
            metavar="HOST",
            help="serve it with encryption to everybody who reaches this machine by that name or address, phones among them",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["network"] and options["no_server"]:
            raise CommandError("--network serves the demo, and --no-server does not.", returncode=USE_AT_FAULT)
        if not options["no_server"]:
            _check_port(options["port"], "0.0.0.0" if options["network"] else "127.0.0.1")  # noqa: S104 - asked for
        state = _read_state()
        if state and options["start"] not in (None, state.start) and not options["fresh"]:
            raise CommandError("There is a demo of another start; --fresh throws it away.", returncode=USE_AT_FAULT)
        unfinished = state is None or (not state.ready and DATABASE.exists())
        if options["fresh"] or unfinished:
            _clear(options["start"])
            _run_with_own_settings(options)
        if not _has_own_settings(options["network"]):
            _run_with_own_settings(options)
        assert state is not None
        call_command("migrate", verbosity=0)
        if not state.ready:
            self._build(state)
        network = options["network"]
        certificate = make_certificate(CERTIFICATES, network, now=int(time.time())) if network else None
        self._tell(state, options, certificate)
        if not options["no_server"]:
            self._serve(state, options["port"], network, certificate)

    def _build(self, state: State) -> None:
        build, night, times = story("build"), story("night"), story("times")
        build.put_register(times.times_of(state.start))
        lines = [line for line in night.tell(state.start) if line.received <= state.start]
        self.stderr.ending = ""
        console = Console(file=self.stderr, stderr=True)  # type: ignore[arg-type]
        columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
        with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as progress:
            task = progress.add_task("Recording the night", total=len(lines))
            build.put_lines(lines, advance=lambda count: progress.advance(task, count))
        get_user_model().objects.create_superuser(OFFICE_USER, password=OFFICE_PASSWORD)
        State(start=state.start, ahead=state.ahead, ready=True).keep()

    def _tell(self, state: State, options: dict[str, Any], certificate: Certificate | None) -> None:
        address = None if options["no_server"] else _address(options["port"], options["network"])
        log = story("build").open_log()
        badges = {each.person: (each.text, each.pin) for each in story("county").list_badges()}
        if options["format"] == "json":
            self.write_json(
                {
                    "address": address,
                    "folder": str(FOLDER),
                    "log": log.path,
                    "start": dump_instant(state.start),
                    "entries": log.size,
                    "sign_ins": sign_ins(badges),
                    **({"authority": str(certificate.authority)} if certificate else {}),
                }
            )
        else:
            self.console().print(welcome(address, FOLDER, state.start, log.size, badges), markup=False)
            if certificate and address:
                self.console().print(for_phones(address, certificate.authority, FOLDER), markup=False)
        self.stdout.flush()

    def _serve(self, state: State, port: int, network: str | None, certificate: Certificate | None) -> None:
        """Serve until somebody stops it, and record what the story has for later when its time comes."""
        serving = _lock(fcntl.LOCK_SH)
        _gather_static_files()
        environment = os.environ | {"DEMO_PORT": str(port), "DEMO_CLOCK": str(state.ahead)}
        if certificate:
            environment |= {"DEMO_CERTIFICATE": str(certificate.server), "DEMO_KEY": str(certificate.key)}
        command = [sys.executable, "-m", "gunicorn", "--config", f"python:{STORY}.server"]
        # A session of its own: Ctrl-C reaches this process alone, which then asks the server to end.
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        server = subprocess.Popen(command, env=environment, cwd=settings.BASE_DIR, start_new_session=True)  # noqa: S603
        try:
            _wait_until_ready(server, port, network, certificate)
            self.stderr.write("Ready. Stop it with Ctrl-C.\n")
            self.stderr.flush()
            self._go_on(state, server)
        except KeyboardInterrupt:
            self.stderr.write("\n")
        finally:
            server.terminate()
            server.wait()
            serving.close()

    def _go_on(self, state: State, server: subprocess.Popen[bytes]) -> None:
        build = story("build")
        later = [line for line in story("night").tell(state.start) if line.received > state.start]
        while server.poll() is None:
            now = clock.now() + state.ahead
            due = [line for line in later if line.received <= now]
            if due:
                build.put_lines(due)
                later = later[len(due) :]
            time.sleep(POLL_SECONDS)
        raise CommandError("The server ended by itself; what it said is above.")


def _host(text: str) -> str:
    """An IPv4 address of this machine, or a name by which others may know it."""
    host = host_name(text)
    if re.fullmatch(r"[\d.]+", host):
        with socket.socket() as probe:
            try:
                probe.bind((str(IPv4Address(host)), 0))
            except (OSError, ValueError):
                raise ArgumentTypeError(f"this machine has no address {text}") from None
    return host


def _start(text: str) -> int:
    start = instant(text)
    if not EARLIEST <= start < LATEST:
        raise ArgumentTypeError("the night has to be one of this century")
    return start


def _read_state() -> State | None:
    return State(**json.loads(STATE.read_text(encoding="utf-8"))) if STATE.exists() else None


def _clear(start: int | None) -> None:
    """Make the folder new. What lies there and is no demo stays, and the command ends. Raises `CommandError`."""
    if DATABASE.exists() and not STATE.exists():
        raise CommandError(f"There is a database in {FOLDER} that is no demo.", returncode=USE_AT_FAULT)
    if FOLDER.exists():
        with _lock(fcntl.LOCK_EX):
            for path in set(FOLDER.iterdir()) - KEPT:
                shutil.rmtree(path) if path.is_dir() else path.unlink()
    now = clock.now()
    State(start=now if start is None else start, ahead=0 if start is None else start - now, ready=False).keep()


def _gather_static_files() -> None:
    """What pages are made of, gathered, named by hash and pressed; again only when one of the files is another one."""
    paths = sorted(storage.path(name) for finder in get_finders() for name, storage in finder.list([]))
    marks = [(path, os.stat(path).st_size, os.stat(path).st_mtime_ns) for path in [*paths, static_files.__file__]]
    mark = sha256(repr(marks).encode()).hexdigest()
    if not GATHERED.exists() or GATHERED.read_text(encoding="utf-8") != mark:
        call_command("collectstatic", interactive=False, clear=True, verbosity=0)
        GATHERED.write_text(mark, encoding="utf-8")


def _lock(kind: int) -> IO[str]:
    """The folder held, shared by those who serve it or for the one who clears it. Raises `CommandError` for the latter."""
    held = LOCK.open("a", encoding="utf-8")
    try:
        fcntl.flock(held, kind | fcntl.LOCK_NB)
    except BlockingIOError:
        held.close()
        raise CommandError(f"The demo in {FOLDER} is being served; stop that first.", returncode=USE_AT_FAULT) from None
    return held


def _has_own_settings(network: str | None) -> bool:
    own = settings.CUSTODY_DATA == FOLDER and settings.DATABASES["default"]["NAME"] == str(DATABASE)
    return own and (network is None or (network in settings.ALLOWED_HOSTS and settings.CUSTODY_HTTPS))


def _address(port: int, network: str | None) -> str:
    return f"https://{network}:{port}/" if network else f"http://127.0.0.1:{port}/"


def _run_with_own_settings(options: dict[str, Any]) -> NoReturn:
    """The same command once more in place of this one, with no setting of the surroundings but the demo's folder."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("CUSTODY_")}
    environment |= {"CUSTODY_DATA": str(FOLDER), "CUSTODY_REHEARSAL": story("county").LOG}
    environment["DJANGO_SETTINGS_MODULE"] = "custody.settings"
    if options["network"]:
        environment |= {"CUSTODY_HOSTS": f"{options['network']},localhost,127.0.0.1", "CUSTODY_HTTPS": "1"}
    again = ["demo", "--port", str(options["port"]), "--format", options["format"]]
    again += ["--no-server"] if options["no_server"] else []
    again += ["--network", options["network"]] if options["network"] else []
    sys.stdout.flush()
    os.execve(sys.executable, [sys.executable, sys.argv[0], *again], environment)  # noqa: S606


def _check_port(port: int, address: str) -> None:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((address, port))
        except (OSError, OverflowError):
            raise CommandError(
                f"Port {port} cannot be used; choose another with --port.", returncode=USE_AT_FAULT
            ) from None


def _wait_until_ready(
    server: subprocess.Popen[bytes], port: int, network: str | None, certificate: Certificate | None
) -> None:
    limit = time.monotonic() + READY_SECONDS
    while server.poll() is None and time.monotonic() < limit:
        try:
            _ask(port, network, certificate)
        except (OSError, HTTPException):
            time.sleep(0.1)
        else:
            return
    raise CommandError("The server did not begin to answer; what it said is above.")


def _ask(port: int, network: str | None, certificate: Certificate | None) -> None:
    """An answer from the server, as a phone gets it that trusts the demo's authority; whether the host is known here or not."""
    connection = HTTPConnection("127.0.0.1", port, timeout=5)
    connection.connect()
    if certificate:
        trust = ssl.create_default_context(cafile=str(certificate.authority))
        connection.sock = trust.wrap_socket(connection.sock, server_hostname=network)
    connection.request("GET", "/", headers={"Host": f"{network or '127.0.0.1'}:{port}"})
    connection.getresponse().read()
    connection.close()
