"""Rules of signatures. Expected values follow the table "Signatures and people" of the rules, row by row."""

from __future__ import annotations

import base64
from typing import Any

import pytest

from custody.domain.findings import Severity
from tests.domain.rule_checks import found, keys, of_entry, one, what
from tests.world import DAY, HOUR, MINUTE, Deed, World, party, signer_of
from tests.world_acts import entry_id

CLERKS = party("warehouse_clerk", "CLERK-1", "CLERK-2", site="WH")
DRIVERS = party("courier", "DRIVER-1-P01", "DRIVER-2-P01")
BOTH = ["CLERK-1", "CLERK-2", "DRIVER-1-P01", "DRIVER-2-P01"]
PHOTO = {"photos": ["ab" * 32]}


@pytest.fixture
def world() -> World:
    """The day before, with the things of P01 in the warehouse."""
    world = World(places=2)
    world.prepare("P01")
    world.at = world.time("09:00", day=-1)
    return world


def issue(world: World, *, signed_by: list[str] | None = None, **more: Any) -> Deed:
    """The pollbook, from two clerks to two drivers: what everybody may handle alone."""
    parties = {"release": CLERKS, "receive": DRIVERS, "purpose": "issue", "site": "WH"} | more
    return world.handoff([world.kits["P01"].pollbook], signed_by=BOTH if signed_by is None else signed_by, **parties)


# end-unsigned


def test_an_end_that_nobody_named_there_signed_is_flagged(world: World) -> None:
    deed = issue(world, signed_by=["CLERK-1", "CLERK-2"])
    assert found(world, "end-unsigned") == [
        of_entry(
            "end-unsigned",
            deed,
            "receive",
            severity=Severity.CRITICAL,
            variant="receive",
            people=("DRIVER-1-P01", "DRIVER-2-P01"),
            params={"people": ["DRIVER-1-P01", "DRIVER-2-P01"]},
        )
    ]
    assert what(one(world, "end-unsigned")) == (
        "Nobody at the receiving end has signed yet: DRIVER-1-P01, DRIVER-2-P01."
    )


def test_one_signature_is_enough_to_sign_an_end(world: World) -> None:
    issue(world, signed_by=["CLERK-1", "DRIVER-2-P01"])
    assert keys(world, "end-unsigned") == []


def test_each_unsigned_end_is_a_finding_of_its_own(world: World) -> None:
    deed = issue(world, signed_by=["CLERK-3"])
    assert keys(world, "end-unsigned") == [f"end-unsigned/{deed.id}:receive", f"end-unsigned/{deed.id}:release"]
    assert [what(each) for each in found(world, "end-unsigned")][1] == (
        "Nobody at the releasing end has signed yet: CLERK-1, CLERK-2."
    )


def test_the_signature_of_somebody_named_nowhere_signs_no_end(world: World) -> None:
    deed = issue(world, signed_by=["CLERK-3", "DRIVER-1-P01"])
    assert keys(world, "end-unsigned") == [f"end-unsigned/{deed.id}:release"]


def test_the_signature_of_an_observer_signs_no_end(world: World) -> None:
    deed = issue(world, signed_by=["WATCH-1", "DRIVER-1-P01"], observers=["WATCH-1"])
    assert keys(world, "end-unsigned") == [f"end-unsigned/{deed.id}:release"]


@pytest.mark.parametrize(("signed_by", "unsigned"), [(["CLERK-1"], False), (["CLERK-3"], True)])
def test_any_other_entry_is_signed_by_whoever_did_it(world: World, signed_by: list[str], unsigned: bool) -> None:
    deed = world.inspect([world.kits["P01"].stock], CLERKS, signed_by=signed_by)
    assert keys(world, "end-unsigned") == ([f"end-unsigned/{deed.id}:by"] if unsigned else [])
    if unsigned:
        assert what(one(world, "end-unsigned")) == "Nobody who did this has signed yet: CLERK-1, CLERK-2."


