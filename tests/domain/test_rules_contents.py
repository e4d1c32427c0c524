"""What lies in what: contents that differ from the record, containers opened while sealed, a second device."""

from __future__ import annotations

import pytest

from custody.domain.findings import Finding, Severity
from custody.messages import render
from tests.domain.judged import findings, item_now, keys
from tests.world import HOUR, Deed, World, party, reading

RULE = "contents-differ"


class Packed(World):
    """P01's kit on record with its chief: tape and device in the envelope, the envelope in the case; nothing sealed."""

    def __init__(self) -> None:
        super().__init__(places=1)
        self.kit, self.crew = self.kits["P01"], self.chief("P01")
        self.at = self.time("20:00")
        self.enter(self.kit.all, self.crew)
        self.pack(self.kit.envelope, [self.kit.tape, self.kit.memory], self.crew)
        self.pack(self.kit.case, [self.kit.envelope], self.crew)

    def give(self, *items: str) -> Deed:
        return self.handoff(list(items), self.crew, self.drivers("P01"), "return")

    def container_of(self, code: str) -> str | None:
        return item_now(self, code).container


def only(found: list[Finding]) -> Finding:
    (finding,) = found
    return finding


def test_what_is_handed_over_alone_while_packed_is_flagged_and_counts_as_out() -> None:
    world = Packed()
    kit = world.kit
    out = world.give(kit.tape)
    finding = only(findings(world, RULE))
    assert finding.key == f"contents-differ/{out.id}"
    assert (finding.severity, finding.at, finding.entries) == (Severity.CRITICAL, out.at, (out.id,))
    assert (finding.items, finding.origin) == (tuple(sorted((kit.tape, kit.envelope))), "P01")
    assert render(finding)[0] == f"{kit.tape} went on without the container that the record has it in: {kit.envelope}."
    assert (world.container_of(kit.tape), world.container_of(kit.memory)) == (None, kit.envelope)
    assert item_now(world, kit.envelope).contents == (kit.memory,)


@pytest.mark.parametrize("along", ["envelope", "case"])
def test_what_goes_with_a_container_around_it_is_fine_and_stays_inside(along: str) -> None:
    world = Packed()
    kit = world.kit
    world.give(kit.tape, kit.envelope, kit.case) if along == "envelope" else world.give(kit.tape, kit.case)
    assert keys(world, RULE) == []
    assert world.container_of(kit.tape) == kit.envelope


def test_several_things_are_one_finding_an_entry() -> None:
    world = Packed()
    kit = world.kit
    out = world.give(kit.tape, kit.memory)
    finding = only(findings(world, RULE))
    assert finding.key == f"contents-differ/{out.id}"
    assert finding.items == tuple(sorted((kit.tape, kit.memory, kit.envelope)))


def test_once_out_it_is_out() -> None:
    world = Packed()
    world.give(world.kit.tape)
    world.handoff([world.kit.tape], world.drivers("P01"), world.party("receiving_clerk"), "return")
    assert len(keys(world, RULE)) == 1


def test_for_its_other_checks_the_thing_counts_as_out_of_its_container() -> None:
    world = Packed()
    kit = world.kit
    world.seal([kit.case], world.crew)
    out = world.give(kit.tape)
    assert keys(world, RULE, "unsealed-transit") == [f"contents-differ/{out.id}", f"unsealed-transit/{out.id}"]
    twin = Packed()
    twin.seal([twin.kit.case], twin.crew)
    twin.give(twin.kit.tape, twin.kit.case)
    assert keys(twin, RULE, "unsealed-transit") == []


# Unpacking


def test_unpacking_from_a_container_that_it_was_not_packed_in_is_flagged() -> None:
    world = Packed()
    kit = world.kit
    out = world.unpack(kit.case, [kit.tape], world.crew)
    finding = only(findings(world, RULE))
    assert (finding.key, finding.message) == (f"contents-differ/{out.id}", "contents-differ.unpacked")
    assert kit.tape in render(finding)[0]
    assert world.container_of(kit.tape) is None


def test_unpacking_what_was_never_packed_is_flagged() -> None:
    world = Packed()
    out = world.unpack(world.kit.case, [world.kit.pollbook], world.crew)
    assert keys(world, RULE) == [f"contents-differ/{out.id}"]


def test_unpacking_what_is_in_there_is_fine() -> None:
    world = Packed()
    world.unpack(world.kit.envelope, [world.kit.tape], world.crew)
    assert keys(world, RULE) == []


# Packing elsewhere


def test_packing_elsewhere_without_taking_it_out_is_flagged() -> None:
    world = Packed()
    kit = world.kit
    out = world.pack(kit.containers[0], [kit.tape], world.crew)
    assert keys(world, RULE) == [f"contents-differ/{out.id}"]
    assert world.container_of(kit.tape) == kit.containers[0]
    assert item_now(world, kit.envelope).contents == (kit.memory,)


