"""C2SP tlog-tiles: the numbers of its sections "Merkle Tree" and "Partial Tiles"."""

from __future__ import annotations

import json
from collections import defaultdict
from pathlib import Path
from typing import Any

import pytest

from custody.ledger.tiles import Tile, dump_tile, dump_tile_path, list_tiles, parse_tile_path


@pytest.fixture
def numbers(reference: Path) -> Any:
    return json.loads((reference / "tlog_tiles.json").read_text("utf-8"))


def test_logs_of_known_sizes_have_the_known_tiles(numbers: Any) -> None:
    for one in numbers["partial_tiles"]:
        widths: dict[int | None, list[int]] = defaultdict(list)
        for tile in list_tiles(one["size"]):
            assert tile.index == len(widths[tile.level])
            widths[tile.level].append(tile.width)
        levels = [
            {"level": level, "full": tiles.count(256), "partial": sum(width for width in tiles if width < 256)}
            for level, tiles in widths.items()
        ]
        assert levels == one["levels"]
    assert [one["size"] for one in numbers["partial_tiles"]] == [70_000, 256]


def test_index_is_written_in_groups_of_three_digits(numbers: Any) -> None:
    assert numbers["index_paths"][0] == [1_234_067, "x001/x234/067"]
    for index, path in numbers["index_paths"]:
        for tile, expected in (
            (Tile(level=0, index=index), f"tile/0/{path}"),
            (Tile(level=5, index=index, width=112), f"tile/5/{path}.p/112"),
            (Tile(level=None, index=index), f"tile/entries/{path}"),
        ):
            assert dump_tile_path(tile) == expected
            assert parse_tile_path(expected) == tile


def test_full_tile_is_8192_bytes(numbers: Any) -> None:
    assert (
        len(dump_tile(Tile(level=0, index=0), lambda _level, _index: bytes(32))) == numbers["full_tile_bytes"] == 8192
    )
