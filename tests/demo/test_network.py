"""The demo for phones: encrypted by a certificate that a phone trusts which was given its authority, and no other."""

from __future__ import annotations

import json
import os
import shutil
import ssl
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from http.client import HTTPResponse, HTTPSConnection
from pathlib import Path
from socket import create_connection
from urllib.request import urlopen

import pytest
from playwright.sync_api import Browser, Error, Page

from tests.conftest import CHROMIUM, OPTIONS, lacking
from tests.demo.checkout import Checkout, free_port

HOST = "demo.alder.example"
"""A name that is no loopback name: a browser takes a page there for safe only with encryption."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    port: int
    authority: Path
    checkout: Checkout

    @property
    def address(self) -> str:
        return f"https://{HOST}:{self.port}"


@pytest.fixture(scope="module")
def served(checkout: Checkout) -> Iterator[Served]:
    port = free_port()
    with checkout.serving("--network", HOST, "--port", str(port), "--format", "json") as (_, printed):
        document = json.loads(printed)
        assert document["address"] == f"https://{HOST}:{port}/"
        yield Served(port=port, authority=Path(document["authority"]), checkout=checkout)


def ask(served: Served, path: str, *, host: str = HOST, trusting: bool = True) -> HTTPResponse:
    """A request to the loopback address, by a client that means `host` and knows the demo's authority, or does not."""
    trust = ssl.create_default_context(cafile=str(served.authority) if trusting else None)
    connection = HTTPSConnection(host, served.port, timeout=10, context=trust)
    connection._create_connection = lambda address, *rest: create_connection(("127.0.0.1", address[1]), 10)  # type: ignore[attr-defined]
    connection.request("GET", path)
    return connection.getresponse()


def test_it_answers_over_tls_to_whoever_trusts_its_authority(served: Served) -> None:
    answer = ask(served, "/sign-in/")
    assert answer.status == 200
    cookies = answer.headers.get_all("Set-Cookie") or []
    assert cookies
    assert all("; Secure" in cookie for cookie in cookies)
    assert answer.headers["Strict-Transport-Security"] is None, "it would outlast the demo"
    for host, trusting in ((HOST, False), ("other.example", True)):
        with pytest.raises(ssl.SSLCertVerificationError):
            ask(served, "/sign-in/", host=host, trusting=trusting)


def test_it_does_not_answer_without_encryption(served: Served) -> None:
    with pytest.raises(OSError):
        urlopen(f"http://127.0.0.1:{served.port}/", timeout=10)


def test_keys_are_for_nobody_else(served: Served) -> None:
    folder = served.authority.parent
    assert oct(folder.stat().st_mode & 0o777) == "0o700"
    keys = [path for path in folder.iterdir() if b"PRIVATE KEY" in path.read_bytes()]
    assert [oct(path.stat().st_mode & 0o777) for path in keys] == ["0o600"], "one key: the authority's is gone"


@pytest.fixture
def phone(browser: Browser, served: Served, tmp_path: Path) -> Iterator[Page]:
    """A browser whose owner installed the demo's authority, and which finds its host here."""
    if shutil.which("certutil") is None:
        lacking("browser", "there is no certutil (Debian: libnss3-tools)")
    store = tmp_path / ".pki" / "nssdb"
    store.mkdir(parents=True)
    for arguments in (
        ("-N", "--empty-password"),
        ("-A", "-n", "demo", "-t", "C,,", "-i", str(served.authority)),
    ):
        subprocess.run(["certutil", "-d", f"sql:{store}", *arguments], check=True)  # noqa: S603, S607
    rules = f"--host-resolver-rules=MAP {HOST} 127.0.0.1, MAP other.example 127.0.0.1"
    found = browser.browser_type.launch(
        executable_path=CHROMIUM, args=(*OPTIONS, rules), env={**os.environ, "HOME": str(tmp_path)}
    )
    yield found.new_page()
    found.close()


def test_a_phone_that_trusts_the_authority_keeps_the_pages_for_later(served: Served, phone: Page) -> None:
    phone.goto(f"{served.address}/at-work/")
    assert phone.evaluate("isSecureContext")
    assert phone.evaluate("navigator.serviceWorker.ready.then((each) => each.scope)") == f"{served.address}/at-work/"
    assert phone.evaluate("typeof navigator.mediaDevices.getUserMedia") == "function"
    assert phone.evaluate("crypto.subtle.generateKey('Ed25519', false, ['sign']).then(() => true)")
    with pytest.raises(Error, match="ERR_CERT"):
        phone.goto(f"https://other.example:{served.port}/at-work/")


def test_a_label_scanned_by_the_camera_of_a_phone_opens_the_page_of_the_item(served: Served, phone: Page) -> None:
    host = f"{HOST}:{served.port}".upper()
    code = first_item(served)
    answer = phone.goto(f"HTTPS://{host}/Q/{code}")
    assert answer is not None
    assert answer.status == 200
    assert code in phone.inner_text("main")


def first_item(served: Served) -> str:
    register = served.checkout.folder / "fixtures_demo" / "register" / "items.csv"
    return register.read_text(encoding="utf-8").splitlines()[1].split(",")[1]
