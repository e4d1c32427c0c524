"""The service worker: the pages start without a network, whole, and no newer program changes under what is not on record."""

from __future__ import annotations

import gzip
import json
import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from socket import create_server
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from custody.web import work, worker
from custody.web.phone_words import outbox as words
from tests.browser.delivering import OUTBOX, keep, send, states, until
from tests.browser.looking import open_page
from tests.browser.serving import Serving
from tests.world_acts import Deed

pytestmark = pytest.mark.one_engine

ROOT = Path(__file__).resolve().parents[2]
SCRIPTS = ROOT / "custody" / "static" / "custody" / "js"
IMPORTED = re.compile(r"""(?:from|import)\s*\(?\s*["'](\.{1,2}/[^"']+)["']""")
HASHED = re.compile(r"\.[0-9a-f]{12}\.(js|css|svg|wasm)$")
READY = "navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller?.state)"
KEPT = "caches.keys().then((names) => names.filter((name) => name.startsWith('custody-work-')))"
OLDER, NEWER = "All sent", "All sent, says the newer one"
MOST_BYTES = 600_000
"""What a phone fetches at most before it can hand over without a network."""


@pytest.fixture
def page(browser: Browser, serving: Serving, deeds: list[Deed]) -> Iterator[Page]:
    """A page whose worker is in charge."""
    page = open_page(browser, width=360)
    page.goto(f"{serving.address}/at-work/")
    until(lambda: page.evaluate(READY) == "activated")
    yield page
    page.context.close()


def troubles_of(page: Page) -> list[str]:
    """What goes wrong in a page from now on; what is asked of the API while there is no network is no trouble."""
    troubles: list[str] = []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("requestfailed", lambda request: troubles.append(request.url))
    return troubles


def only_data(troubles: list[str]) -> bool:
    return all("/api/" in each or "/sign-in/who/" in each or each.endswith("worker.js") for each in troubles)


def test_every_module_that_a_page_can_ask_for_is_kept() -> None:
    listed = set(worker.list_files())
    frames = [ROOT / "templates" / "at-work" / "base.html", *work.list_templates()]
    entries = {name for frame in frames for name in re.findall(r"js/(pages/\w+\.js)", frame.read_text())}
    asked, seen = [SCRIPTS / name for name in entries], set[Path]()
    while asked:
        path = asked.pop().resolve()
        if path not in seen:
            seen.add(path)
            asked += [path.parent / name for name in IMPORTED.findall(path.read_text())]
    assert len(seen) > 40
    assert {f"/static/custody/js/{path.relative_to(SCRIPTS)}" for path in seen} <= listed


def test_every_page_starts_from_cold_with_the_server_off(page: Page, serving: Serving) -> None:
    context, frames = page.context, work.list_frames()
    page.close()
    serving.stop()
    assert len(frames) >= 13
    for path in frames:
        cold = context.new_page()
        troubles = troubles_of(cold)
        cold.goto(f"{serving.address}{path}")
        expect(cold.locator("#outbox-status")).to_have_text(OLDER)
        expect(cold.locator("h1")).not_to_be_empty()
        assert only_data(troubles), troubles
        cold.close()


def test_the_decoder_works_with_the_server_off(page: Page, serving: Serving) -> None:
    """A QR drawn by the library `qrcode`, read in the page by what the worker kept."""
    qrcode = pytest.importorskip("qrcode")
    code = qrcode.QRCode(border=4)
    code.add_data("BC000016")
    rows = [[0 if dark else 255 for dark in row] for row in code.get_matrix()]
    serving.stop()
    page.reload()
    script = """async (rows) => {
        const { decode } = await import("/static/custody/js/scan/decoder.js");
        const size = rows.length * 4, picture = new ImageData(size, size);
        for (let y = 0; y < size; y += 1) for (let x = 0; x < size; x += 1) {
            picture.data.set([...Array(3).fill(rows[y >> 2][x >> 2]), 255], 4 * (y * size + x));
        }
        return decode(picture);
    }"""
    assert page.evaluate(script, rows) == ["BC000016"]


def test_no_data_is_kept(page: Page, serving: Serving, deeds: list[Deed]) -> None:
    """Not a name, not a number: what the worker keeps is the list, whatever the page fetched since."""
    page.evaluate("fetch('/api/v1/sites/P01/pocket/').then((answer) => answer.json())")
    page.evaluate("fetch('/at-work/?anything').then((answer) => answer.text())")
    keep(page, deeds[:1])
    until(lambda: states(page) == ["sent"])
    script = f"""async () => {{
        const [name] = await {KEPT};
        return (await (await caches.open(name)).keys()).map(({{ url }}) => new URL(url).pathname);
    }}"""
    assert sorted(page.evaluate(script)) == sorted(worker.list_files())


