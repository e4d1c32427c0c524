"""What the command `demo` says: that all is invented, how to sign in, what to look at."""

from __future__ import annotations

import io
import sys
from collections.abc import Mapping
from pathlib import Path

from qrcode import QRCode

from custody.domain.instants import dump_instant
from custody.management.demo_certificate import DAYS

OFFICE_USER, OFFICE_PASSWORD = "office", "alder county demo"

SIGHTS = (
    ("P26", "the silent place: no word since before the polls closed"),
    ("P18", "the drivers left long ago and have not arrived"),
    ("P12", "one box is still in the drivers' car"),
    ("P07", "an unplanned spare was used, and its memory device is not back"),
    ("P09", "a memory device was left in the scanner"),
    ("P03", "a seal was misread at the desk, and read again"),
)


BADGES = (
    ("P26-CHIEF", "poll chief of the silent place: everything is still there"),
    ("P26-W1", "poll worker at the same place"),
    ("D26-A", "courier"),
    ("D26-B", "courier, of the same pair"),
    ("RS-1", "receiving clerk"),
)
"""People whose badges are told, and what they are doing."""


def sign_ins(badges: Mapping[str, tuple[str, str]]) -> list[dict[str, str]]:
    """Who may sign in, and with what. `badges` has text and PIN by person."""
    office = {"name": OFFICE_USER, "password": OFFICE_PASSWORD, "who": "office staff"}
    return [
        office,
        *({"badge": badges[code][0], "pin": badges[code][1], "who": who} for code, who in BADGES if code in badges),
    ]


def welcome(address: str | None, folder: Path, start: int, entries: int, badges: Mapping[str, tuple[str, str]]) -> str:
    """The whole text for a terminal."""
    lines = [
        "Alder County does not exist. This is a rehearsal with invented people, made to try things out:",
        "every secret in it is public. Keep nothing real here.",
        "",
        f"  The night as of {dump_instant(start)}, {entries} entries in the log ALDER/demo.",
        f"  Address: {address}" if address else "  Not served; start it without --no-server to look at it.",
        "",
        f"Sign in as office staff: name {OFFICE_USER}, password {OFFICE_PASSWORD}",
        "Sign in and sign by badge: type or scan what stands on it, then the PIN. For instance:",
        *(f"  {badges[code][0]}  PIN {badges[code][1]}  {who}" for code, who in BADGES if code in badges),
        "",
        "What to look at:",
        *(f"  {code:<10} {what}" for code, what in SIGHTS),
        "",
        "The same on the command line, for instance:",
        f"  CUSTODY_DATA={folder} {sys.executable} manage.py findings --rehearsal demo",
        f"  CUSTODY_DATA={folder} {sys.executable} manage.py badges --rehearsal demo --site P26 --out badges.pdf",
        "",
    ]
    return "\n".join(lines)


def for_phones(address: str, authority: Path, folder: Path) -> str:
    """What to do so that a phone takes the demo's page for safe, with the address to scan."""
    host = address.removeprefix("https://").rstrip("/")
    code = QRCode(border=2)
    code.add_data(f"{address}at-work/")
    drawn = io.StringIO()
    code.print_ascii(out=drawn, invert=True)
    print_it = f"CUSTODY_DATA={folder} {sys.executable} manage.py"
    lines = [
        f"For phones on this network, while it is served:  {address}at-work/",
        "",
        drawn.getvalue(),
        "  1. Carry this certificate to the phone and install it there as a certificate authority (README.md, “Try it",
        f"     with a phone”): {authority}",
        f"     It ends after {DAYS} days and vouches for this one host. Take it off the phone again afterwards.",
        "  2. Scan the address above with the phone's camera.",
        "  3. Something to scan, to print or to show on a second screen:",
        f"     {print_it} labels --rehearsal demo --site P26 --host {host} --out labels.pdf",
        f"     {print_it} labels --rehearsal demo --seals P26 --out seals.pdf",
        f"     {print_it} badges --rehearsal demo --site P26 --out badges.pdf",
        "",
        "Everybody on this network can reach the demo now, and every secret in it is public.",
        "",
    ]
    return "\n".join(lines)
