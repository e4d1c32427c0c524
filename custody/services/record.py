"""Record entries: the one door by which anything comes on record. The steps are those of the architecture, numbered once:

1. open the envelope: form, canonical payload, every signature by a key on the ring      -> refused, or
2. parse the entry, which must name this log                                              -> refused, or
3. lock the log's head: one writer at a time
4. seen this payload before? with the same signatures or fewer: the same receipt again; another payload: refused
5. append: the only write that matters
6. work out what it changes, and write the derived tables
7. receipt

Signatures are checked before the lock, so that it is never held longer than needed. Nothing that an entry says about the
handling of material is refused here: that is for findings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction

from custody import store
from custody.domain.entries import Entry
from custody.domain.instants import dump_instant
from custody.domain.parsing import parse_entry
from custody.domain.recorded import Recorded, Signed
from custody.domain.recorded import record_entry as entry_on_record
from custody.domain.register import Register
from custody.errors import Refused
from custody.ledger.canonical import parse_canonical
from custody.ledger.envelope import Envelope, dump_envelope, parse_envelope, parse_envelope_bytes, verify_envelope
from custody.ledger.tiles import MAX_ENTRY_BYTES
from custody.projections.apply import apply
from custody.projections.recorded_lines import join_signatures, record_lines
from custody.registers import get_register


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """What the log answers: the line that holds the entry. `new` when this call appended it."""

    id: str
    log: str
    seq: int
    received: int
    leaf: bytes
    new: bool

    def as_json(self) -> dict[str, Any]:
        """The receipt as outside programs know it."""
        return {
            "id": self.id,
            "log": self.log,
            "seq": self.seq,
            "received": dump_instant(self.received),
            "leaf": self.leaf.hex(),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """One envelope as it came in, as the bytes of its JSON or decoded, with its time of receipt."""

    envelope: object
    received: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Opened:
    """An envelope that may be recorded: steps 1 and 2 are done."""

    envelope: Envelope
    entry: Entry
    received: int


@dataclass(slots=True, kw_only=True)
class _Batch:
    """The arrivals of one transaction while they are sorted; `place` is an arrival's index among them.

    `known` holds the payload of every entry met, `entries` what is on record of it so far, `receipts` the receipt of its first
    line where that is stored; `lines` are to be appended, and `claims` says which arrival each of them, by index, answers.
    """

    head: store.LogHead
    answers: dict[int, Receipt | Refused] = field(default_factory=dict)
    known: dict[str, str] = field(default_factory=dict)
    entries: dict[str, Recorded] = field(default_factory=dict)
    receipts: dict[str, Receipt] = field(default_factory=dict)
    lines: list[store.NewLine] = field(default_factory=list)
    first: dict[str, int] = field(default_factory=dict)
    claims: dict[int, int] = field(default_factory=dict)
    again: dict[int, str] = field(default_factory=dict)
    changed: set[str] = field(default_factory=set)


def record_entries(log: store.LogHead, arrivals: Sequence[Arrival]) -> list[Receipt | Refused]:
    """Record envelopes in one transaction; for each its receipt, or why it was refused. A bad one holds back no other.

    Raises `Refused("log-closed")` for the register's log, `CustodyError("no-jurisdiction")`.
    """
    if log.kind is store.LogKind.REGISTER:
        raise Refused("log-closed", "The register's log takes no entries.", log=log.path)
    register = get_register(log.jurisdiction)
    opened = [_open(log, register, arrival) for arrival in arrivals]
    with transaction.atomic():
        batch = _Batch(head=store.lock_head(log))
        _load_known(batch, [each.entry.id for each in opened if isinstance(each, _Opened)])
        stored = set(batch.entries)
        for place, each in enumerate(opened):
            if isinstance(each, Refused):
                batch.answers[place] = each
            else:
                _sort(batch, place, each)
        _append(batch)
        if batch.changed:
            arrived = [batch.entries[each] for each in sorted(batch.changed)]
            apply(batch.head, get_register(log.jurisdiction), arrived, fresh=batch.changed - stored)
    return [batch.answers[place] for place in range(len(opened))]


def record_entry(log: store.LogHead, envelope: object, *, received: int) -> Receipt:
    """Record one envelope. Raises `Refused`."""
    (answer,) = record_entries(log, [Arrival(envelope=envelope, received=received)])
    if isinstance(answer, Refused):
        raise answer
    return answer


def _open(log: store.LogHead, register: Register, arrival: Arrival) -> _Opened | Refused:
    """Steps 1 and 2: believe the bytes first, then read what they say."""
    try:
        came = arrival.envelope
        envelope = parse_envelope_bytes(came) if isinstance(came, bytes) else parse_envelope(came)
        payload = parse_canonical(envelope.payload)
        ring = {keyid: register.keys[keyid].public_key for keyid in _keyids(envelope) if keyid in register.keys}
        verify_envelope(envelope, ring)
        entry = parse_entry(payload)
    except Refused as refused:
        return refused
    if entry.log != log.path:
        return Refused("other-log", f"This entry was signed for the log {entry.log}, not for {log.path}.", path="log")
    return _Opened(envelope=envelope, entry=entry, received=arrival.received)


def _keyids(envelope: Envelope) -> list[str]:
    return [signature.keyid for signature in envelope.signatures]


def _load_known(batch: _Batch, ids: Sequence[str]) -> None:
    for entry_id, lines in store.lines_of_entries(batch.head, ids).items():
        batch.known[entry_id] = lines[0].content()["envelope"]["payload"]
        batch.entries[entry_id] = record_lines(lines)
        batch.receipts[entry_id] = _receipt(batch, lines[0], new=False)


def _sort(batch: _Batch, place: int, opened: _Opened) -> None:
    """Step 4: what is new, what adds signatures, what is there already, what is refused."""
    entry_id = opened.entry.id
    content = dump_envelope(opened.envelope)
    if batch.known.setdefault(entry_id, content["payload"]) != content["payload"]:
        batch.answers[place] = Refused("id-taken", "Another entry on record already has this id.", path="id")
        return
    keyids = _keyids(opened.envelope)
    recorded = batch.entries.get(entry_id)
    if recorded is not None and set(keyids) <= {each.keyid for each in recorded.signatures}:
        batch.again[place] = entry_id
        return
    line = store.NewLine(received=opened.received, entry_id=entry_id, content={"envelope": content})
    seq = batch.head.size + len(batch.lines)
    if (size := len(store.line_body(seq, line))) > MAX_ENTRY_BYTES:
        detail = f"The entry would make a line of {size} bytes; {MAX_ENTRY_BYTES} is the most."
        batch.answers[place] = Refused("too-large", detail, limit=MAX_ENTRY_BYTES)
        if recorded is None:
            del batch.known[entry_id]
        return
    signatures = [Signed(keyid=keyid, received=opened.received) for keyid in keyids]
    fresh = entry_on_record(opened.entry, seq=seq, received=opened.received, signatures=signatures)
    batch.entries[entry_id] = fresh if recorded is None else join_signatures(recorded, signatures)
    batch.first.setdefault(entry_id, len(batch.lines))
    batch.claims[place] = len(batch.lines)
    batch.lines.append(line)
    batch.changed.add(entry_id)


def _append(batch: _Batch) -> None:
    """Steps 5 and 7: the lines, and a receipt for every arrival that is on record now."""
    stored = store.append(batch.head, batch.lines)
    for place, index in batch.claims.items():
        batch.answers[place] = _receipt(batch, stored[index], new=True)
    for place, entry_id in batch.again.items():
        known = batch.receipts.get(entry_id)
        batch.answers[place] = known or _receipt(batch, stored[batch.first[entry_id]], new=False)


def _receipt(batch: _Batch, line: store.StoredLine, *, new: bool) -> Receipt:
    return Receipt(
        id=line.entry_id or "", log=batch.head.path, seq=line.seq, received=line.received, leaf=line.leaf, new=new
    )
