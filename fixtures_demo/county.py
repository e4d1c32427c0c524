"""The county as its CSV files have it, read for the telling; and the same files made ready for one start.

The files are those of any register load, except for words in braces where a date or a time zone belongs.
"""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from custody.domain.instants import dump_instant
from custody.domain.labels import SYMBOLS, check_character
from custody.ledger.signing import Signer

from .times import DAY, Times

HERE = Path(__file__).resolve().parent
JURISDICTION, ELECTION, LOG = "ALDER", "GENERAL", "demo"

Row = dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Badge:
    """A badge whose secret is public. `seed` is what PIN and secret give, worked out beforehand."""

    person: str
    secret: bytes
    pin: str
    seed: bytes

    @property
    def signer(self) -> Signer:
        return Signer(self.seed)

    @property
    def text(self) -> str:
        """What its QR says: `CB1:<person>:<26 symbols of Crockford's base 32 and their check character>`."""
        number, symbols = int.from_bytes(self.secret), ""
        for _ in range(26):
            number, digit = divmod(number, len(SYMBOLS))
            symbols = SYMBOLS[digit] + symbols
        return f"CB1:{self.person}:{symbols}{check_character(symbols)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """What is issued to one polling place; of a list, in the order of the labels."""

    site: str
    of: dict[str, list[str]]

    def one(self, kind: str) -> str:
        return self.of[kind][0]

    @property
    def all(self) -> list[str]:
        return [code for codes in self.of.values() for code in codes]


@dataclass(slots=True, kw_only=True)
class County:
    """Items, kits, seals and badges, by code."""

    kinds: dict[str, str] = field(default_factory=dict)
    points: dict[str, list[str]] = field(default_factory=dict)
    kits: dict[str, Kit] = field(default_factory=dict)
    spares: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    loose: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    badges: dict[str, list[Badge]] = field(default_factory=lambda: defaultdict(list))


def rows_of(table: str) -> list[Row]:
    return list(_rows(HERE / "register" / f"{table}.csv"))


def _rows(path: Path) -> Iterator[Row]:
    lines = path.read_text(encoding="utf-8").splitlines()
    return csv.DictReader(line for line in lines if not line.startswith("#"))


def read_county() -> County:
    """The county, before anything happened."""
    county = County()
    for row in rows_of("items"):
        county.kinds[row["code"]] = row["kind"]
        county.points[row["code"]] = row["seal_points"].split(";") if row["seal_points"] else []
    in_kits = set()
    for row in rows_of("kits"):
        kit = county.kits.setdefault(row["site"], Kit(site=row["site"], of={}))
        kit.of.setdefault(county.kinds[row["item"]], []).append(row["item"])
        in_kits.add(row["item"])
    for code, kind in county.kinds.items():
        if code not in in_kits:
            county.spares[kind].append(code)
    for row in rows_of("seal_lots"):
        numbers = range(int(row["first"]), int(row["last"]) + 1)
        county.loose[row["issued_to"]] += [f"{row['prefix']}{number:0{row['width']}}" for number in numbers]
    for badge in list_badges():
        county.badges[badge.person].append(badge)
    return county


def list_badges() -> list[Badge]:
    """Everybody's badge, in the order of the file; whoever lost one has another after it."""
    return [
        Badge(
            person=row["person"],
            secret=bytes.fromhex(row["secret"]),
            pin=row["pin"],
            seed=bytes.fromhex(row["seed"]),
        )
        for row in _rows(HERE / "badges.csv")
    ]


def write_register(folder: Path, times: Times) -> None:
    """The register's files for one start, as `load_register` reads them."""
    words = {
        "zone": times.zone,
        "date": times.local(times.closed)[:10],
        "polls_open": times.local(times.opened),
        "polls_close": times.local(times.closed),
        "return_deadline": times.local(times.deadline),
        "earlier": times.local(times.closed - 760 * DAY)[:10],
        "badge_lost": dump_instant(times.on(0, "12:00") - 5 * DAY),
    }
    for path in sorted((HERE / "register").glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            rows = [[cell.format_map(words) for cell in row] for row in csv.reader(file)]
        text = io.StringIO()
        csv.writer(text, lineterminator="\r\n").writerows(rows)
        (folder / path.name).write_bytes(text.getvalue().encode())
