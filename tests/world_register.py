"""The invented jurisdiction ALDER: its places, people, keys, items and seals, as rows of the register log.

Nothing here exists; the two affiliations are two birds.
"""

from __future__ import annotations

import base64
import csv
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from custody.domain.labels import next_code
from custody.domain.register import Register
from custody.domain.vocabulary import ItemKind
from custody.ledger.signing import Signer

JURISDICTION, ELECTION, TIMEZONE = "ALDER", "GEN26", "America/Chicago"
ELECTION_DAY = "2026-11-03"
# 1 November 2026 ends daylight saving time there: the days before differ from election day by an hour.
LARK, WREN = "Lark", "Wren"
MAKER, OTHER_MAKER = "Arnby", "Birch"
SEALS_PER_PLACE = 40
STAFF = (
    # code, role, site, affiliation
    ("CLERK-1", "warehouse_clerk", "WH", LARK),
    ("CLERK-2", "warehouse_clerk", "WH", WREN),
    ("CLERK-3", "warehouse_clerk", "WH", ""),
    ("DESK-1", "receiving_clerk", "RS", LARK),
    ("DESK-2", "receiving_clerk", "RS", WREN),
    ("DESK-3", "receiving_clerk", "RS", ""),
    ("COUNT-1", "receiving_clerk", "CC", LARK),
    ("COUNT-2", "receiving_clerk", "CC", WREN),
    ("VAULT-1", "vault_custodian", "VA", LARK),
    ("VAULT-2", "vault_custodian", "VA", WREN),
    ("TECH-1", "technician", "", LARK),
    ("TECH-2", "technician", "", WREN),
    ("OFFICE-1", "official", "", LARK),
    ("OFFICE-2", "official", "", WREN),
    ("AUDIT-1", "auditor", "", LARK),
    ("AUDIT-2", "auditor", "", WREN),
    ("WATCH-1", "observer", "", ""),
)
CREW = (("CHIEF", "poll_chief", LARK), ("WORKER-1", "poll_worker", WREN), ("WORKER-2", "poll_worker", ""))
PAIR = (("DRIVER-1", LARK), ("DRIVER-2", WREN))
SITES = (
    ("WH", "warehouse", "1 Mill Lane"),
    ("RS", "receiving_station", "2 Weir Street"),
    ("VA", "vault", "3 Quarry Road"),
    ("CC", "count_center", "4 Ferry Road"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """The things of one polling place; of the spares in the warehouse when `site` is `SPARE`."""

    site: str
    scanner: str
    memory: str
    containers: tuple[str, ...]
    case: str
    tape: str
    keys: str
    pollbook: str
    envelope: str
    stock: str

    @property
    def all(self) -> tuple[str, ...]:
        single = (self.scanner, self.memory, self.case, self.tape, self.keys, self.pollbook, self.envelope, self.stock)
        return (*single, *self.containers)


POINTS: Mapping[ItemKind, tuple[str, ...]] = {
    ItemKind.SCANNER: ("memory", "bin"),
    ItemKind.BALLOT_CONTAINER: ("front", "back"),
    ItemKind.TRANSFER_CASE: ("latch",),
    ItemKind.ENVELOPE: ("flap",),
    ItemKind.BALLOT_STOCK: ("lid",),
}


@cache
def signer_of(person: str) -> Signer:
    """A person's key pair; the seed is the hash of the code, so that every run signs the same bytes."""
    return Signer(sha256(person.encode()).digest())


# The files of a register load and their columns, as outside programs know them.
CSV_COLUMNS: Mapping[str, str] = {
    "jurisdictions": "code name timezone",
    "elections": "jurisdiction code name date timezone polls_open polls_close return_deadline",
    "sites": "jurisdiction code name kind address phone",
    "people": "jurisdiction code name phone affiliation public_key",
    "keys": "jurisdiction person public_key valid_from valid_until revoked_at",
    "assignments": "election person role site",
    "items": "jurisdiction code kind description serial tag home_site seal_points opens",
    "seal_lots": "jurisdiction maker class lot prefix first last width issued_to election",
    "kits": "election site item",
}


class WorldRegister:
    """`rows` are what the register log holds, by table; `register` is built from them as the program builds it."""

    def __init__(self, *, places: int) -> None:
        self.rows: dict[str, list[dict[str, Any]]] = defaultdict(list)
        self.changes: list[dict[str, Any]] = []
        self.register = Register()
        self.places = tuple(f"P{number:02}" for number in range(1, places + 1))
        self.kits: dict[str, Kit] = {}
        self._numbers: dict[ItemKind, int] = defaultdict(int)
        self.change("jurisdictions", code=JURISDICTION, name="Alder County", timezone=TIMEZONE)
        self.change(
            "elections",
            code=ELECTION,
            name="General election",
            date=ELECTION_DAY,
            timezone=TIMEZONE,
            polls_open=f"{ELECTION_DAY}T07:00",
            polls_close=f"{ELECTION_DAY}T20:00",
            return_deadline="2026-11-04T02:00",
        )
        for code, kind, address in SITES:
            self.change("sites", code=code, name=f"Site {code}", kind=kind, address=address)
        for code, role, site, affiliation in STAFF:
            self.add_person(code, role, site=site, affiliation=affiliation)
        for number, place in enumerate(self.places, start=1):
            self._add_place(place, number)
        self.spare = self._add_kit("SPARE", home="WH")
        for number, site in enumerate(("WH", "RS", "VA", "CC")):
            self.add_lot(f"LOT-{site}", first=9_000_000 + number * 10_000, count=2_000, site=site)
        # Numbers that two makers share, and that belong to the warehouse.
        self.add_lot("LOT-SHARED", prefix="T", first=1, count=50, site="WH")
        self.add_lot("LOT-SHARED", prefix="T", first=1, count=50, site="WH", maker=OTHER_MAKER)

    def change(self, table: str, **row: Any) -> None:
        """One row onto the register log; what is empty is left out, as the program leaves it out."""
        row = {name: value for name, value in row.items() if value not in ("", (), [])}
        self.rows[table].append(row)
        self.changes.append({"table": table, "rows": [row]})
        self.register.apply(table, [row])

    def add_person(self, code: str, role: str, *, site: str = "", affiliation: str = "") -> None:
        self.change("people", code=code, affiliation=affiliation)
        self.change("keys", person=code, public_key=base64.b64encode(signer_of(code).public_key).decode())
        self.assign(code, role, site=site)

    def assign(self, person: str, role: str, *, site: str = "", **more: Any) -> None:
        self.change("assignments", election=ELECTION, person=person, role=role, site=site, **more)

    def add_lot(
        self, lot: str, *, first: int, count: int, site: str = "", prefix: str = "S", maker: str = MAKER
    ) -> None:
        numbers = {"prefix": prefix, "first": first, "last": first + count - 1, "width": 7}
        self.change("seal_lots", maker=maker, lot=lot, **numbers, issued_to=site, election=ELECTION)

    def add_item(self, kind: str, *, home: str = "WH", opens: list[str] | None = None) -> str:
        """One more item, with the next code of its kind."""
        word = ItemKind(kind)
        code, self._numbers[word] = next_code(word, (), self._numbers[word])
        points = list(POINTS.get(word, ()))
        self.change("items", code=code, kind=kind, home_site=home, seal_points=points, opens=opens or [])
        return code

    def set_policy(self, document: Mapping[str, Any], *, valid_from: str = "2026-01-01T00:00:00Z") -> None:
        self.change("policy", valid_from=valid_from, document=dict(document))

    def _add_place(self, place: str, number: int) -> None:
        self.change("sites", code=place, name=f"Site {place}", kind="polling_place", address=f"{number} School Lane")
        for post, role, affiliation in CREW:
            self.add_person(f"{post}-{place}", role, site=place, affiliation=affiliation)
        for post, affiliation in PAIR:
            self.add_person(f"{post}-{place}", "courier", affiliation=affiliation)
        self.add_lot("LOT-PLACES", first=number * 1_000, count=SEALS_PER_PLACE, site=place)
        kit = self._add_kit(place, home="WH")
        for item in kit.all:
            self.change("kits", election=ELECTION, site=place, item=item)

    def _add_kit(self, site: str, *, home: str) -> Kit:
        scanner, case = self.add_item("scanner", home=home), self.add_item("transfer_case", home=home)
        kit = self.kits[site] = Kit(
            site=site,
            scanner=scanner,
            memory=self.add_item("memory_device", home=home),
            containers=(self.add_item("ballot_container", home=home), self.add_item("ballot_container", home=home)),
            case=case,
            tape=self.add_item("results_tape", home=home),
            keys=self.add_item("key_set", home=home, opens=[scanner, case]),
            pollbook=self.add_item("pollbook", home=home),
            envelope=self.add_item("envelope", home=home),
            stock=self.add_item("ballot_stock", home=home),
        )
        return kit

    def write_csv(self, folder: Path) -> None:
        """The same register as the nine files that `load_register` reads."""
        for table, columns in CSV_COLUMNS.items():
            with (folder / f"{table}.csv").open("w", newline="", encoding="utf-8") as file:
                writer = csv.DictWriter(file, columns.split(), lineterminator="\r\n")
                writer.writeheader()
                writer.writerows(_cells(table, row) for row in self.rows[table])


def _cells(table: str, row: Mapping[str, Any]) -> dict[str, Any]:
    cells = {name: ";".join(value) if isinstance(value, list) else value for name, value in row.items()}
    if "jurisdiction" in CSV_COLUMNS[table].split():
        cells["jurisdiction"] = JURISDICTION
    if table == "people":
        cells |= {"name": f"Holder of {row['code']}", "phone": "555-0100"}
    return cells
