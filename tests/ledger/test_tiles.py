"""Tiles: addresses, which of them exist, and their bytes. Against the numbers of the standard: tests/standards."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from custody.ledger.merkle import leaf_hash, root
from custody.ledger.tiles import (
    Tile,
    dump_bundle,
    dump_tile,
    dump_tile_path,
    has_tile,
    list_bundles,
    list_tiles,
    parse_bundle,
    parse_tile,
    parse_tile_path,
)
from custody.ledger.tree import NodeTree, Tree

LEAVES = [leaf_hash(b"line %d" % number) for number in range(600)]
TREE = NodeTree(LEAVES)
tiles = st.builds(Tile, level=st.none() | st.integers(0, 63), index=st.integers(0, 10**12), width=st.integers(1, 256))


@given(tiles)
def test_path_of_any_tile_leads_back_to_it(tile: Tile) -> None:
    assert parse_tile_path(dump_tile_path(tile)) == tile


@pytest.mark.parametrize(
    "path",
    [
        "",
        "tile/0",
        "tile/0/",
        "tile/0/1",
        "tile/0/0001",
        "tile/0/x000/001",
        "tile/0/001/x002",
        "tile/0/x001",
        "tile/0/1000",
        "tile/00/000",
        "tile/64/000",
        "tile/-1/000",
        "tile/0/-01",
        "tile/0/000.p",
        "tile/0/000.p/",
        "tile/0/000.p/0",
        "tile/0/000.p/256",
        "tile/0/000.p/257",
        "tile/0/000.p/01",
        "tile/0/000/",
        "tile/0/000\n",
        "/tile/0/000",
        "tile/0/\u0660\u0660\u0660",
        "tile/Entries/000",
        "tile/entries/x000/000",
        "tile/0/" + "x001/" * 50 + "000",
    ],
)
def test_other_path_is_refused(path: str) -> None:
    with pytest.raises(ValueError, match="not the path of a tile"):
        parse_tile_path(path)


def test_tiles_of_a_log_hold_all_its_hashes_and_give_its_root() -> None:
    for size in (1, 255, 256, 257, 512, 600):
        level_0 = [tile for tile in list_tiles(size) if tile.level == 0]
        hashes = [one for tile in level_0 for one in parse_tile(tile, dump_tile(tile, TREE.node))]
        assert hashes == LEAVES[:size]
        tree = Tree()
        tree.extend(hashes)
        assert tree.root() == root(size, TREE.node)
        assert [(one.index, one.width) for one in list_bundles(size)] == [(one.index, one.width) for one in level_0]


def test_tile_of_level_one_holds_the_roots_of_full_tiles_below() -> None:
    tile = Tile(level=1, index=0, width=2)
    first, second = Tree(), Tree()
    first.extend(LEAVES[:256])
    second.extend(LEAVES[256:512])
    assert dump_tile(tile, TREE.node) == first.root() + second.root()


@pytest.mark.parametrize(
    ("tile", "size", "exists"),
    [
        (Tile(level=0, index=0), 255, False),
        (Tile(level=0, index=0), 256, True),
        (Tile(level=0, index=0, width=255), 255, True),
        (Tile(level=0, index=0, width=255), 254, False),
        (Tile(level=0, index=0, width=17), 600, True),
        (Tile(level=0, index=2, width=88), 600, True),
        (Tile(level=0, index=2, width=89), 600, False),
        (Tile(level=1, index=0, width=2), 600, True),
        (Tile(level=1, index=0, width=3), 600, False),
        (Tile(level=63, index=0, width=1), 600, False),
        (Tile(level=None, index=2, width=88), 600, True),
        (Tile(level=None, index=3, width=1), 600, False),
    ],
    ids=str,
)
def test_tile_exists_once_the_log_can_fill_it(tile: Tile, size: int, exists: bool) -> None:
    assert has_tile(tile, size) is exists


def test_empty_log_has_no_tiles() -> None:
    assert [*list_tiles(0), *list_bundles(0)] == []


@given(st.lists(st.binary(max_size=300), max_size=256))
def test_bundle_gives_its_lines_back(lines: list[bytes]) -> None:
    assert parse_bundle(dump_bundle(lines)) == lines


def test_bundle_is_the_lines_behind_their_lengths() -> None:
    assert dump_bundle([b"ab", b"", b"c" * 258]) == b"\0\2ab\0\0\1\2" + b"c" * 258


@pytest.mark.parametrize("cut", [1, 2, 3])
def test_bundle_that_ends_within_a_line_is_refused(cut: int) -> None:
    data = dump_bundle([b"ab", b"cd"])
    with pytest.raises(ValueError, match="ends within a line"):
        parse_bundle(data[:-cut])


def test_line_of_a_bundle_has_a_limit() -> None:
    assert parse_bundle(dump_bundle([bytes(65_535)])) == [bytes(65_535)]
    with pytest.raises(ValueError, match="at most 65535"):
        dump_bundle([bytes(65_536)])


def test_tile_of_another_length_and_bundle_as_tile_are_refused() -> None:
    with pytest.raises(ValueError, match="has 64 bytes, not 63"):
        parse_tile(Tile(level=0, index=0, width=2), bytes(63))
    with pytest.raises(ValueError, match="no hashes"):
        dump_tile(Tile(level=None, index=0), TREE.node)
