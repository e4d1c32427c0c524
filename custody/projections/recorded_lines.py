"""From lines of a log to entries on record: the payload of the first line, the signatures of all lines together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache

from custody.domain.instants import parse_instant
from custody.domain.parsing import parse_entry
from custody.domain.recorded import Recorded, Signed, record_entry
from custody.ledger.base64 import parse_base64
from custody.ledger.canonical import parse_canonical
from custody.store import StoredLine


@lru_cache(maxsize=4096)
def read_entry(body: bytes, seq: int, received: int) -> Recorded:
    """The entry of one line, with that line's signatures. Lines never change, so it is parsed once."""
    envelope = parse_canonical(body)["envelope"]
    entry = parse_entry(parse_canonical(parse_base64(envelope["payload"])))
    signatures = [Signed(keyid=each["keyid"], received=received) for each in envelope["signatures"]]
    return record_entry(entry, seq=seq, received=received, signatures=signatures)


def read_line(body: bytes) -> Recorded:
    """The entry of one line with the number and time that the line itself names, whatever its row says.

    Raises `CustodyError`, or what Python raises for values of another form than they should have.
    """
    content = parse_canonical(body)
    return read_entry(body, content["seq"], parse_instant(content["received"]))


def record_lines(lines: Iterable[StoredLine]) -> Recorded:
    """One entry from all lines of its id, in order of their numbers."""
    first, *others = [read_entry(line.body, line.seq, line.received) for line in lines]
    if not others:
        return first
    return join_signatures(first, (signature for other in others for signature in other.signatures))


def join_signatures(recorded: Recorded, further: Iterable[Signed]) -> Recorded:
    """An entry with further signatures; of one key the first received counts."""
    known = {each.keyid: each for each in recorded.signatures}
    for signature in further:
        known.setdefault(signature.keyid, signature)
    return record_entry(recorded.signed, seq=recorded.seq, received=recorded.received, signatures=known.values())


def record_log(lines: Iterable[StoredLine]) -> Iterator[Recorded]:
    """Every entry of a log, in order of arrival, each with all its signatures. Holds the whole log in memory."""
    entries: dict[str, Recorded] = {}
    for line in lines:
        recorded = read_entry(line.body, line.seq, line.received)
        known = entries.get(recorded.id)
        entries[recorded.id] = recorded if known is None else join_signatures(known, recorded.signatures)
    yield from entries.values()
