"""What a log proves of itself to whoever does not trust it: checkpoint, proofs, tiles (C2SP, RFC 6962 section 2.1)."""

from __future__ import annotations

from custody import store
from custody.errors import CustodyError
from custody.ledger.checkpoint import parse_checkpoint
from custody.ledger.proof import Proof, dump_proof
from custody.ledger.tiles import WIDTH, dump_bundle, dump_tile, has_tile, nodes_for_tile, parse_tile_path


def prove_entry(log: store.LogHead, entry_id: str, checkpoint: str) -> str:
    """A `tlog-proof` that an entry's first line is in the log of that checkpoint. Raises `CustodyError("no-entry")`."""
    lines = store.lines_of_entries(log, [entry_id]).get(entry_id)
    if not lines:
        raise CustodyError("no-entry", "The log has no such entry.", entry=entry_id)
    seq = lines[0].seq
    size = parse_checkpoint(checkpoint).size
    hashes = tuple(store.inclusion_proof(log, seq, size))
    return dump_proof(Proof(index=seq, hashes=hashes, checkpoint=checkpoint))


def prove_consistency(log: store.LogHead, old: int, new: int) -> list[str]:
    """The hashes (hex) that show a log of `new` lines to continue one of `old`. Raises `CustodyError("beyond-log")`."""
    if not 0 <= old <= new <= log.size:
        raise CustodyError("beyond-log", f"The log has {log.size} lines.", old=old, new=new)
    return [each.hex() for each in store.consistency_proof(log, old, new)] if old else []


def get_tile(log: store.LogHead, path: str) -> bytes:
    """The bytes of a tile or a bundle, by its path. Raises `CustodyError("no-tile")`."""
    try:
        tile = parse_tile_path(path)
    except ValueError:
        raise CustodyError("no-tile", "There is no tile of that name.", path=path) from None
    if not has_tile(tile, log.size):
        raise CustodyError("no-tile", "The log has not grown so far.", path=path)
    if tile.level is None:
        start = tile.index * WIDTH
        return dump_bundle(line.body for line in store.read_lines(log, start, start + tile.width))
    nodes = store.fetch_nodes(log, nodes_for_tile(tile))
    return dump_tile(tile, lambda *node: nodes[node])
