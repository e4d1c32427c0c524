"""Changing policy: the whole document goes on record, in force from its moment, and the same again changes nothing."""

from __future__ import annotations

import pytest

from custody import register_tables, registers, store
from custody.domain.policy import DEFAULT_POLICY
from custody.domain.policy_document import dump_policy, parse_policy
from custody.errors import CustodyError
from custody.models.log import LogKind
from custody.models.register import PolicyVersion
from custody.services.change_policy import change_policy

NOW = 1_793_880_000  # 2026-11-05T12:00:00Z
OCTOBER = 1_790_812_800  # 2026-10-01T00:00:00Z
TOML = """
[people]
controlled = 3

[items.scanner]
returned = true
"""


@pytest.fixture
def log(db: None) -> store.LogHead:
    return store.make_log("ALDER", "register", LogKind.REGISTER)


def test_a_policy_is_in_force_from_its_moment(log: store.LogHead) -> None:
    line = change_policy("ALDER", TOML, valid_from=OCTOBER, user="u-1", now=NOW)
    assert line is not None
    expected = parse_policy({"people": {"controlled": 3}, "items": {"scanner": {"returned": True}}})
    row = {"valid_from": "2026-10-01T00:00:00Z", "document": dump_policy(expected)}
    assert line.content() == {
        "seq": 0,
        "received": "2026-11-05T12:00:00Z",
        "user": "u-1",
        "change": {"table": "policy", "rows": [row]},
    }
    policies = registers.get_register("ALDER").policies
    assert (policies.at(OCTOBER - 1), policies.at(OCTOBER)) == (DEFAULT_POLICY, expected)
    assert PolicyVersion.objects.get().document == dump_policy(expected)
    assert register_tables.compare_register("ALDER") == []


def test_the_same_policy_again_changes_nothing_and_another_takes_its_place(log: store.LogHead) -> None:
    change_policy("ALDER", TOML, valid_from=OCTOBER, user="u-1", now=NOW)
    change_policy("ALDER", TOML, valid_from=OCTOBER + 1, user="u-1", now=NOW)
    assert change_policy("ALDER", TOML, valid_from=OCTOBER, user="u-2", now=NOW + 1) is None
    assert change_policy("ALDER", {}, valid_from=OCTOBER, user="u-2", now=NOW + 1) is not None
    policies = registers.get_register("ALDER").policies
    assert (policies.at(OCTOBER), len(policies.versions), PolicyVersion.objects.count()) == (DEFAULT_POLICY, 2, 2)


@pytest.mark.parametrize(
    ("document", "reason"),
    [
        ("[people]\ncontroled = 3", "The policy cannot be read: policy has no key people.controled."),
        ("[people\n", "The policy cannot be read: Expected ']'"),
        (
            "[people]\nsteps.bin_empty = 1.5",
            "The policy cannot be read: policy people.steps.bin_empty: expected a whole",
        ),
    ],
)
def test_a_policy_that_cannot_be_read_is_turned_down(log: store.LogHead, document: str, reason: str) -> None:
    with pytest.raises(CustodyError) as caught:
        change_policy("ALDER", document, valid_from=OCTOBER, user="u-1", now=NOW)
    assert (caught.value.code, caught.value.detail[: len(reason)]) == ("bad-policy", reason)
    assert list(store.read_lines(log)) == []


def test_a_policy_of_no_jurisdiction_is_turned_down(log: store.LogHead) -> None:
    with pytest.raises(CustodyError) as caught:
        change_policy("BIRCH", TOML, valid_from=OCTOBER, user="u-1", now=NOW)
    assert caught.value.code == "no-jurisdiction"
