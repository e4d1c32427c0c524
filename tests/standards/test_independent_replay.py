"""Holders and seals of a world of ten thousand entries, worked out again by a data-frame library from an export of the log.

The judge is `polars` (PyPI, MIT): it knows nothing of this project. It is given flat rows (what was handed to whom, what was
sealed and unsealed when) and finds the last of each by sorting and grouping, with no replay of ours in between.
"""

from __future__ import annotations

from typing import Any

import polars as pl
import pytest

from custody.domain.book import Book, derive
from custody.domain.states import ItemState
from custody.domain.views import item_key
from tests.world import World
from tests.world_acts import Deed

ENTRIES = 10_000


@pytest.fixture(scope="module")
def world() -> World:
    """Whole days at so many places that there are ten thousand entries; every custody act of a county is among them."""
    world = World(places=180)
    for phase in world.PHASES:
        for place in world.places:
            getattr(world, phase)(place)
    assert len(world.log) >= ENTRIES
    return world


@pytest.fixture(scope="module")
def book(world: World) -> Book:
    return derive(world.recorded(), world.register)


def export(deeds: list[Deed]) -> pl.DataFrame:
    """One row for each item that an entry names in `items` or `container`, and one for each seal reading."""
    rows: list[dict[str, Any]] = []
    for deed in deeds:
        payload = deed.payload
        common = {"kind": payload["kind"], "at": payload["at"], "id": payload["id"]}
        receiver = payload.get("receive") or payload["by"]
        party = {"role": receiver["role"], "people": ",".join(receiver["people"]), "place": receiver.get("site", "")}
        container = payload.get("container", "")
        for item in payload.get("items", []):
            rows.append({**common, **party, "item": item, "container": container, "point": "", "number": ""})
        for seal in payload.get("seals", []):
            rows.append(
                {
                    **common,
                    **party,
                    "item": seal["item"],
                    "container": "",
                    "point": seal["point"],
                    "number": seal["number"],
                }
            )
    return pl.DataFrame(rows).sort("at", "id")


def test_holders_are_those_that_polars_finds(world: World, book: Book) -> None:
    rows = export(world.log)
    packs = rows.filter(pl.col("kind").is_in(["pack", "unpack"]) & (pl.col("point") == ""))
    named = rows.filter((pl.col("kind") == "handoff") & (pl.col("point") == ""))
    # What lies in a container goes with it: for every handoff the items whose last packing before it was into what it names.
    inside = packs.select("item", pl.col("at").alias("packed"), "kind", "container")
    carried = [named]
    layer = named
    for _ in range(3):
        joined = layer.rename({"item": "outer"}).join(inside, left_on="outer", right_on="container", suffix="_pack")
        joined = joined.filter(pl.col("packed") <= pl.col("at")).sort("packed")
        last = joined.group_by(["id", "item"], maintain_order=True).last()
        still = last.filter(pl.col("kind_pack") == "pack").select(
            "kind", "at", "id", "role", "people", "place", "item", pl.lit("").alias("container"), pl.lit("").alias("point"),
            pl.lit("").alias("number"),
        )  # fmt: skip
        carried.append(still.select(named.columns))
        layer = still
    handoffs = pl.concat(carried).sort("at", "id")
    expected = {
        row["item"]: (row["role"], row["people"], row["place"])
        for row in handoffs.group_by("item", maintain_order=True).last().iter_rows(named=True)
    }
    assert len(expected) == 10 * len(world.places)
    assert {item: _holder(book, item) for item in expected} == expected


def test_seals_in_place_are_those_that_polars_finds(world: World, book: Book) -> None:
    rows = export(world.log).filter(pl.col("kind").is_in(["seal", "unseal"]) & (pl.col("point") != ""))
    last = rows.group_by(["item", "point"], maintain_order=True).last()
    expected = {
        (row["item"], row["point"]): row["number"]
        for row in last.filter(pl.col("kind") == "seal").iter_rows(named=True)
    }
    found = {
        (item, point): seal.number for item in world.register.items for point, seal in _state(book, item).seals.items()
    }
    assert len(expected) > len(world.places)
    assert found == expected


def test_containers_are_those_that_polars_finds(world: World, book: Book) -> None:
    rows = export(world.log).filter(pl.col("kind").is_in(["pack", "unpack"]))
    last = rows.group_by("item", maintain_order=True).last()
    expected = {row["item"]: row["container"] for row in last.filter(pl.col("kind") == "pack").iter_rows(named=True)}
    found = {
        item: container for item in world.register.items if (container := _state(book, item).container) is not None
    }
    assert expected
    assert found == expected


def _state(book: Book, item: str) -> ItemState:
    state = book.tracks.last(item_key(item))
    assert isinstance(state, ItemState)
    return state


def _holder(book: Book, item: str) -> tuple[str, str, str] | None:
    holder = _state(book, item).holder
    return None if holder is None else (holder.role.value, ",".join(holder.people), holder.site or "")
