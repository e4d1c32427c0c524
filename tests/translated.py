"""What tests of translations share: the texts as they are written, and what of a page people read."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

pofile = pytest.importorskip("babel.messages.pofile")
mofile = pytest.importorskip("babel.messages.mofile")

ROOT = Path(__file__).resolve().parents[1]
PLACEHOLDER = re.compile(r"%\(\w+\)[#0 +-]*\d*[a-z]|%[sd]|\{\w*\}|</?[a-z][^>]*>")
READ = {"alt", "aria-label", "data-label", "placeholder", "title"}
"""Attributes that people read."""


def catalog(path: Path) -> Any:
    """Of one file, all messages but its header."""
    with path.open("rb") as file:
        return pofile.read_po(file, abort_invalid=True)


def written(language: str) -> Path:
    return ROOT / "custody" / "locale" / language / "LC_MESSAGES" / "django.po"


class Visible(HTMLParser):
    """What of a page people read: `found`, its text and the attributes that are read out or shown."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._hidden = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._hidden = tag in ("script", "style")
        self.found += [value for name, value in attrs if name in READ and value]

    def handle_endtag(self, tag: str) -> None:
        self._hidden = False

    def handle_data(self, data: str) -> None:
        if data.strip() and not self._hidden:
            self.found.append(" ".join(data.split()))