def test_packing_elsewhere_after_taking_it_out_is_fine() -> None:
    world = Packed()
    kit = world.kit
    world.unpack(kit.envelope, [kit.tape], world.crew)
    world.pack(kit.containers[0], [kit.tape], world.crew)
    assert keys(world, RULE) == []


def test_packing_it_where_it_is_changes_nothing() -> None:
    world = Packed()
    world.pack(world.kit.envelope, [world.kit.tape], world.crew)
    assert keys(world, RULE) == []


def test_packing_elsewhere_with_the_container_around_it_is_fine_and_it_stays_inside() -> None:
    world = Packed()
    kit = world.kit
    world.unpack(kit.case, [kit.envelope], world.crew)
    world.pack(kit.containers[0], [kit.envelope, kit.tape], world.crew)
    assert keys(world, RULE) == []
    assert (world.container_of(kit.tape), world.container_of(kit.envelope)) == (kit.envelope, kit.containers[0])
    assert item_now(world, kit.containers[0]).contents == (kit.envelope,)


def test_a_container_is_never_inside_itself() -> None:
    world = Packed()
    kit = world.kit
    out = world.pack(kit.envelope, [kit.case], world.crew)
    assert keys(world, RULE) == [f"contents-differ/{out.id}"]
    assert (world.container_of(kit.case), world.container_of(kit.envelope)) == (kit.envelope, None)


# Shown empty


def test_a_container_shown_empty_while_the_record_has_something_in_it_is_flagged() -> None:
    world = Packed()
    kit = world.kit
    shown = world.step("shown_empty", world.crew, kit.case)
    finding = only(findings(world, RULE))
    assert finding.key == f"contents-differ/{shown.id}"
    assert finding.items == tuple(sorted((kit.case, kit.envelope)))
    assert render(finding)[0] == (
        f"The record still has {kit.envelope} in {kit.case}, which was shown empty or disposed of."
    )
    assert item_now(world, kit.case).contents == ()
    assert world.container_of(kit.tape) == kit.envelope


def test_a_container_shown_empty_after_all_came_out_is_fine() -> None:
    world = Packed()
    world.unpack(world.kit.case, [world.kit.envelope], world.crew)
    world.step("shown_empty", world.crew, world.kit.case)
    assert keys(world, RULE) == []


def test_other_steps_say_nothing_of_contents() -> None:
    world = Packed()
    world.step("seals_verified", world.crew, world.kit.case)
    assert keys(world, RULE) == []


def test_a_late_unpacking_withdraws_the_finding() -> None:
    world = Packed()
    kit = world.kit
    shown = world.step("shown_empty", world.crew, kit.case)
    assert keys(world, RULE) == [f"contents-differ/{shown.id}"]
    world.unpack(kit.case, [kit.envelope], world.crew, at=shown.at - 30, received=shown.at + HOUR)
    assert keys(world, RULE) == []


# Disposal


def dispose(world: Packed, *items: str) -> Deed:
    return world.dispose(list(items), world.crew)


def test_a_container_disposed_of_with_contents_that_are_not_named_is_flagged() -> None:
    world = Packed()
    kit = world.kit
    gone = dispose(world, kit.case)
    finding = only(findings(world, RULE))
    assert (finding.key, finding.message) == (f"contents-differ/{gone.id}", "contents-differ.left")
    assert finding.items == tuple(sorted((kit.case, kit.envelope)))
    assert item_now(world, kit.envelope).destroyed is None


def test_what_lies_deeper_must_be_named_too() -> None:
    world = Packed()
    kit = world.kit
    gone = dispose(world, kit.case, kit.envelope, kit.tape)
    finding = only(findings(world, RULE))
    assert finding.key == f"contents-differ/{gone.id}"
    assert finding.items == tuple(sorted((kit.envelope, kit.memory)))


def test_a_container_disposed_of_with_all_that_is_in_it_is_fine() -> None:
    world = Packed()
    kit = world.kit
    dispose(world, kit.case, kit.envelope, kit.tape, kit.memory)
    assert keys(world, RULE) == []


def test_what_is_disposed_of_alone_while_packed_is_flagged() -> None:
    world = Packed()
    gone = dispose(world, world.kit.tape)
    finding = only(findings(world, RULE))
    assert (finding.key, finding.message) == (f"contents-differ/{gone.id}", "contents-differ.apart")


# opened-while-sealed