@pytest.mark.parametrize(
    ("more", "severity"),
    [
        ({"paper": "F-17", "transcriber": "CLERK-3"} | PHOTO, Severity.WARNING),
        ({"paper": "F-17", "transcriber": "CLERK-3"}, Severity.CRITICAL),
        (PHOTO, Severity.CRITICAL),
        ({"paper": "F-17", "transcriber": "CLERK-3", "photos": []}, Severity.CRITICAL),
    ],
    ids=["paper and photo", "paper alone", "photo alone", "paper and no photo"],
)
def test_a_paper_form_with_a_photo_makes_it_a_warning(world: World, more: dict[str, Any], severity: Severity) -> None:
    issue(world, signed_by=["CLERK-1", "CLERK-3"], **more)
    assert [(each.scope[1], each.severity) for each in found(world, "end-unsigned")] == [("receive", severity)]


@pytest.mark.parametrize("more", [{}, PHOTO], ids=["without a photo", "with a photo"])
def test_a_transcriber_who_has_not_signed_is_a_warning(world: World, more: dict[str, Any]) -> None:
    deed = issue(world, paper="F-17", transcriber="CLERK-3", **more)
    assert found(world, "end-unsigned") == [
        of_entry(
            "end-unsigned",
            deed,
            "transcriber",
            severity=Severity.WARNING,
            variant="transcriber",
            people=("CLERK-3",),
            params={"people": ["CLERK-3"]},
        )
    ]
    assert what(one(world, "end-unsigned")) == ("The person who typed in the paper form has not signed yet: CLERK-3.")
    world.sign_later(deed, "CLERK-3")
    assert keys(world, "end-unsigned") == []


def test_a_transcriber_may_be_one_of_the_party_and_signs_once(world: World) -> None:
    issue(world, paper="F-17", transcriber="CLERK-1")
    assert keys(world, "end-unsigned") == []


def test_an_end_that_names_nobody_is_unsigned(world: World) -> None:
    deed = issue(world, release=party("warehouse_clerk", site="WH"))
    assert keys(world, "end-unsigned") == [f"end-unsigned/{deed.id}:release"]
    assert what(one(world, "end-unsigned")) == "One end of this entry names nobody, so that nobody could sign it."


def test_a_signature_that_comes_later_signs_the_end(world: World) -> None:
    deed = issue(world, signed_by=["CLERK-1", "CLERK-2"])
    assert keys(world, "end-unsigned") == [f"end-unsigned/{deed.id}:receive"]
    world.sign_later(deed, "DRIVER-1-P01")
    assert keys(world, "end-unsigned") == []


# signer-missing


def test_somebody_named_at_a_signed_end_who_has_not_signed_is_missing(world: World) -> None:
    deed = issue(world, signed_by=["CLERK-1", "CLERK-2", "DRIVER-2-P01"])
    assert found(world, "signer-missing") == [
        of_entry(
            "signer-missing",
            deed,
            "receive",
            severity=Severity.WARNING,
            variant="receive",
            people=("DRIVER-1-P01",),
            params={"people": ["DRIVER-1-P01"]},
        )
    ]
    assert what(one(world, "signer-missing")) == (
        "At the receiving end these are named but have not signed yet: DRIVER-1-P01."
    )


def test_nobody_is_missing_when_all_signed(world: World) -> None:
    issue(world)
    assert keys(world, "signer-missing", "end-unsigned") == []


def test_an_end_without_any_signature_is_unsigned_and_not_short_of_one(world: World) -> None:
    issue(world, signed_by=["CLERK-1", "CLERK-2"])
    assert keys(world, "signer-missing") == []


def test_each_end_tells_who_is_missing_there(world: World) -> None:
    issue(world, signed_by=["CLERK-2", "DRIVER-2-P01"])
    assert [(each.scope[1], each.people) for each in found(world, "signer-missing")] == [
        ("receive", ("DRIVER-1-P01",)),
        ("release", ("CLERK-1",)),
    ]
    assert what(found(world, "signer-missing")[1]) == (
        "At the releasing end these are named but have not signed yet: CLERK-1."
    )


