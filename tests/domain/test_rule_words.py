"""The words of the rules against the rules themselves: every rule has them, and they say no other severity or policy."""

from __future__ import annotations

import ast
import inspect
from collections.abc import Iterator
from pathlib import Path

import pytest

from custody.domain import rules
from custody.domain.findings import Severity
from custody.domain.policy import DEFAULT_POLICY
from custody.domain.policy_document import dump_policy
from custody.domain.rules import RULE_CODES, RULE_SCOPES
from custody.messages import all_messages
from custody.messages.rules import FAMILIES, all_rules, list_families
from custody.queries.rules import PolicyLine
from custody.web.policy_lines import KEYS
from custody.web.words import RULE_SCOPES as SCOPE_WORDS

GRAVEST_FIRST = [severity.value for severity in Severity]
# What a rule calls or reads when it asks policy something: names in the code, and the keys that stand behind them.
READS = {
    "late_entry_hours": {"late_entry.hours"},
    "clock_minutes_ahead": {"clock.minutes_ahead"},
    "people_access": {"people.access"},
    "travel_minutes_at_least": {"travel.minutes_at_least"},
    "tape_signers": {"tape.signers"},
    "retention_months": {"retention.months"},
    "route_fits": {"routes.*"},
    "differ_seal": {"people.differ_in_affiliation"},
    "differ_couriers": {"people.differ_in_affiliation"},
    "transit_minutes_at_most": {"transit.minutes_at_most"},
    "memory_stays_in": {"memory.stays_in"},
    "checkins_differ_at_most": {"checkins.differ_at_most"},
    "read_in_hours": {"read_in.hours"},
    "opened_hours": {"opened.hours"},
    "steps_before_open": {"steps.before_open"},
    "steps_after_close": {"steps.after_close"},
    "returned": {"items.*.returned"},
    "list_due": {"items.*.returned"},
    "wants_seal": {"items.*.sealed"},
    "is_controlled": {"items.*.controlled"},
    "is_or_holds_controlled": {"items.*.controlled"},
    "controlled": {"items.*.controlled"},
    "people_asked": {"people.controlled", "people.steps.*", "people.exceptions", "items.*.controlled"},
}
# Of couriers it asks whether two are needed, not how many: the numbers make no difference to what it finds.
NO_NUMBERS = {"same-affiliation": {"people.controlled", "people.steps.*", "people.exceptions"}}


def functions() -> dict[str, dict[str, ast.FunctionDef]]:
    """By module of the rules, its functions by name."""
    folder = Path(inspect.getfile(rules)).parent
    return {
        path.stem: {
            node.name: node
            for node in ast.parse(path.read_text(encoding="utf-8")).body
            if isinstance(node, ast.FunctionDef)
        }
        for path in folder.glob("*.py")
    }


def reached(code: str) -> Iterator[ast.AST]:
    """All code that a rule may run within its own module."""
    for module in functions().values():
        waiting = [name for name in (code.replace("-", "_"), code.replace("-", "_") + "_again") if name in module]
        known: set[str] = set()
        while waiting:
            name = waiting.pop()
            known.add(name)
            nodes = list(ast.walk(module[name]))
            yield from nodes
            called = {node.id for node in nodes if isinstance(node, ast.Name)} & module.keys()
            waiting += sorted(called - known - set(waiting))


def names_in(code: str) -> set[str]:
    nodes = list(reached(code))
    assert nodes, code
    return {node.attr for node in nodes if isinstance(node, ast.Attribute)} | {
        node.id for node in nodes if isinstance(node, ast.Name)
    }


def test_every_rule_has_words_and_no_words_are_without_a_rule() -> None:
    assert list(all_rules()) == list(RULE_CODES) == sorted(RULE_SCOPES)
    assert len(RULE_CODES) == sum(len(table) for _, table in list_families()) > 40
    assert len({str(title) for title, _ in list_families()}) == len(FAMILIES)


@pytest.mark.parametrize("code", RULE_CODES)
def test_a_rule_says_what_it_checks_why_and_on_whose_authority(code: str) -> None:
    words = all_rules()[code]
    for text in (words.checks, words.why, words.source):
        assert str(text).endswith((".", "?")) and len(str(text)) > 30, text
    assert 5 < len(str(words.title)) < 50 and not str(words.title).endswith(".")
    blamed = {"fraud", "tamper", "cheat", "steal"}
    assert not any(word in f"{words.title} {words.checks} {words.why}".lower() for word in blamed)
    assert {scope for scope in RULE_SCOPES[code]} <= SCOPE_WORDS.keys()


def test_titles_tell_rules_apart() -> None:
    titles = [str(words.title) for words in all_rules().values()]
    assert len(set(titles)) == len(titles)


@pytest.mark.parametrize("code", RULE_CODES)
def test_the_severities_are_those_of_the_code(code: str) -> None:
    used = {
        node.attr.lower()
        for node in reached(code)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "Severity"
    }
    assert list(all_rules()[code].severities) == sorted(used, key=GRAVEST_FIRST.index)


@pytest.mark.parametrize("code", RULE_CODES)
def test_the_policy_named_is_the_policy_read(code: str) -> None:
    read = {key for name in names_in(code) for key in READS.get(name, ())} - NO_NUMBERS.get(code, set())
    assert set(all_rules()[code].policy) == read


def test_every_key_of_policy_exists_and_has_words() -> None:
    document = dump_policy(DEFAULT_POLICY)
    for words in all_rules().values():
        for key in words.policy:
            section, rest = key.split(".", 1)
            assert section in document
            first = rest.split(".")[0]
            assert first == "*" or first in document[section], key
            assert key.replace(".*", "") in KEYS, key
    assert PolicyLine(key="tape.signers", value=3).value == document["tape"]["signers"]


def test_every_message_is_of_a_rule() -> None:
    assert {message.partition(".")[0] for message in all_messages()} == set(RULE_CODES)
