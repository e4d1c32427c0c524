"""Whoever writes the record of the demo: each method is one entry, in the real format, signed with the demo's keys.

The scribe keeps a small account of the world (seals in place, what is in what), so that seals are read as careful people
read them. What a careless one does is said in so many words by the one who tells it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from custody.domain.instants import dump_instant
from custody.ledger.canonical import dump_canonical
from custody.ledger.envelope import dump_envelope, sign_envelope
from custody.ledger.signing import Signer

from .county import ELECTION, JURISDICTION, LOG, County
from .times import Times

Party = dict[str, Any]
Reading = dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line as the log receives it. `fresh_batch`: what came before it has been looked at by then."""

    received: int
    payload: dict[str, Any]
    signers: tuple[Signer, ...]
    fresh_batch: bool = False

    @property
    def id(self) -> str:
        return str(self.payload["id"])

    def envelope(self) -> dict[str, Any]:
        return dump_envelope(sign_envelope(dump_canonical(self.payload), self.signers))


def party(role: str, *people: str, site: str | None = None) -> Party:
    return {"role": role, "people": list(people)} | ({} if site is None else {"site": site})


def reading(item: str, point: str, number: str, state: str = "intact") -> Reading:
    return {"item": item, "point": point, "number": number, "state": state}


def entry_id(at: int, number: int) -> str:
    """A UUIDv7 (RFC 9562 section 5.7) of a time in seconds; where chance belongs stands the entry's number."""
    digits = f"{at * 1000:012x}7{number % 4096:03x}8{number:015x}"
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