def put_up_newer(monkeypatch: pytest.MonkeyPatch, version: str = "newer") -> None:
    """Another program is deployed; it says that everything is sent in words of its own."""
    monkeypatch.setattr(worker, "version", lambda *set_here: version)
    monkeypatch.setitem(words.WORDS, "outbox.all-sent", NEWER)


def expect_newer(page: Page) -> None:
    """The newer program, and nothing of the older one any more."""
    expect(page.locator("#outbox-status")).to_have_text(NEWER, timeout=20_000)
    until(lambda: page.evaluate(KEPT) == ["custody-work-newer"])


def test_a_newer_version_is_taken_at_once_where_nothing_is_held(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    put_up_newer(monkeypatch)
    page.reload()
    expect_newer(page)


def test_a_newer_version_waits_until_the_outbox_is_empty(
    page: Page, serving: Serving, deeds: list[Deed], monkeypatch: pytest.MonkeyPatch
) -> None:
    serving.faults = ["error"] * 1000
    keep(page, deeds[:2])
    put_up_newer(monkeypatch)
    page.reload()
    expect(page.locator("#notice-newer")).to_contain_text("waits until nothing is left", timeout=20_000)
    kept = page.evaluate(KEPT)
    assert len(kept) == 2
    page.reload()
    expect(page.locator("#outbox-status")).to_have_text("Saved on this phone · 2 to send")
    assert page.evaluate(KEPT) == kept
    assert words_of(page) == OLDER
    serving.faults = []
    send(page)
    expect_newer(page)


def test_what_was_refused_keeps_a_newer_version_waiting_too(
    page: Page, serving: Serving, deeds: list[Deed], monkeypatch: pytest.MonkeyPatch
) -> None:
    serving.faults = ["large"]
    keep(page, deeds[:1])
    until(lambda: states(page) == ["parked"])
    put_up_newer(monkeypatch)
    page.reload()
    expect(page.locator("#notice-newer")).to_contain_text("waits until nothing is left", timeout=20_000)
    page.evaluate(f"{OUTBOX}.then((it) => it.removeParked({json.dumps(deeds[0].id)}))")
    expect_newer(page)


def test_closing_all_pages_lets_no_newer_program_at_the_outbox(
    page: Page, serving: Serving, deeds: list[Deed], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A browser lets a waiting worker in when the last page is closed. It goes on serving the files that made the outbox."""
    context = page.context
    serving.faults = ["error"] * 1000
    keep(page, deeds[:1])
    put_up_newer(monkeypatch)
    page.reload()
    expect(page.locator("#notice-newer")).to_be_visible(timeout=20_000)
    page.close()
    later = let_in(context, serving)
    assert words_of(later) == OLDER
    assert len(later.evaluate(KEPT)) == 2
    serving.faults = []
    send(later)
    expect(later.locator("#outbox-status")).to_have_text(OLDER)
    later.reload()
    expect_newer(later)


def let_in(context: BrowserContext, serving: Serving) -> Page:
    """A page once the waiting worker has been let in by the browser."""
    limit = time.monotonic() + 30
    while time.monotonic() < limit:
        page = context.new_page()
        page.goto(f"{serving.address}/at-work/")
        waits = "navigator.serviceWorker.getRegistration('/at-work/').then((found) => Boolean(found.waiting))"
        if not page.evaluate(waits):
            return page
        page.close()
        time.sleep(0.5)
    raise AssertionError("The waiting worker was never let in.")


def words_of(page: Page) -> str:
    return str(page.evaluate("import('/at-work/words.js').then((words) => words.default['outbox.all-sent'])"))


def test_a_newer_version_waits_while_an_act_is_in_hand_or_another_page_is_open(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    page.evaluate("document.getElementById('main').dataset.inHand = ''")
    other = page.context.new_page()
    other.goto(page.url)
    put_up_newer(monkeypatch)
    other.reload()
    expect(other.locator("#notice-newer")).to_contain_text("no other of them is open", timeout=20_000)
    expect(page.locator("#outbox-status")).to_have_text(OLDER)
    assert len(other.evaluate(KEPT)) == 2
    page.close()
    other.reload()
    expect_newer(other)


def test_a_version_of_which_a_file_is_missing_is_not_taken(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    files = list(worker.list_files())
    monkeypatch.setattr(worker, "list_files", lambda: iter([*files, "/static/custody/js/nowhere.js"]))
    put_up_newer(monkeypatch, "broken")
    before = page.evaluate(KEPT)
    script = """() => navigator.serviceWorker.getRegistration("/at-work/").then((found) => found.update()).then(
        ({ installing }) => new Promise((settle) => { installing.onstatechange = () => settle(installing.state); }))"""
    assert page.evaluate(script) == "redundant"
    assert page.evaluate(KEPT) == before
    page.reload()
    expect(page.locator("#outbox-status")).to_have_text(OLDER)


def test_a_version_that_was_replaced_while_it_was_fetched_is_not_taken(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The script names one version, and asked once more the server names another."""
    put_up_newer(monkeypatch)
    told: list[str] = []

    def version(*set_here: str) -> str:
        told.append("newer" if told else "between")
        return told[-1]

    monkeypatch.setattr(worker, "version", version)
    page.evaluate(
        "navigator.serviceWorker.getRegistration('/at-work/').then((found) => found.update()).catch(() => null)"
    )
    until(lambda: len(told) >= 2)
    until(lambda: "custody-work-between" not in page.evaluate(KEPT))
    assert words_of(page) == OLDER
    page.reload()
    expect_newer(page)


@dataclass(frozen=True, slots=True, kw_only=True)
class InEarnest:
    """The application as it is deployed: gunicorn, collected files, no debugging."""

    port: int
    process: subprocess.Popen[bytes]

    def get(self, path: str) -> tuple[int, dict[str, str], bytes]:
        """Status, headers and the bytes as they come over the wire."""
        connection = HTTPConnection("127.0.0.1", self.port, timeout=30)
        connection.request("GET", path, headers={"Accept-Encoding": "gzip, br"})
        answer = connection.getresponse()
        return answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()

    def listed(self) -> list[str]:
        body = self.get("/at-work/worker.js")[2].decode()
        found = re.search(r"const FILES = (\[.*?\]);", body, re.DOTALL)
        assert found is not None
        return list(json.loads(found[1]))


@pytest.fixture(scope="module")
def in_earnest(tmp_path_factory: pytest.TempPathFactory) -> Iterator[InEarnest]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("CUSTODY_", "DJANGO_"))}
    environment = {**kept, "CUSTODY_DATA": str(tmp_path_factory.mktemp("data"))}
    run: dict[str, Any] = {"cwd": ROOT, "env": environment}
    subprocess.run([sys.executable, "manage.py", "collectstatic", "--noinput", "-v0"], check=True, **run)
    with create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "gunicorn", "custody.wsgi:application", "--bind", f"127.0.0.1:{port}"]
    process = subprocess.Popen([*command, "--threads", "4", "--log-level", "warning"], **run)  # noqa: S603
    served = InEarnest(port=port, process=process)
    try:
        until(lambda: answers(served))
        yield served
    finally:
        process.terminate()
        process.wait()


