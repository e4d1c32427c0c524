"""The shape of the house: what stands at the top, how large a part may grow, and what the pure parts may not do."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TOP = {
    "DEVELOPERS.md",
    "README.md",
    "api",
    "custody",
    "fixtures_demo",
    "manage.py",
    "pyproject.toml",
    "templates",
    "tests",
}
PURE = ("custody/domain", "custody/ledger", "custody/audit.py", "custody/errors.py")
SOURCES = [path for top in ("custody", "api") for path in sorted((ROOT / top).rglob("*.py"))]
# By what a path begins with, the most lines of one file; the first that fits counts.
LIMITS = {
    "custody/domain/": 300,
    "custody/ledger/": 300,
    "custody/audit.py": 300,
    "custody/errors.py": 300,
    "custody/clock.py": 300,
    "custody/services/": 200,
    "custody/": 350,
    "api/": 350,
}
FUNCTION_LINES, TEMPLATE_LINES, SCRIPT_LINES = 50, 150, 250
# Calls that read the clock, chance, a file or a terminal, under names that need no import which the linter could see.
IMPURE_CALLS = {"open", "input", "print", "eval", "exec", "__import__", "now", "utcnow", "today", "uuid1", "uuid4"}


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def lines_of(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def functions(path: Path) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield node


def test_the_top_level_holds_the_agreed_entries_only() -> None:
    command = ["git", "ls-files", "--", "."]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout.splitlines()  # noqa: S603
    visible = {path.split("/")[0] for path in listed if not path.startswith(".")}
    assert visible - TOP == set()
    assert {"README.md", "custody", "api", "tests", "manage.py", "pyproject.toml"} <= visible


def test_no_module_grows_past_its_limit() -> None:
    limits = {
        name_of(path): next(limit for start, limit in LIMITS.items() if name_of(path).startswith(start))
        for path in SOURCES
        if "/migrations/" not in name_of(path)
    }
    assert len(limits) > 20
    assert {name: lines_of(ROOT / name) for name, limit in limits.items() if lines_of(ROOT / name) > limit} == {}


def test_no_function_grows_past_its_limit() -> None:
    long = {
        f"{name_of(path)}:{function.lineno} {function.name}": length
        for path in SOURCES
        for function in functions(path)
        if (length := (function.end_lineno or 0) - function.lineno + 1) > FUNCTION_LINES
    }
    assert long == {}


@pytest.mark.parametrize(
    ("folder", "pattern", "limit"),
    [
        ("templates", "*.html", TEMPLATE_LINES),
        ("custody/static/custody", "*.js", SCRIPT_LINES),
        ("custody/static/custody", "*.mjs", SCRIPT_LINES),
    ],
)
def test_no_template_or_script_grows_past_its_limit(folder: str, pattern: str, limit: int) -> None:
    sizes = {name_of(path): lines_of(path) for path in (ROOT / folder).rglob(pattern)}
    assert {name: size for name, size in sizes.items() if size > limit} == {}


def test_every_contract_of_the_imports_is_kept() -> None:
    command = [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)  # noqa: S603
    assert done.returncode == 0, done.stdout + done.stderr
    assert " 0 broken" in done.stdout


def test_the_contract_of_purity_names_every_pure_part() -> None:
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"]
    (pure,) = [contract for contract in contracts if contract["id"] == "pure"]
    there = {part.removesuffix(".py").replace("/", ".") for part in PURE if (ROOT / part).exists()}
    assert set(pure["source_modules"]) == there


def test_the_pure_parts_call_nothing_that_looks_outside() -> None:
    found = []
    for path in SOURCES:
        if not name_of(path).startswith(PURE):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                called = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
                if called in IMPURE_CALLS:
                    found.append(f"{name_of(path)}:{node.lineno} {called}")
    assert found == []


def test_no_code_but_the_store_speaks_of_the_log_tables_in_sql() -> None:
    """The linter sees imports; raw SQL is seen here."""
    allowed = {"custody/store.py", "custody/models/append_only.py", "custody/models/log.py"}
    found = set()
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            text = node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else ""
            if "custody_line" in text or "custody_checkpoint" in text or "custody_log " in text:
                found.add(name_of(path))
    assert "custody/store.py" in found
    assert {name for name in found - allowed if "/migrations/" not in name} == set()


def test_nothing_is_called_utilities() -> None:
    assert [name_of(path) for path in SOURCES if path.stem in {"utils", "util", "helpers", "common", "misc"}] == []


def test_nothing_acts_behind_the_scenes() -> None:
    """No signals, and no model whose `save` or `delete` does more than Django's."""
    found = []
    for path in SOURCES:
        text = path.read_text(encoding="utf-8")
        found += [f"{name_of(path)} {word}" for word in ("django.dispatch", "models.signals") if word in text]
        if name_of(path).startswith("custody/models/"):
            found += [
                f"{name_of(path)} {function.name}"
                for function in functions(path)
                if function.name in {"save", "delete", "create", "update"}
            ]
    assert found == []
