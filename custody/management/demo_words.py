"""What the command `demo` says: that all is invented, how to sign in, what to look at."""

from __future__ import annotations

import sys
from pathlib import Path

from custody.domain.instants import dump_instant

OFFICE_USER, OFFICE_PASSWORD = "office", "alder county demo"

SIGHTS = (
    ("P26", "the silent place: no word since before the polls closed"),
    ("P18", "the drivers left long ago and have not arrived"),
    ("P12", "one box is still in the drivers' car"),
    ("P07", "an unplanned spare was used, and its memory device is not back"),
    ("P09", "a memory device was left in the scanner"),
    ("P03", "a seal was misread at the desk, and read again"),
)


def sign_ins() -> list[dict[str, str]]:
    """Who may sign in, and with what."""
    return [{"name": OFFICE_USER, "password": OFFICE_PASSWORD, "who": "office staff"}]


def welcome(address: str | None, folder: Path, start: int, entries: int) -> str:
    """The whole text for a terminal."""
    lines = [
        "Alder County does not exist. This is a rehearsal with invented people, made to try things out:",
        "every secret in it is public. Keep nothing real here.",
        "",
        f"  The night as of {dump_instant(start)}, {entries} entries in the log ALDER/demo.",
        f"  Address: {address}" if address else "  Not served; start it without --no-server to look at it.",
        "",
        f"Sign in as office staff: name {OFFICE_USER}, password {OFFICE_PASSWORD}",
        "",
        "What to look at:",
        *(f"  {code:<10} {what}" for code, what in SIGHTS),
        "",
        "The same on the command line, for instance:",
        f"  CUSTODY_DATA={folder} {sys.executable} manage.py findings --rehearsal demo",
        "",
    ]
    return "\n".join(lines)
