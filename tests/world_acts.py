"""Acts of the invented county: every method makes one entry, in the real format, signs it and puts it on the log.

A simulator, not a mock: what it makes is parsed by the program's own parser, and signed with real keys when asked. It
keeps just enough of its own account (seals in place, what is in what) to read seals as careful people would.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from custody.domain.entries import Entry
from custody.domain.instants import dump_instant, local_instant
from custody.domain.parsing import parse_entry
from custody.domain.parties import parse_seal_range
from custody.domain.recorded import Recorded, Signed, record_entry
from custody.domain.register import Register
from custody.ledger.canonical import dump_canonical
from custody.ledger.envelope import dump_envelope, sign_envelope
from tests.world_register import ELECTION, ELECTION_DAY, JURISDICTION, TIMEZONE, WorldRegister, signer_of

JsonParty = dict[str, Any]
JsonReading = dict[str, str]
Thing = str | tuple[str, str] | JsonReading
"""What a seal act is about: an item with all its points, one point of an item, or a reading as it shall be written."""

HERE: Final = "(here)"
MINUTE, HOUR, DAY = 60, 3_600, 86_400


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """One line of the log, as this world wrote it."""

    payload: dict[str, Any]
    entry: Entry
    signers: tuple[str, ...]
    received: int

    @property
    def id(self) -> str:
        return self.entry.id

    @property
    def at(self) -> int:
        return self.entry.at

    @property
    def recorded(self) -> Recorded:
        """The entry as this line alone has it."""
        signed = (Signed(keyid=signer_of(person).keyid, received=self.received) for person in self.signers)
        return record_entry(self.entry, seq=0, received=self.received, signatures=signed)

    def envelope(self) -> dict[str, Any]:
        """The DSSE envelope as a value for JSON, really signed by those who signed this line."""
        return dump_envelope(sign_envelope(dump_canonical(self.payload), map(signer_of, self.signers)))

    def line(self) -> dict[str, Any]:
        """A line of `record --replay`."""
        return {"received": dump_instant(self.received), "envelope": self.envelope()}


def entry_id(at: int, counter: int, seed: int = 0) -> str:
    """A UUIDv7 (RFC 9562 section 5.7) of a time in seconds, its random bits a counter and a seed."""
    high, low = divmod(counter, 0x4000)  # entries of one second keep their order
    digits = f"{max(at, 0) * 1000 % 2**48:012x}7{high % 4096:03x}{0x8000 | low:04x}{seed % 2**48:012x}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


def party(role: str, *people: str, site: str | None = None) -> JsonParty:
    return {"role": role, "people": list(people)} | ({} if site is None else {"site": site})


def reading(item: str, point: str, number: str = "", state: str = "intact", maker: str = "") -> JsonReading:
    seal = {"item": item, "point": point, "state": state}
    return seal | ({"number": number} if number else {}) | ({"maker": maker} if maker else {})


class Acts(WorldRegister):
    """The log and its clock. Every act takes the same options, by name:

    `at` (instant; else the clock, which goes on a minute), `site` (else where the parties stand; `None`: on the road),
    `signed_by` (else everybody named in a party, and the transcriber), `received` (instant; else 5 s after `at`),
    `election`, and any other member of the header (`note`, `paper`, `transcriber`, `photos`, `observers`, `offset`).
    """

    def __init__(self, *, places: int = 2, seed: int = 0, log: str = f"{JURISDICTION}/main") -> None:
        super().__init__(places=places)
        self.seed, self.log_name = seed, log
        self.log: list[Deed] = []
        self.at = self.time("08:00", day=-14)
        self.in_place: dict[tuple[str, str], str] = {}
        self.inside: dict[str, str] = {}
        self.loose: dict[str, list[str]] = {}
        self._counter = 0
        for lot in self.register.lots.values():
            if lot.issued_to and lot.lot != "LOT-SHARED":
                self.loose[lot.issued_to] = list(lot.seals.numbers())

    # The clock and the log

    @staticmethod
    def time(clock: str, *, day: int = 0) -> int:
        """Local wall-clock time `HH:MM`, so many days after election day."""
        midnight = local_instant(f"{ELECTION_DAY}T00:00", TIMEZONE)
        date = dump_instant(midnight + day * DAY + 12 * HOUR)[:10]
        return local_instant(f"{date}T{clock}", TIMEZONE)

    def wait(self, minutes: int) -> None:
        self.at += minutes * MINUTE

    def lines(self) -> list[Deed]:
        """The log in the order in which its lines were received."""
        return sorted(self.log, key=lambda deed: deed.received)

    def arrivals(self) -> list[Recorded]:
        """What the log knows of an entry after each line, in that order: a second line adds signatures to the first."""
        known: dict[str, Recorded] = {}
        listed = []
        for seq, deed in enumerate(self.lines()):
            first = known.get(deed.id)
            signed = {each.keyid: each for each in first.signatures} if first else {}
            for person in deed.signers:
                keyid = signer_of(person).keyid
                signed.setdefault(keyid, Signed(keyid=keyid, received=deed.received))
            since = (first.seq, first.received) if first else (seq, deed.received)
            recorded = record_entry(deed.entry, seq=since[0], received=since[1], signatures=signed.values())
            known[deed.id] = recorded
            listed.append(recorded)
        return listed

    def recorded(self) -> list[Recorded]:
        """Every entry once, with all its signatures, in the order of its first line."""
        return list({each.id: each for each in self.arrivals()}.values())

    def write(self, payload: dict[str, Any], *, signers: Sequence[str], received: int) -> Deed:
        """Put one entry on the log. Everything that is written passes here, so that a subclass can meddle."""
        entry = parse_entry(payload)
        deed = Deed(payload=payload, entry=entry, signers=tuple(signers), received=received)
        self.log.append(deed)
        return deed

    def sign_later(self, deed: Deed, *people: str, received: int | None = None) -> Deed:
        """The same payload with further signatures, on a line of its own."""
        return self.write(deed.payload, signers=people, received=self.at if received is None else received)

    def act(
        self,
        kind: str,
        *,
        at: int | None = None,
        site: str | None = HERE,
        signed_by: Iterable[str] | None = None,
        received: int | None = None,
        election: str = ELECTION,
        **members: Any,
    ) -> Deed:
        """An entry of any kind; `members` as they stand in the payload, those that are `None` left out."""
        if at is None:
            at, self.at = self.at, self.at + MINUTE
        parties: list[JsonParty] = [members[end] for end in ("release", "receive", "by") if end in members]
        if site == HERE:
            site = next((each["site"] for each in reversed(parties) if "site" in each), None)
        self._counter += 1
        header = {"id": entry_id(at, self._counter, self.seed), "v": 1, "log": self.log_name, "election": election}
        payload = header | {"kind": kind, "at": dump_instant(at), "site": site} | members
        payload = {name: value for name, value in payload.items() if value is not None}
        if signed_by is None:
            signed_by = [person for each in parties for person in each["people"]]
            signed_by += [members["transcriber"]] if members.get("transcriber") else []
        signers = list(dict.fromkeys(signed_by))
        return self.write(payload, signers=signers, received=at + 5 if received is None else received)

    # Seals

    def fresh(self, site: str, *things: Thing) -> list[JsonReading]:
        """Readings of seals about to go on: the next loose numbers of a site, at every point that has none."""
        points = [point for thing in things for point in self._points(thing) if point not in self.in_place]
        return [reading(item, point, self.loose[site].pop(0)) for item, point in points]

    def read(self, *things: Thing) -> list[JsonReading]:
        """Readings of what is in place, as a careful person would write them down."""
        listed: list[JsonReading] = []
        for thing in things:
            if isinstance(thing, dict):
                listed.append(thing)
                continue
            places = (point for point in self._points(thing) if point in self.in_place)
            listed += [reading(*point, self.in_place[point]) for point in places]
        return listed

    def _points(self, thing: Thing) -> list[tuple[str, str]]:
        if isinstance(thing, dict):
            return [(thing["item"], thing["point"])]
        if isinstance(thing, tuple):
            return [thing]
        item = self.register.items.get(thing)
        return [(thing, point) for point in (item.seal_points if item else ())]

    # Acts

    def enter(self, items: Sequence[str], by: JsonParty, **more: Any) -> Deed:
        """`register`: items come on record."""
        return self.act("register", items=list(items), by=by, **more)

    def handoff(
        self,
        items: Sequence[str],
        release: JsonParty,
        receive: JsonParty,
        purpose: str,
        *,
        seals: Sequence[Thing] | None = None,
        loose: Sequence[str] = (),
        **more: Any,
    ) -> Deed:
        """`handoff`; without `seals`, every seal of what is not inside something else is read."""
        outside = [code for code in items if self.inside.get(code) not in items]
        readings = self.read(*(outside if seals is None else seals))
        return self.act(
            "handoff",
            items=list(items),
            release=release,
            receive=receive,
            purpose=purpose,
            seals=readings or None,
            loose_seals=list(loose) or None,
            **more,
        )

    def seal(self, things: Sequence[Thing], by: JsonParty, **more: Any) -> Deed:
        """`seal`; what is no reading already gets the next loose numbers of the party's site."""
        readings: list[JsonReading] = []
        for thing in things:
            readings += [thing] if isinstance(thing, dict) else self.fresh(by["site"], thing)
        for each in readings:
            self.in_place[each["item"], each["point"]] = each["number"]
            for numbers in self.loose.values():
                if each["number"] in numbers:
                    numbers.remove(each["number"])
        return self.act("seal", seals=readings, by=by, **more)

    def unseal(self, things: Sequence[Thing], by: JsonParty, reason: str, **more: Any) -> Deed:
        readings = self.read(*things)
        for each in readings:
            self.in_place.pop((each["item"], each["point"]), None)
        return self.act("unseal", seals=readings, reason=reason, by=by, **more)

    def inspect(self, things: Sequence[Thing], by: JsonParty, **more: Any) -> Deed:
        return self.act("inspect", seals=self.read(*things), by=by, **more)

    def pack(self, container: str, items: Sequence[str], by: JsonParty, **more: Any) -> Deed:
        self.inside |= dict.fromkeys(items, container)
        return self.act("pack", container=container, items=list(items), by=by, **more)

    def unpack(self, container: str, items: Sequence[str], by: JsonParty, **more: Any) -> Deed:
        for code in items:
            self.inside.pop(code, None)
        return self.act("unpack", container=container, items=list(items), by=by, **more)

    def count(self, subject: str, by: JsonParty, figures: Mapping[str, int], **more: Any) -> Deed:
        return self.act("count", subject=subject, figures=dict(figures), by=by, **more)

    def step(self, step: str, by: JsonParty, *items: str, **more: Any) -> Deed:
        return self.act("step", step=step, items=list(items) or None, by=by, **more)

    def access(self, movement: str, by: JsonParty, purpose: str = "to store", **more: Any) -> Deed:
        return self.act("access", movement=movement, purpose=purpose, by=by, **more)

    def incident(self, category: str, by: JsonParty, *items: str, loose: Sequence[str] = (), **more: Any) -> Deed:
        return self.act(
            "incident", category=category, items=list(items), by=by, loose_seals=list(loose) or None, **more
        )

    def hold(self, by: JsonParty, *items: str, lifts: Deed | None = None, **more: Any) -> Deed:
        """`hold`: placed, or lifted when `lifts` is the entry that placed it."""
        movement, lifted = ("place", None) if lifts is None else ("lift", lifts.id)
        more = {"reason": "order of the court"} | more
        return self.act("hold", movement=movement, items=list(items), lifts=lifted, by=by, **more)

    def amend(self, deed: Deed | str, by: JsonParty, replaces: Mapping[str, Any], **more: Any) -> Deed:
        amends = deed if isinstance(deed, str) else deed.id
        more = {"reason": "a slip of the pen"} | more
        return self.act("amend", amends=amends, replaces=dict(replaces), by=by, **more)

    def resolve(self, finding: str, by: JsonParty, outcome: str = "explained", **more: Any) -> Deed:
        more = {"reason": "looked into"} | more
        return self.act("resolve", finding=finding, outcome=outcome, by=by, **more)

    def dispose(self, items: Sequence[str], by: JsonParty, method: str = "destroyed", **more: Any) -> Deed:
        return self.act("dispose", items=list(items), method=method, by=by, **more)


def runs(numbers: Iterable[str]) -> list[str]:
    """Seal numbers as ranges, `S0000026..S0000029`."""
    found: list[list[str]] = []
    for number in numbers:
        one = parse_seal_range(number)
        last = parse_seal_range(found[-1][-1]) if found else None
        if last and (last.prefix, last.width, last.last + 1) == (one.prefix, one.width, one.first):
            found[-1].append(number)
        else:
            found.append([number])
    return [run[0] if len(run) == 1 else f"{run[0]}..{run[-1]}" for run in found]


def register_from(changes: Iterable[Mapping[str, Any]]) -> Register:
    """A register built afresh from the changes of its log."""
    register = Register()
    for change in changes:
        register.apply(change["table"], change["rows"])
    return register