@pytest.mark.parametrize("kind", ["pack", "unpack"])
@pytest.mark.parametrize("sealed", ["envelope", "case"])
def test_a_container_opened_while_it_or_one_around_it_is_sealed_is_flagged(kind: str, sealed: str) -> None:
    world = Packed()
    kit = world.kit
    closed = getattr(kit, sealed)
    world.seal([closed], world.crew)
    if kind == "pack":
        deed = world.pack(kit.envelope, [kit.keys], world.crew)
    else:
        deed = world.unpack(kit.envelope, [kit.tape], world.crew)
    finding = only(findings(world, "opened-while-sealed"))
    assert finding.key == f"opened-while-sealed/{deed.id}"
    assert (finding.severity, finding.at, finding.entries) == (Severity.CRITICAL, deed.at, (deed.id,))
    assert finding.items == tuple(sorted({kit.envelope, closed}))
    assert finding.seals == tuple(number for (item, _), number in world.in_place.items() if item == closed)
    assert finding.seals[0] in render(finding)[0]


def test_a_container_opened_after_its_seal_came_off_is_fine() -> None:
    world = Packed()
    kit = world.kit
    world.seal([kit.case], world.crew)
    world.unseal([kit.case], world.crew, "count")
    world.unpack(kit.case, [kit.envelope], world.crew)
    assert keys(world, "opened-while-sealed") == []


def test_what_lies_in_an_open_container_may_be_sealed_itself() -> None:
    world = Packed()
    kit = world.kit
    world.seal([kit.envelope], world.crew)
    world.unpack(kit.case, [kit.envelope], world.crew)
    assert keys(world, "opened-while-sealed") == []


def test_a_container_with_one_point_open_is_not_sealed() -> None:
    world = Packed()
    box = world.kit.containers[0]
    world.seal([(box, "front")], world.crew)
    world.pack(box, [world.kit.keys], world.crew)
    assert keys(world, "opened-while-sealed") == []
    world.seal([(box, "back")], world.crew)
    second = world.unpack(box, [world.kit.keys], world.crew)
    assert keys(world, "opened-while-sealed") == [f"opened-while-sealed/{second.id}"]


def test_a_container_whose_seal_was_found_missing_is_not_sealed() -> None:
    world = Packed()
    kit = world.kit
    world.seal([kit.case], world.crew)
    world.inspect([reading(kit.case, "latch", state="missing")], world.crew)
    world.unpack(kit.case, [kit.envelope], world.crew)
    assert keys(world, "opened-while-sealed") == []


# second-device


def in_scanner(world: Packed, *devices: str) -> Deed:
    return world.pack(world.kit.scanner, list(devices), world.crew)


def free_device(world: Packed) -> None:
    world.unpack(world.kit.envelope, [world.kit.memory], world.crew)
    world.enter([world.spare.memory, world.spare.tape], world.crew)


def test_a_second_device_in_a_scanner_is_flagged() -> None:
    world = Packed()
    free_device(world)
    in_scanner(world, world.kit.memory)
    second = in_scanner(world, world.spare.memory)
    finding = only(findings(world, "second-device"))
    assert finding.key == f"second-device/{second.id}"
    assert (finding.severity, finding.at) == (Severity.WARNING, second.at)
    assert finding.items == tuple(sorted((world.kit.scanner, world.kit.memory, world.spare.memory)))
    assert world.kit.scanner in render(finding)[0]


def test_a_device_put_where_it_is_adds_nothing_to_an_older_finding() -> None:
    world = Packed()
    free_device(world)
    in_scanner(world, world.kit.memory)
    second = in_scanner(world, world.spare.memory)
    in_scanner(world, world.kit.memory)
    assert keys(world, "second-device") == [f"second-device/{second.id}"]


def test_two_devices_in_one_entry_are_flagged() -> None:
    world = Packed()
    free_device(world)
    both = in_scanner(world, world.kit.memory, world.spare.memory)
    assert keys(world, "second-device") == [f"second-device/{both.id}"]


def test_a_device_after_the_first_came_out_is_fine() -> None:
    world = Packed()
    free_device(world)
    in_scanner(world, world.kit.memory)
    world.unpack(world.kit.scanner, [world.kit.memory], world.crew)
    in_scanner(world, world.spare.memory)
    assert keys(world, "second-device") == []


def test_the_same_device_again_and_other_things_are_fine() -> None:
    world = Packed()
    free_device(world)
    in_scanner(world, world.kit.memory)
    in_scanner(world, world.kit.memory)
    in_scanner(world, world.spare.tape)
    assert keys(world, "second-device") == []


def test_two_devices_in_one_envelope_are_fine() -> None:
    world = Packed()
    free_device(world)
    world.pack(world.kit.envelope, [world.kit.memory, world.spare.memory], world.crew)
    assert keys(world, "second-device") == []


def test_a_device_that_went_away_alone_is_no_longer_in_the_scanner() -> None:
    world = Packed()
    free_device(world)
    in_scanner(world, world.kit.memory)
    world.handoff([world.kit.memory], world.crew, party("technician", "TECH-1", "TECH-2"), "return")
    in_scanner(world, world.spare.memory)
    assert keys(world, "second-device") == []
    assert len(keys(world, RULE)) == 1
