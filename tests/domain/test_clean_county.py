"""A county that does everything right: thirty places, from the shelf through election night to the vault, raise nothing."""

from __future__ import annotations

from tests.world import World, findings_of


def test_a_clean_county_of_thirty_places_raises_nothing_at_all() -> None:
    world = World(places=30)
    for phase in world.PHASES:
        for place in world.places:
            getattr(world, phase)(place)
    assert len(world.log) > 1_500
    # Limits that lie ahead count as well: nothing is left that could become a finding later.
    assert [finding.key for finding in findings_of(world)] == []
