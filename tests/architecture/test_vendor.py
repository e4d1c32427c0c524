"""Third-party script: pinned by hash, fetched at installation, never in the repository."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from importlib import util
from pathlib import Path
from types import ModuleType

import pytest

from tests.conftest import lacking

ROOT = Path(__file__).resolve().parents[2]
VENDOR = ROOT / "custody" / "vendor"


def load(folder: Path) -> ModuleType:
    """The hook as a module of that folder."""
    if util.find_spec("hatchling") is None or shutil.which("npm") is None:
        lacking("browser", "hatchling and npm are needed")
    spec = util.spec_from_file_location("build_hook", folder / "custody" / "vendor" / "build_hook.py")
    assert spec is not None
    assert spec.loader is not None
    module = util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_nothing_of_it_is_in_the_repository() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True).stdout  # noqa: S607
    assert [
        path for path in listed.splitlines() if path.endswith((".wasm", ".min.js")) or "static/vendor" in path
    ] == []


def test_every_package_is_pinned_by_sha_512_and_no_host_is_named() -> None:
    text = (VENDOR / "package-lock.json").read_text()
    packages = {name: each for name, each in json.loads(text)["packages"].items() if name}
    assert len(packages) >= 1
    assert {each["integrity"].partition("-")[0] for each in packages.values()} == {"sha512"}
    assert "http" not in text


def test_another_hash_is_refused(tmp_path: Path) -> None:
    """A package that is not the one that was looked at does not come in."""
    shutil.copytree(VENDOR, tmp_path / "custody" / "vendor", ignore=shutil.ignore_patterns("__pycache__"))
    lock = tmp_path / "custody" / "vendor" / "package-lock.json"
    document = json.loads(lock.read_text())
    pinned = document["packages"]["node_modules/zxing-wasm"]
    pinned["integrity"] = "sha512-" + "A" * 86 + "=="
    lock.write_text(json.dumps(document))
    hook = load(tmp_path)
    with pytest.raises(subprocess.CalledProcessError):
        hook.bring()
    assert not (tmp_path / "custody" / "static" / "vendor" / "zxing" / "reader.wasm").exists()


def test_what_is_there_is_what_is_pinned() -> None:
    mark = ROOT / "custody" / "static" / "vendor" / "pins.json"
    assert mark.exists(), f"{sys.executable} -m pip install -e . brings it"
    pins = json.loads(mark.read_text())
    locked = json.loads((VENDOR / "package-lock.json").read_text())["packages"]
    for package, (integrity, files) in pins.items():
        assert locked[f"node_modules/{package}"]["integrity"] == integrity
        assert [path for path in files.values() if not (mark.parent / path).exists()] == []