def test_any_other_entry_misses_a_signer_too(world: World) -> None:
    deed = world.inspect([world.kits["P01"].stock], CLERKS, signed_by=["CLERK-1"])
    assert keys(world, "signer-missing") == [f"signer-missing/{deed.id}:by"]
    assert what(one(world, "signer-missing")) == "These are named but have not signed yet: CLERK-2."


# same-person-both-ends


def crew(role: str, *people: str) -> dict[str, Any]:
    return party(role, *(f"{person}-P01" for person in people), site="P01")


def pass_on(world: World, release: dict[str, Any], receive: dict[str, Any], purpose: str, **more: Any) -> Deed:
    return world.handoff([world.kits["P01"].pollbook], release, receive, purpose, **more)


def test_one_person_at_both_ends_is_flagged(world: World) -> None:
    giver, taker = crew("poll_chief", "CHIEF", "WORKER-1"), crew("poll_worker", "WORKER-1", "WORKER-2")
    deed = pass_on(world, giver, taker, "transfer")
    assert found(world, "same-person-both-ends") == [
        of_entry(
            "same-person-both-ends",
            deed,
            severity=Severity.CRITICAL,
            site="P01",
            origin="P01",
            people=("WORKER-1-P01",),
            params={"people": ["WORKER-1-P01"]},
        )
    ]
    assert what(one(world, "same-person-both-ends")) == (
        "The same person is named as giving and as receiving: WORKER-1-P01."
    )


def test_different_people_at_the_ends_are_as_it_should_be(world: World) -> None:
    pass_on(world, crew("poll_chief", "CHIEF", "WORKER-1"), crew("poll_worker", "WORKER-2"), "transfer")
    assert keys(world, "same-person-both-ends") == []


def test_a_relief_in_which_one_of_two_stays_is_left_out(world: World) -> None:
    pass_on(world, crew("poll_chief", "CHIEF", "WORKER-1"), crew("poll_worker", "WORKER-1", "WORKER-2"), "relieve")
    assert keys(world, "same-person-both-ends") == []


@pytest.mark.parametrize("missing", ["CHIEF", "WORKER-2"])
def test_a_relief_counts_only_with_a_signature_of_each_ends_own(world: World, missing: str) -> None:
    signed_by = [f"{person}-P01" for person in ("CHIEF", "WORKER-1", "WORKER-2") if person != missing]
    giver, taker = crew("poll_chief", "CHIEF", "WORKER-1"), crew("poll_worker", "WORKER-1", "WORKER-2")
    deed = pass_on(world, giver, taker, "relieve", signed_by=signed_by)
    assert keys(world, "same-person-both-ends") == [f"same-person-both-ends/{deed.id}"]


def test_a_relief_by_oneself_is_flagged(world: World) -> None:
    deed = pass_on(world, crew("poll_chief", "CHIEF", "WORKER-1"), crew("poll_worker", "WORKER-1"), "relieve")
    assert keys(world, "same-person-both-ends") == [f"same-person-both-ends/{deed.id}"]


# key-not-valid

NINE = "2026-11-02T15:00:00Z"
JUST_AFTER = "2026-11-02T15:00:01Z"


def limit_key(world: World, person: str, **limits: str) -> str:
    """Give a person's key its times, and name it."""
    signer = signer_of(person)
    world.change("keys", person=person, public_key=base64.b64encode(signer.public_key).decode(), **limits)
    return signer.keyid