def answers(served: InEarnest) -> bool:
    try:
        return served.get("/at-work/")[0] == 200
    except OSError:
        return False


def test_what_a_phone_fetches_to_work_without_a_network_is_small(in_earnest: InEarnest) -> None:
    """All that the worker lists, as it comes over the wire, headers left out."""
    sizes = {}
    for path in in_earnest.listed():
        status, headers, body = in_earnest.get(path)
        assert status == 200, path
        assert "cookie" not in headers.get("vary", "").lower(), path
        assert "set-cookie" not in headers, path
        sizes[path] = len(body)
    assert len(sizes) > 70
    largest = sorted(sizes.items(), key=lambda each: -each[1])[:5]
    assert sum(sizes.values()) <= MOST_BYTES, largest


def test_frames_come_compressed_and_files_for_ever(in_earnest: InEarnest) -> None:
    _, headers, body = in_earnest.get("/at-work/hand-over/")
    assert headers["content-encoding"] == "gzip"
    assert b"<!doctype html>" in gzip.decompress(body)
    files = [path for path in in_earnest.listed() if path.startswith("/static/")]
    assert [path for path in files if not HASHED.search(path)] == []
    for path in files:
        status, headers, _ = in_earnest.get(path)
        assert (status, "immutable" in headers["cache-control"]) == (200, True), path


def test_pages_in_earnest_ask_for_hashed_modules_and_start_when_it_is_gone(
    browser: Browser, in_earnest: InEarnest
) -> None:
    """The last test here: it ends the server."""
    page = open_page(browser, width=360)
    troubles, asked = troubles_of(page), []
    page.on("response", lambda answer: asked.append((answer.status, answer.url)))
    page.goto(f"http://127.0.0.1:{in_earnest.port}/at-work/hand-over/")
    expect(page.get_by_role("link", name="Choose the place")).to_be_visible()
    modules = [url for _, url in asked if "/static/" in url]
    assert len(modules) > 20
    assert [url for url in modules if not HASHED.search(url)] == []
    assert {status for status, _ in asked} == {200}
    assert troubles == []
    until(lambda: page.evaluate(READY) == "activated")
    context = page.context
    page.close()
    in_earnest.process.terminate()
    in_earnest.process.wait()
    for path in work.list_frames():
        cold = context.new_page()
        troubles = troubles_of(cold)
        cold.goto(f"http://127.0.0.1:{in_earnest.port}{path}")
        expect(cold.locator("#outbox-status")).to_have_text(OLDER)
        assert only_data(troubles), troubles
        cold.close()
    context.close()
