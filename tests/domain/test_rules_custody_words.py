"""The words of findings: every finding has some, they are filled in whole, and they are plain."""

from __future__ import annotations

import pytest

from custody.domain.findings import Finding, Severity
from custody.messages import all_messages, render
from custody.messages.custody import MESSAGES
from tests.world import HOUR, MINUTE, World, findings_of, party
from tests.world_random import chance, random_world

CHIEF = party("poll_chief", "CHIEF-P01", "WORKER-1-P01", site="P01")
DRIVERS = party("courier", "DRIVER-1-P01", "DRIVER-2-P01")
VAULT = party("vault_custodian", "VAULT-1", "VAULT-2", site="VA")


def everything_wrong() -> World:
    """A world in which every rule of this family has something to say."""
    world = World(places=1)
    kit = world.until("P01", "pack_for_return")
    away = world.handoff([kit.case, kit.stock, kit.keys], CHIEF, DRIVERS, "store")
    world.handoff([kit.case], party("courier", "DRIVER-1-P01"), world.party("receiving_clerk"), "return")
    world.incident("lost", CHIEF, kit.stock, at=away.at + HOUR, received=away.at + 90 * HOUR)
    box = kit.containers[0]
    world.handoff([box], VAULT, VAULT, "transfer", at=away.at + HOUR, received=away.at)
    world.hold(party("official", "OFFICE-1"), kit.containers[1])
    world.dispose([box], VAULT)
    world.dispose([box, kit.containers[1]], VAULT)
    world.dispose([kit.containers[1]], VAULT, at=world.time("12:00", day=2_000))
    world.unseal([box], VAULT, "recount")
    return world


def test_every_message_of_the_family_is_given_by_some_finding_and_filled_in() -> None:
    listed = findings_of(everything_wrong())
    own = {finding.message: render(finding) for finding in listed if finding.message in MESSAGES}
    assert own.keys() == MESSAGES.keys()
    assert [
        text for texts in own.values() for text in texts if "{" in text or "}" in text or not text.endswith(".")
    ] == []


def test_words_name_codes_and_people_and_call_roles_by_their_names() -> None:
    world = World(places=1)
    kit = world.until("P01", "pack_for_return")
    world.handoff([kit.case], DRIVERS, VAULT, "issue")
    said = {finding.rule: render(finding)[0] for finding in findings_of(world, now=world.at + MINUTE)}
    assert said["custody-gap"] == (
        f"On record with CHIEF-P01, WORKER-1-P01, but handed over by DRIVER-1-P01, DRIVER-2-P01: {kit.case}."
    )
    assert said["wrong-purpose"] == "The purpose “issue” is not one for a handoff from courier to vault custodian."


def a_finding(**more: object) -> Finding:
    return Finding(rule="lost", scope=("A",), severity=Severity.NOTICE, at=0, election="E", **more)  # type: ignore[arg-type]


def test_a_finding_without_a_message_of_its_own_has_that_of_its_rule() -> None:
    assert render(a_finding(params={"items": ["A", "B"]}))[0] == "Reported lost and not yet found: A, B."


@pytest.mark.parametrize("lacking", [{"message": "no-such-rule"}, {"params": {}}], ids=["message", "param"])
def test_a_message_or_a_param_that_is_lacking_is_an_error(lacking: dict[str, object]) -> None:
    with pytest.raises(KeyError):
        render(a_finding(**lacking))


@pytest.mark.parametrize("seed", range(6))
def test_every_finding_of_a_bad_day_has_words(seed: int) -> None:
    listed = findings_of(random_world(chance(seed), places=1, acts=30))
    assert len(listed) > 10
    assert [finding.key for finding in listed if any("{" in text or not text for text in render(finding))] == []


def test_no_message_blames_anybody() -> None:
    texts = [str(text) for pair in all_messages().values() for text in pair]
    assert len(texts) > 2 * len(MESSAGES)
    blame = ("fraud", "tamper", "steal", "stolen", "guilt", "illegal", "violat", "suspicious")
    assert [text for text in texts if any(word in text.lower() for word in blame)] == []