@pytest.mark.parametrize(
    ("limits", "variant", "words"),
    [
        ({"valid_from": JUST_AFTER}, "early", "Signed by CLERK-1 with a key that was not valid yet."),
        ({"valid_from": NINE}, None, ""),
        ({"valid_until": NINE}, "expired", "Signed by CLERK-1 with a key that was no longer valid."),
        ({"valid_until": JUST_AFTER}, None, ""),
        ({"revoked_at": NINE}, "revoked", "Signed by CLERK-1 with a key that had been revoked."),
        ({"revoked_at": JUST_AFTER}, None, ""),
    ],
)
def test_a_signature_outside_the_time_of_its_key_is_flagged(
    world: World, limits: dict[str, str], variant: str | None, words: str
) -> None:
    keyid = limit_key(world, "CLERK-1", **limits)
    deed = issue(world)
    assert deed.payload["at"] == NINE
    expected = of_entry(
        "key-not-valid",
        deed,
        keyid,
        severity=Severity.CRITICAL,
        variant=variant or "",
        people=("CLERK-1",),
        params={"people": ["CLERK-1"], "hours": 24},
    )
    flagged = [each for each in found(world, "key-not-valid") if each.entries == (deed.id,)]
    assert flagged == ([expected] if variant else [])
    assert [what(each) for each in flagged] == ([words] if variant else [])


@pytest.mark.parametrize(("hours", "seconds", "flagged"), [(24, 0, False), (24, 1, True), (2, -22 * HOUR + 1, True)])
def test_a_signature_received_too_long_after_the_revocation_is_flagged(
    world: World, hours: int, seconds: int, flagged: bool
) -> None:
    revoked = world.at + MINUTE
    limit_key(world, "CLERK-1", revoked_at="2026-11-02T15:01:00Z")
    world.set_policy({"late_entry": {"hours": hours}})
    deed = issue(world, received=revoked + DAY + seconds)
    assert [each.message for each in found(world, "key-not-valid") if each.entries == (deed.id,)] == (
        ["key-not-valid.late"] if flagged else []
    )
    if flagged:
        assert what(found(world, "key-not-valid")[-1]) == (
            "Signed by CLERK-1 with a key that was revoked since; "
            f"the signature came more than {hours} hours after that."
        )


def test_a_signature_counts_from_the_first_line_that_holds_it(world: World) -> None:
    late = world.at + DAY + MINUTE
    keyid = limit_key(world, "CLERK-1", revoked_at=JUST_AFTER)
    deed = issue(world, signed_by=["CLERK-2", "DRIVER-1-P01", "DRIVER-2-P01"])
    world.sign_later(deed, "CLERK-1", received=late)
    assert keys(world, "key-not-valid")[-1] == f"key-not-valid/{deed.id}:{keyid}"
    again = issue(world, at=world.at - 2 * MINUTE, received=world.at)
    world.sign_later(again, "CLERK-1", received=late)
    assert [key for key in keys(world, "key-not-valid") if again.id in key] == []


def test_the_time_as_signed_counts_whatever_an_amendment_makes_of_it(world: World) -> None:
    keyid = limit_key(world, "CLERK-1", valid_from=NINE)
    deed = issue(world)
    world.amend(deed, CLERKS, {"at": "2026-11-02T14:00:00Z"})
    assert [key for key in keys(world, "key-not-valid") if deed.id in key] == []
    early = issue(world, at=world.time("08:00", day=-1))
    world.amend(early, CLERKS, {"at": "2026-11-02T15:10:00Z"})
    assert [key for key in keys(world, "key-not-valid") if early.id in key] == [f"key-not-valid/{early.id}:{keyid}"]


def test_each_key_at_fault_is_a_finding_of_its_own_even_of_somebody_not_named(world: World) -> None:
    keyids = sorted(limit_key(world, person, valid_from=JUST_AFTER) for person in ("CLERK-1", "CLERK-3"))
    deed = issue(world, signed_by=[*BOTH, "CLERK-3"])
    assert [key for key in keys(world, "key-not-valid") if deed.id in key] == [
        f"key-not-valid/{deed.id}:{keyid}" for keyid in keyids
    ]


