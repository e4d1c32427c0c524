"""Policy: the defaults of the published table, documents that round-trip, and misspelt ones that are turned down."""

from __future__ import annotations

from typing import Any

import pytest

from custody.domain.policy import DEFAULT_POLICY, LonePerson, Policies, When
from custody.domain.policy_document import dump_policy, parse_policy
from custody.domain.vocabulary import ItemKind, Purpose, Role, StepName


def test_defaults_are_those_of_the_statutes_and_of_common_practice() -> None:
    """Sources: Texas Election Code 129.051(b), 66.053; Georgia Rule 183-1-12-.12; 52 U.S.C. 20701; Ohio R.C. 3505.31;
    Michigan MCL 168.806a; the others common practice or our choice, no published source."""
    document = dump_policy(DEFAULT_POLICY)
    assert document["people"]["controlled"] == 2
    assert document["people"]["access"] == 2
    assert document["people"]["differ_in_affiliation"] == {"courier": True, "seal": ["ballot_container"]}
    assert document["people"]["exceptions"] == []
    two = "bin_empty auxiliary_bin_empty auxiliary_bin_opened auxiliary_bin_cleared bin_emptied shown_empty"
    assert document["people"]["steps"] == dict.fromkeys(two.split(), 2)
    assert document["tape"] == {"signers": 3}
    before, after = document["steps"]["before_open"], document["steps"]["after_close"]
    assert before == ["seals_verified", "bin_empty", "auxiliary_bin_empty", "zero_tape_signed"]
    assert after == ["results_tape_signed", "memory_removed", "bin_emptied", "unit_locked"]
    assert (document["memory"], document["retention"]) == ({"stays_in": False}, {"months": 22})
    assert (document["read_in"], document["opened"]) == ({"hours": 24}, {"hours": 72})
    assert (document["travel"], document["transit"]) == ({"minutes_at_least": 5}, {"minutes_at_most": 90})
    assert (document["late_entry"], document["clock"]) == ({"hours": 24}, {"minutes_ahead": 5})
    assert (document["checkins"], document["resolve"]) == ({"differ_at_most": 5}, {"roles": ["official", "auditor"]})


def test_kinds_are_treated_as_the_table_of_the_record_says() -> None:
    """Record format 1, section 6: controlled, sealed, back on election night."""
    rows = {kind: (row.controlled, row.sealed, row.returned) for kind, row in DEFAULT_POLICY.items.items()}
    full, none = (When.YES, When.YES, True), (When.NO, When.NO, True)
    assert rows == {
        ItemKind.BALLOT_CONTAINER: full,
        ItemKind.TRANSFER_CASE: full,
        ItemKind.MEMORY_DEVICE: full,
        ItemKind.RESULTS_TAPE: full,
        ItemKind.BALLOT_STOCK: full,
        ItemKind.SCANNER: (When.NO, When.YES, False),
        ItemKind.POLLBOOK: none,
        ItemKind.KEY_SET: none,
        ItemKind.ENVELOPE: (When.BY_CONTENTS, When.BY_CONTENTS, True),
        ItemKind.SUPPLY_KIT: (When.NO, When.NO, False),
    }


@pytest.mark.parametrize(
    ("purpose", "giver", "taker", "fits"),
    [
        (Purpose.ISSUE, Role.WAREHOUSE_CLERK, Role.POLL_CHIEF, True),
        (Purpose.ISSUE, Role.COURIER, Role.POLL_CHIEF, False),
        (Purpose.DELIVER, Role.COURIER, Role.POLL_WORKER, True),
        (Purpose.DELIVER, Role.COURIER, Role.RECEIVING_CLERK, False),
        (Purpose.RETURN, Role.POLL_CHIEF, Role.COURIER, True),
        (Purpose.RETURN, Role.COURIER, Role.VAULT_CUSTODIAN, True),
        (Purpose.RETURN, Role.RECEIVING_CLERK, Role.COURIER, False),
        (Purpose.TRANSFER, Role.RECEIVING_CLERK, Role.COURIER, True),
        (Purpose.TRANSFER, Role.POLL_CHIEF, Role.COURIER, False),
        (Purpose.STORE, Role.AUDITOR, Role.VAULT_CUSTODIAN, True),
        (Purpose.STORE, Role.COURIER, Role.VAULT_CUSTODIAN, False),
        (Purpose.RETRIEVE, Role.VAULT_CUSTODIAN, Role.AUDITOR, True),
        (Purpose.RETRIEVE, Role.AUDITOR, Role.VAULT_CUSTODIAN, False),
        (Purpose.RELIEVE, Role.COURIER, Role.COURIER, True),
        (Purpose.RELIEVE, Role.POLL_WORKER, Role.POLL_CHIEF, True),
        (Purpose.RELIEVE, Role.COURIER, Role.POLL_CHIEF, False),
        (Purpose.AUDIT, Role.VAULT_CUSTODIAN, Role.AUDITOR, True),
        (Purpose.AUDIT, Role.AUDITOR, Role.OFFICIAL, True),
        (Purpose.AUDIT, Role.VAULT_CUSTODIAN, Role.RECEIVING_CLERK, False),
    ],
)
def test_a_purpose_joins_the_roles_of_its_route(purpose: Purpose, giver: Role, taker: Role, fits: bool) -> None:
    assert DEFAULT_POLICY.route_fits(purpose, giver, taker) is fits


