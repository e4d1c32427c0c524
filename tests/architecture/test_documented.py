"""DEVELOPERS.md has a heading for everything that a program or a person may meet by name, and none for what is gone."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from custody.domain.parsing import MEMBERS
from custody.domain.rules import RULE_CODES
from custody.errors import REFUSAL_CODES

ROOT = Path(__file__).resolve().parents[2]
ERRORS = {"CustodyError", "Refused", "Unverified"}


def headings(section: str) -> list[str]:
    """The names in headings of the third level, as in "### `no-log`", below the heading of a section."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    (body,) = re.findall(rf"^## {re.escape(section)}\n(.*?)(?=^## |\Z)", text, re.DOTALL | re.MULTILINE)
    return re.findall(r"^### `([^`]+)`$", body, re.MULTILINE)


def raised_codes() -> Iterator[tuple[str, str]]:
    """Every error that the code makes with a literal code: class and code."""
    for top in ("custody", "api"):
        for path in (ROOT / top).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ERRORS:
                    code = node.args[0] if node.args else None
                    if isinstance(code, ast.Constant) and isinstance(code.value, str):
                        yield node.func.id, code.value


def commands() -> set[str]:
    folder = ROOT / "custody" / "management" / "commands"
    return {path.stem for path in folder.glob("*.py") if not path.stem.startswith("_")}


REGISTRIES = {
    "Refusals": set(REFUSAL_CODES),
    "Other errors": {code for _, code in raised_codes()} - set(REFUSAL_CODES),
    "Commands": commands(),
    "Entry kinds": set(MEMBERS),
    "Rules": set(RULE_CODES),
}


@pytest.mark.parametrize("section", REGISTRIES)
def test_everything_met_by_name_has_its_heading(section: str) -> None:
    assert headings(section) == sorted(REGISTRIES[section])


def test_every_refusal_is_on_the_list_of_refusals() -> None:
    refused = {code for error, code in raised_codes() if error == "Refused"}
    assert "too-large" in refused
    assert refused - set(REFUSAL_CODES) == set()