def test_a_signature_that_is_not_valid_counts_for_no_other_rule(world: World) -> None:
    limit_key(world, "CLERK-1", valid_from=JUST_AFTER)
    deed = issue(world, signed_by=["CLERK-1", "DRIVER-1-P01", "DRIVER-2-P01"])
    assert [key for key in keys(world, "end-unsigned") if deed.id in key] == [f"end-unsigned/{deed.id}:release"]


# amended-by-others


def test_an_amendment_by_somebody_who_signed_the_entry_is_as_it_should_be(world: World) -> None:
    world.amend(issue(world), party("official", "CLERK-2", "OFFICE-1"), {"note": "read again"})
    assert keys(world, "amended-by-others") == []


def test_an_amendment_by_nobody_who_signed_the_entry_is_flagged(world: World) -> None:
    deed = issue(world)
    amend = world.amend(deed, party("official", "OFFICE-1", "OFFICE-2"), {"note": "read again"}, site="WH")
    assert found(world, "amended-by-others") == [
        of_entry(
            "amended-by-others",
            amend,
            severity=Severity.WARNING,
            variant="others",
            people=("OFFICE-1", "OFFICE-2"),
            params={"people": ["OFFICE-1", "OFFICE-2"], "asked": 0},
        )
    ]
    assert what(one(world, "amended-by-others")) == (
        "The amendment is signed by OFFICE-1, OFFICE-2, none of whom signed the entry."
    )
    world.sign_later(deed, "OFFICE-1")  # of somebody the entry does not name, which counts for nothing
    assert keys(world, "amended-by-others") == [f"amended-by-others/{amend.id}"]


def test_being_named_in_both_is_not_enough_where_one_is_not_signed(world: World) -> None:
    deed = issue(world, signed_by=["CLERK-2", "DRIVER-1-P01"])
    amend = world.amend(deed, CLERKS, {"note": "read again"}, signed_by=["CLERK-1"])
    assert keys(world, "amended-by-others") == [f"amended-by-others/{amend.id}"]
    world.sign_later(deed, "CLERK-1")
    assert keys(world, "amended-by-others") == []


def test_an_amendment_that_nobody_signed_who_is_named_in_it_is_flagged(world: World) -> None:
    amend = world.amend(issue(world), CLERKS, {"note": "read again"}, signed_by=["DRIVER-1-P01"])
    assert keys(world, "amended-by-others") == [f"amended-by-others/{amend.id}"]
    assert what(one(world, "amended-by-others")) == "Nobody who is named in the amendment has signed it."


def test_who_typed_in_a_form_may_amend_it(world: World) -> None:
    deed = issue(world, signed_by=["CLERK-3"], paper="F-17", transcriber="CLERK-3", **PHOTO)
    world.amend(deed, party("warehouse_clerk", "CLERK-3", site="WH"), {"paper": "F-71"})
    assert keys(world, "amended-by-others") == []


BOTH_ENDS: dict[str, Any] = {
    "items": lambda world: [world.kits["P01"].keys],
    "loose_seals": lambda world: ["S0001000"],
    "at": lambda world: "2026-11-02T14:30:00Z",
}


@pytest.mark.parametrize("member", BOTH_ENDS)
def test_what_both_ends_vouched_for_takes_somebody_of_each_to_amend(world: World, member: str) -> None:
    deed, replaces = issue(world), {member: BOTH_ENDS[member](world)}
    amend = world.amend(deed, CLERKS, replaces)
    assert keys(world, "amended-by-others") == [f"amended-by-others/{amend.id}"]
    assert what(one(world, "amended-by-others")) == (
        "The amendment changes what both ends vouched for; it is signed by CLERK-1, CLERK-2, not by somebody of each end."
    )


@pytest.mark.parametrize("member", BOTH_ENDS)
def test_somebody_of_each_end_may_amend_what_both_vouched_for(world: World, member: str) -> None:
    deed, replaces = issue(world), {member: BOTH_ENDS[member](world)}
    world.amend(deed, party("warehouse_clerk", "CLERK-1", "DRIVER-2-P01", site="WH"), replaces)
    assert keys(world, "amended-by-others") == []