class Scribe:
    """The log so far, and the world as it stands."""

    def __init__(self, county: County, times: Times) -> None:
        self.county, self.times = county, times
        self.lines: list[Line] = []
        self.in_place: dict[tuple[str, str], str] = {}
        self.inside: dict[str, str] = {}
        self.offline: dict[str, tuple[int, int]] = {}
        """By site, from when to when nothing that is written there gets through."""

    def act(
        self,
        kind: str,
        at: int,
        *,
        site: str | None = "",
        signed_by: Iterable[str] | None = None,
        received: int | None = None,
        old_badge: Iterable[str] = (),
        fresh_batch: bool = False,
        election: str = ELECTION,
        **members: Any,
    ) -> Line:
        """One entry. `site` is that of the last party unless given (`None`: on the road); members that are `None` are left out.

        `signed_by` is everybody in the parties unless given; whoever is in `old_badge` takes the one reported lost.
        """
        parties: list[Party] = [members[end] for end in ("release", "receive", "by") if end in members]
        if site == "":
            site = next((each["site"] for each in reversed(parties) if "site" in each), None)
        number = len(self.lines) + 1
        header = {"id": entry_id(at, number), "v": 1, "log": f"{JURISDICTION}/{LOG}", "election": election}
        payload = header | {"kind": kind, "at": dump_instant(at), "site": site} | members
        payload = {name: value for name, value in payload.items() if value is not None}
        people = [person for each in parties for person in each["people"]] if signed_by is None else signed_by
        signers = [
            self.county.badges[person][0 if person in old_badge else -1].signer for person in dict.fromkeys(people)
        ]
        if received is None:
            received = self._received(at + 3 + number % 17, site)
        return self._write(received, payload, signers, fresh_batch=fresh_batch)

    def sign_later(self, line: Line, *people: str, received: int) -> Line:
        """The same entry with the signatures of others, from a phone that came by later."""
        return self._write(received, line.payload, [self.county.badges[person][-1].signer for person in people])

    def _write(
        self, received: int, payload: dict[str, Any], signers: list[Signer], *, fresh_batch: bool = False
    ) -> Line:
        line = Line(received=received, payload=payload, signers=tuple(signers), fresh_batch=fresh_batch)
        self.lines.append(line)
        return line

    def _received(self, soon: int, site: str | None) -> int:
        since, until = self.offline.get(site or "", (0, 0))
        # What waits is sent in the order in which it was made.
        return until + (soon - since) * 40 // (until - since) if since <= soon < until else soon

    # Seals

    def points(self, items: Iterable[str]) -> list[tuple[str, str]]:
        return [(code, point) for code in items for point in self.county.points.get(code, ())]

    def fresh(self, stock: str, items: Sequence[str]) -> list[Reading]:
        """Seals about to go on, at every open point of these items: the next loose ones of a site's stock."""
        return [reading(*at, self.county.loose[stock].pop(0)) for at in self.points(items) if at not in self.in_place]

    def read(self, items: Iterable[str]) -> list[Reading]:
        """What is in place on these items, rightly read."""
        return [reading(*at, self.in_place[at]) for at in self.points(items) if at in self.in_place]

    def outer(self, items: Iterable[str]) -> list[str]:
        """Those that are not inside something else."""
        return [code for code in items if code not in self.inside]

    # Entries

    def handoff(
        self,
        at: int,
        items: Sequence[str],
        release: Party,
        receive: Party,
        purpose: str,
        *,
        seals: list[Reading] | None = None,
        loose: Sequence[str] = (),
        **more: Any,
    ) -> Line:
        seals = self.read(items) if seals is None else seals
        return self.act(
            "handoff",
            at,
            items=list(items),
            release=release,
            receive=receive,
            purpose=purpose,
            seals=seals or None,
            loose_seals=runs(loose) or None,
            **more,
        )

    def seal(self, at: int, items: Sequence[str], by: Party, *, stock: str = "", **more: Any) -> Line:
        """At every open point of these items; from the stock of the party's site unless another is named."""
        return self.seal_with(at, self.fresh(stock or by["site"], items), by, **more)

    def seal_with(self, at: int, seals: list[Reading], by: Party, **more: Any) -> Line:
        self.in_place |= {(each["item"], each["point"]): each["number"] for each in seals}
        return self.act("seal", at, seals=seals, by=by, **more)

    def unseal(self, at: int, items: Sequence[str], by: Party, reason: str, *, points: Sequence[str] = ()) -> Line:
        seals = [each for each in self.read(items) if not points or each["point"] in points]
        for each in seals:
            del self.in_place[each["item"], each["point"]]
        return self.act("unseal", at, seals=seals, reason=reason, by=by)

    def inspect(self, at: int, items: Sequence[str], by: Party, **more: Any) -> Line:
        return self.act("inspect", at, seals=self.read(items), by=by, **more)

    def pack(self, at: int, container: str, items: Sequence[str], by: Party, **more: Any) -> Line:
        self.inside |= dict.fromkeys(items, container)
        return self.act("pack", at, container=container, items=list(items), by=by, **more)

    def unpack(self, at: int, container: str, items: Sequence[str], by: Party, **more: Any) -> Line:
        for code in items:
            del self.inside[code]
        return self.act("unpack", at, container=container, items=list(items), by=by, **more)

    def count(self, at: int, subject: str, by: Party, figures: Mapping[str, int], **more: Any) -> Line:
        return self.act("count", at, subject=subject, figures=dict(figures), by=by, **more)

    def step(self, at: int, step: str, by: Party, *items: str, **more: Any) -> Line:
        return self.act("step", at, step=step, items=list(items) or None, by=by, **more)

    def access(self, at: int, movement: str, by: Party, purpose: str, **more: Any) -> Line:
        return self.act("access", at, movement=movement, purpose=purpose, by=by, **more)

    def incident(self, at: int, category: str, by: Party, *items: str, loose: Sequence[str] = (), **more: Any) -> Line:
        seals = runs(loose) or None
        return self.act("incident", at, category=category, items=list(items), by=by, loose_seals=seals, **more)

    def amend(self, at: int, line: Line, by: Party, replaces: Mapping[str, Any], reason: str, **more: Any) -> Line:
        return self.act("amend", at, amends=line.id, replaces=dict(replaces), reason=reason, by=by, **more)

    def resolve(self, at: int, finding: str, by: Party, outcome: str, reason: str) -> Line:
        return self.act("resolve", at, finding=finding, outcome=outcome, reason=reason, by=by)


def runs(numbers: Iterable[str]) -> list[str]:
    """Seal numbers as the record writes them: `S0000026..S0000029`. All of the demo's are a letter and digits."""
    found: list[list[str]] = []
    for number in numbers:
        if found and int(found[-1][-1][1:]) + 1 == int(number[1:]):
            found[-1].append(number)
        else:
            found.append([number])
    return [run[0] if len(run) == 1 else f"{run[0]}..{run[-1]}" for run in found]