CHANGED: dict[str, Any] = {
    "people": {
        "controlled": 3,
        "steps": {"shown_empty": 2},
        "differ_in_affiliation": {"courier": False},
        "exceptions": [{"kind": "ballot_stock", "act": "handoff", "site_kind": "drop_box", "number": 1}],
    },
    "memory": {"stays_in": True},
    "steps": {"before_open": []},
    "items": {"scanner": {"returned": True}},
    "routes": {"issue": {"to": ["courier"]}},
}


def test_a_document_changes_what_it_names_and_nothing_else() -> None:
    policy = parse_policy(CHANGED)
    assert (policy.people_controlled, policy.people_access, policy.memory_stays_in) == (3, 2, True)
    assert policy.people_steps == {StepName.SHOWN_EMPTY: 2}
    assert (policy.differ_couriers, policy.differ_seal) == (False, (ItemKind.BALLOT_CONTAINER,))
    assert (policy.steps_before_open, policy.steps_after_close) == ((), DEFAULT_POLICY.steps_after_close)
    scanner = policy.items[ItemKind.SCANNER]
    assert (scanner.controlled, scanner.sealed, scanner.returned) == (When.NO, When.YES, True)
    assert policy.items[ItemKind.POLLBOOK] == DEFAULT_POLICY.items[ItemKind.POLLBOOK]
    issue = policy.routes[Purpose.ISSUE]
    assert (issue.givers, issue.takers) == ((Role.WAREHOUSE_CLERK,), (Role.COURIER,))
    assert policy.routes[Purpose.RETURN] == DEFAULT_POLICY.routes[Purpose.RETURN]


def test_an_exception_counts_for_its_kind_act_and_place_only() -> None:
    policy = parse_policy(CHANGED)
    assert policy.exceptions == (LonePerson(kind=ItemKind.BALLOT_STOCK, act="handoff", site_kind="drop_box", number=1),)
    asked: dict[str, Any] = {"kind": ItemKind.BALLOT_STOCK, "act": "handoff", "site_kind": "drop_box"}
    assert policy.people_for(**asked) == 1
    others: tuple[dict[str, Any], ...] = (
        {"kind": ItemKind.ENVELOPE},
        {"act": "seal"},
        {"site_kind": "vault"},
        {"site_kind": None},
    )
    for other in others:
        assert policy.people_for(**{**asked, **other}) == 3


@pytest.mark.parametrize("document", [{}, CHANGED])
def test_a_dumped_policy_parses_to_itself(document: dict[str, Any]) -> None:
    policy = parse_policy(document)
    whole = dump_policy(policy)
    assert parse_policy(whole) == policy
    assert dump_policy(parse_policy(whole)) == whole


@pytest.mark.parametrize(
    ("document", "reason"),
    [
        ({"peeple": {}}, "policy has no key peeple"),
        ({"people": {"control": 2}}, "policy has no key people.control"),
        ({"people": 2}, "policy people: expected a table"),
        ({"items": {"scanner": {"controled": "yes"}}}, "policy has no key items.scanner.controled"),
        ({"items": {"voting_machine": {}}}, "policy has no key items.voting_machine"),
        ({"items": {"scanner": {"controlled": "often"}}}, "policy items.scanner.controlled: 'often' is no word"),
        ({"items": {"scanner": {"returned": "no"}}}, "policy items.scanner.returned: expected true or false"),
        ({"people": {"controlled": "2"}}, "policy people.controlled: expected a whole number"),
        ({"people": {"controlled": True}}, "policy people.controlled: expected a whole number"),
        ({"people": {"controlled": -1}}, "policy people.controlled: expected a whole number"),
        ({"people": {"steps": {"bin_emty": 2}}}, "policy people.steps: 'bin_emty' is no word"),
        ({"people": {"steps": {"bin_empty": "two"}}}, "policy people.steps.bin_empty: expected a whole number"),
        ({"people": {"steps": []}}, "policy people.steps: expected a table"),
        ({"people": {"differ_in_affiliation": "courier"}}, "policy people.differ_in_affiliation: expected a table"),
        ({"people": {"exceptions": [{"kind": "scanner"}]}}, "policy people.exceptions: each has kind"),
        ({"memory": {"stays_in": 1}}, "policy memory.stays_in: expected true or false"),
        ({"steps": {"before_open": "bin_empty"}}, "policy steps.before_open: expected a list"),
        ({"resolve": {"roles": ["mayor"]}}, "policy resolve.roles: 'mayor' is no word"),
        ({"routes": {"relieve": {}}}, "policy has no key routes.relieve"),
        ({"routes": {"issue": {"to": ["mayor"]}}}, "policy routes.issue.to: 'mayor' is no word"),
    ],
)
def test_a_document_with_a_slip_is_turned_down_by_its_key(document: dict[str, Any], reason: str) -> None:
    with pytest.raises(ValueError) as caught:
        parse_policy(document)
    assert str(caught.value).startswith(reason)


def test_before_the_first_version_the_defaults_are_in_force() -> None:
    changed = parse_policy(CHANGED)
    policies = Policies(versions=((100, changed),))
    assert (policies.at(99), policies.at(100), Policies().at(0)) == (DEFAULT_POLICY, changed, DEFAULT_POLICY)