def test_any_other_member_of_a_handoff_takes_one_end_alone(world: World) -> None:
    world.amend(issue(world), CLERKS, {"site": "", "purpose": "transfer"})
    assert keys(world, "amended-by-others") == []


def test_the_time_of_any_other_entry_takes_one_of_its_signers(world: World) -> None:
    deed = world.inspect([world.kits["P01"].stock], CLERKS)
    world.amend(deed, party("warehouse_clerk", "CLERK-1", site="WH"), {"at": "2026-11-02T14:30:00Z"})
    assert keys(world, "amended-by-others") == []


def renumbered(deed: Deed) -> dict[str, Any]:
    """The readings of an entry with the digits of the first turned round."""
    first, *others = deed.payload["seals"]
    return {"seals": [first | {"number": first["number"][::-1]}, *others]}


@pytest.mark.parametrize(("people", "flagged"), [(("CLERK-1",), True), (("CLERK-1", "CLERK-2"), False)])
def test_seals_of_a_controlled_thing_take_as_many_to_amend_as_to_put_on(
    world: World, people: tuple[str, ...], flagged: bool
) -> None:
    world.unseal([world.kits["P01"].stock], CLERKS, "replace_seal")
    deed = world.seal([world.kits["P01"].stock], CLERKS)
    amend = world.amend(deed, party("warehouse_clerk", *people, site="WH"), renumbered(deed))
    assert keys(world, "amended-by-others") == ([f"amended-by-others/{amend.id}"] if flagged else [])
    if flagged:
        assert what(one(world, "amended-by-others")) == (
            "The amendment changes what 2 people had to write down together; it is signed by CLERK-1."
        )


@pytest.mark.parametrize(("item", "flagged"), [("pollbook", False), ("tape", True)])
def test_figures_take_as_many_to_amend_as_to_count(world: World, item: str, flagged: bool) -> None:
    code = getattr(world.kits["P01"], item)
    deed = world.count(code, CLERKS, {"voters_checked_in": 1})
    amend = world.amend(deed, party("warehouse_clerk", "CLERK-1", site="WH"), {"figures": {"voters_checked_in": 2}})
    assert keys(world, "amended-by-others") == ([f"amended-by-others/{amend.id}"] if flagged else [])


def test_observers_of_an_amendment_are_no_second_pair_of_eyes_of_the_party(world: World) -> None:
    deed = world.count(world.kits["P01"].tape, CLERKS, {"public_counter": 1})
    alone = party("warehouse_clerk", "CLERK-1", site="WH")
    seen_by = {"observers": ["CLERK-2"], "signed_by": ["CLERK-1", "CLERK-2"]}
    amend = world.amend(deed, alone, {"figures": {"public_counter": 2}}, **seen_by)
    assert keys(world, "amended-by-others") == [f"amended-by-others/{amend.id}"]


def lone_amendment(world: World, deed: Deed) -> Deed:
    return world.amend(deed, party("warehouse_clerk", "CLERK-1", site="WH"), renumbered(deed))


def test_what_a_container_held_when_it_was_sealed_says_how_many_may_amend(world: World) -> None:
    scanner, memory = world.kits["P01"].scanner, world.kits["P01"].memory
    world.unseal([scanner], CLERKS, "service")
    with_device = world.seal([scanner], CLERKS)
    world.unseal([scanner], CLERKS, "service")
    world.unpack(scanner, [memory], CLERKS)
    without = world.seal([scanner], CLERKS)
    flagged, _ = lone_amendment(world, with_device), lone_amendment(world, without)
    assert keys(world, "amended-by-others") == [f"amended-by-others/{flagged.id}"]


