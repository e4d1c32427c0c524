"""Tiles: the log as files that never change, so that general-purpose monitors can follow it (C2SP tlog-tiles).

Tile `index` of tile level L holds up to 256 hashes side by side, those of the complete subtrees of tree level 8 * L
from `index * 256` on; beside each tile of level 0 stands a bundle of the lines themselves. A tile is **full** with
256, or **partial** at the right edge of the tree:

    tile/0/x001/234                   full tile 1,234 of level 0
    tile/1/000.p/17                   the first 17 hashes of tile 0 of level 1
    tile/entries/x001/234             the lines under tile/0/x001/234

Only names and bytes: serving them is for the API, and keeping them for nobody, since they are read from the log's rows.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from custody.ledger.merkle import HASH_BYTES, Node, ReadNode

HEIGHT: Final = 8
WIDTH: Final = 256
"""Hashes in a full tile: 2^8, hence 8,192 bytes."""
MAX_LEVEL: Final = 63
MAX_ENTRY_BYTES: Final = 65_535
"""Largest line: its length stands before it in 16 bits."""

_PATH: Final = re.compile(
    r"tile/(entries|0|[1-9][0-9]?)/((?:x[0-9]{3}/){0,6}[0-9]{3})(?:\.p/([1-9][0-9]{0,2}))?", re.ASCII
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """A tile of hashes, or, with `level` None, a bundle of lines. `width` from 1 to 256; 256 is full."""

    level: int | None
    index: int
    width: int = WIDTH


def dump_tile_path(tile: Tile) -> str:
    """The path of a tile below the log's address; groups of three digits of its index, all but the last with `x`."""
    digits = str(tile.index)
    digits = digits.zfill(-len(digits) % 3 + len(digits))
    *first, last = (digits[at : at + 3] for at in range(0, len(digits), 3))
    index = "".join(f"x{group}/" for group in first) + last
    level = "entries" if tile.level is None else tile.level
    return f"tile/{level}/{index}" + (f".p/{tile.width}" if tile.width < WIDTH else "")


def parse_tile_path(path: str) -> Tile:
    """The inverse of `dump_tile_path`. Raises `ValueError` for any other text, so that a tile has one address only."""
    match = _PATH.fullmatch(path)
    if match:
        level = None if match[1] == "entries" else int(match[1])
        index = int(match[2].replace("x", "").replace("/", ""))
        tile = Tile(level=level, index=index, width=int(match[3] or WIDTH))
        if (level or 0) <= MAX_LEVEL and dump_tile_path(tile) == path:
            return tile
    raise ValueError(f"not the path of a tile: {path!r}")


def has_tile(tile: Tile, size: int) -> bool:
    """Whether a log of `size` lines can fill the tile; a partial tile also when the log has grown past it since."""
    return tile.index * WIDTH + tile.width <= size >> HEIGHT * (tile.level or 0)


def list_tiles(size: int) -> Iterator[Tile]:
    """The tiles of hashes that a log of `size` lines consists of, level by level, the partial one of a level last."""
    level = 0
    while count := size >> HEIGHT * level:
        full, partial = divmod(count, WIDTH)
        for index in range(full):
            yield Tile(level=level, index=index)
        if partial:
            yield Tile(level=level, index=full, width=partial)
        level += 1


def list_bundles(size: int) -> Iterator[Tile]:
    """The bundles of lines of a log of `size` lines: one for each tile of level 0."""
    for tile in list_tiles(size):
        if tile.level != 0:
            return
        yield Tile(level=None, index=tile.index, width=tile.width)


def nodes_for_tile(tile: Tile) -> list[Node]:
    """The complete nodes whose hashes make up a tile, in order. Raises `ValueError` for a bundle, which has none."""
    if tile.level is None:
        raise ValueError("a bundle of lines holds no hashes")
    first = tile.index * WIDTH
    return [(HEIGHT * tile.level, first + offset) for offset in range(tile.width)]


def dump_tile(tile: Tile, node: ReadNode) -> bytes:
    """The bytes of a tile of hashes: 32 each, side by side. Asks for `nodes_for_tile(tile)`."""
    return b"".join(node(level, index) for level, index in nodes_for_tile(tile))


def parse_tile(tile: Tile, data: bytes) -> list[bytes]:
    """The hashes of a tile. Raises `ValueError` unless there are as many bytes as its width asks for."""
    if len(data) != HASH_BYTES * tile.width:
        raise ValueError(f"a tile {tile.width} wide has {HASH_BYTES * tile.width} bytes, not {len(data)}")
    return [data[at : at + HASH_BYTES] for at in range(0, len(data), HASH_BYTES)]


def dump_bundle(lines: Iterable[bytes]) -> bytes:
    """Lines, each behind its length in 16 bits, big-endian. Raises `ValueError` for one over 65,535 bytes."""
    parts = []
    for line in lines:
        if len(line) > MAX_ENTRY_BYTES:
            raise ValueError(f"a line has at most {MAX_ENTRY_BYTES} bytes, not {len(line)}")
        parts += [len(line).to_bytes(2, "big"), line]
    return b"".join(parts)


def parse_bundle(data: bytes) -> list[bytes]:
    """The inverse of `dump_bundle`. Raises `ValueError` when the bytes end within a line or its length."""
    lines = []
    at = 0
    while at < len(data):
        start = at + 2
        at = start + int.from_bytes(data[at:start], "big")
        if at > len(data):
            raise ValueError("the bundle ends within a line")
        lines.append(data[start:at])
    return lines