def test_an_amendment_dated_before_the_entry_is_judged_by_the_same_world(world: World) -> None:
    scanner = world.kits["P01"].scanner
    world.unseal([scanner], CLERKS, "service")
    deed = world.seal([scanner], CLERKS)
    early = world.time("08:00", day=-15)
    clerk = party("warehouse_clerk", "CLERK-1", site="WH")
    amend = world.amend(deed, clerk, renumbered(deed), at=early, received=world.at)
    assert keys(world, "amended-by-others") == [f"amended-by-others/{amend.id}"]


@pytest.mark.parametrize(("signed", "amended"), [("stock", "envelope"), ("envelope", "stock")])
def test_a_controlled_thing_named_before_or_after_asks_for_two(world: World, signed: str, amended: str) -> None:
    kit = world.kits["P01"]
    world.unseal([kit.stock], CLERKS, "replace_seal")
    deed = world.seal([getattr(kit, signed)], CLERKS)
    (first,) = deed.payload["seals"]
    other = world.register.items[getattr(kit, amended)]
    replaces = {"seals": [first | {"item": other.code, "point": other.seal_points[0]}]}
    amend = world.amend(deed, party("warehouse_clerk", "CLERK-1", site="WH"), replaces)
    assert keys(world, "amended-by-others") == [f"amended-by-others/{amend.id}"]


def test_policy_at_the_time_of_the_amended_entry_says_how_many(world: World) -> None:
    world.set_policy({"people": {"controlled": 3}}, valid_from=NINE)
    early, late = (
        world.count(world.kits["P01"].tape, CLERKS, {"public_counter": 1}, at=world.at - seconds) for seconds in (1, 0)
    )
    for deed in (early, late):
        world.amend(deed, CLERKS, {"figures": {"public_counter": 2}})
    (finding,) = found(world, "amended-by-others")
    assert finding.entries == (world.log[-1].id,)
    assert finding.params == {"people": ["CLERK-1", "CLERK-2"], "asked": 3}


def test_an_amendment_of_an_amendment_takes_one_of_its_signers(world: World) -> None:
    first = world.amend(issue(world), party("warehouse_clerk", "CLERK-1", "DRIVER-1-P01"), {"items": ["BC"]})
    world.amend(first, CLERKS, {"replaces": {"items": [world.kits["P01"].keys]}})
    assert keys(world, "amended-by-others") == []
    other = world.amend(first, party("official", "OFFICE-1"), {"reason": "another"})
    assert keys(world, "amended-by-others") == [f"amended-by-others/{other.id}"]


def test_an_amendment_aimed_at_another_entry_is_judged_by_that_one(world: World) -> None:
    mine, theirs = issue(world), world.inspect([world.kits["P01"].stock], world.party("official"))
    amend = world.amend(mine, CLERKS, {"note": "read again"})
    assert keys(world, "amended-by-others") == []
    world.amend(amend, CLERKS, {"amends": theirs.id})
    assert keys(world, "amended-by-others") == [f"amended-by-others/{amend.id}"]


# amend-void


def test_an_amendment_that_would_leave_the_entry_ill_formed_is_told(world: World) -> None:
    deed = issue(world)
    amend = world.amend(deed, CLERKS, {"purpose": "give"})
    assert found(world, "amend-void") == [of_entry("amend-void", amend, severity=Severity.NOTICE)]
    assert what(one(world, "amend-void")) == (
        "The amendment changes nothing: the entry would not be well formed with it, or it leads back to itself."
    )


def test_an_amendment_of_an_entry_not_on_record_is_told(world: World) -> None:
    amend = world.amend(entry_id(world.at, 99), CLERKS, {"note": "read again"})
    assert found(world, "amend-void", "amended-by-others") == [
        of_entry("amend-void", amend, severity=Severity.NOTICE, variant="absent")
    ]
    assert what(one(world, "amend-void")) == (
        "The amendment changes nothing yet: the entry that it names is not on record."
    )


def test_an_amendment_that_changes_something_is_not_void(world: World) -> None:
    world.amend(issue(world), CLERKS, {"purpose": "transfer"})
    assert keys(world, "amend-void") == []
