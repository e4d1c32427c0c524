"""The rules as people read of them, and what a rule reads of policy: now, or as it held when a finding was judged."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from custody import store
from custody.domain.findings import Finding
from custody.domain.policy import Policies
from custody.domain.policy_document import dump_policy
from custody.domain.register import Register
from custody.domain.rules import RULE_SCOPES
from custody.messages import all_messages
from custody.messages.rules import RuleWords, all_rules, list_families
from custody.models.derived import Amendment, OnRecord, PlaceRow
from custody.registers import get_register

_GAP = re.compile(r"\{\w+\}")


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleShown:
    """A rule in words, in the language in force. `scopes` says what it looks at, as `domain.rules.RULE_SCOPES` does.

    `says` are the words of its findings and what to do next, with gaps where a finding has its own.
    """

    code: str
    title: str
    checks: str
    why: str
    source: str
    severities: tuple[str, ...]
    scopes: tuple[str, ...]
    says: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PolicyLine:
    """One key of a policy and its value, as the policy's document has them."""

    key: str
    value: Any


@dataclass(frozen=True, slots=True, kw_only=True)
class PolicyInForce:
    """What a rule reads of the policy that holds `at` an instant; in force `since`, or `None` for the defaults."""

    at: int
    since: int | None
    lines: Sequence[PolicyLine]


def list_rules() -> list[tuple[str, list[RuleShown]]]:
    """All rules, by family."""
    return [(str(title), [_shown(code, words) for code, words in table.items()]) for title, table in list_families()]


def get_rule(code: str) -> RuleShown | None:
    words = all_rules().get(code)
    return _shown(code, words) if words else None


def rule_titles() -> dict[str, str]:
    """By code, what each rule is called."""
    return {code: str(words.title) for code, words in all_rules().items()}


def _shown(code: str, words: RuleWords) -> RuleShown:
    return RuleShown(
        code=code,
        title=str(words.title),
        checks=str(words.checks),
        why=str(words.why),
        source=str(words.source),
        severities=words.severities,
        scopes=RULE_SCOPES[code],
        says=tuple(_says(code)),
    )


def _says(code: str) -> Iterator[tuple[str, str]]:
    for name, (what, then) in sorted(all_messages().items()):
        if name.partition(".")[0] == code:
            yield _GAP.sub("…", str(what)), _GAP.sub("…", str(then))


def policy_of_rule(jurisdiction: str, code: str, now: int) -> PolicyInForce | None:
    """All that a rule reads of the policy in force; `None` for a rule that reads none."""
    register = get_register(jurisdiction)
    keys = all_rules()[code].policy
    return _in_force(register.policies, keys, now, {}) if keys else None


def policy_of_finding(log: store.LogHead, finding: Finding) -> PolicyInForce | None:
    """What the rule read of policy for this finding: of the kinds, steps and purpose that it is about, as it held then."""
    keys = [key for key in all_rules()[finding.rule].policy if _is_about(finding, key)]
    if not keys:
        return None
    register = get_register(log.jurisdiction)
    return _in_force(register.policies, keys, _judged_at(log, register, finding), _words_of(register, finding))


def _is_about(finding: Finding, key: str) -> bool:
    """Whether a finding of this message can have come from a key of the policy."""
    _, _, variant = finding.message.partition(".")
    match key:
        case "steps.before_open":
            return variant == "before"
        case "steps.after_close":
            return variant == "after"
        case "people.steps.*":
            return "step" in finding.params or finding.rule == "amended-by-others"
        case "people.controlled" | "people.exceptions" | "items.*.controlled" if finding.rule == "lone-custodian":
            return "step" not in finding.params
        case _:
            return True


def _words_of(register: Register, finding: Finding) -> dict[str, set[str]]:
    """By section or list of the policy, the words that a finding is about; what is not in here is not narrowed."""
    narrowed: dict[str, set[str]] = {}
    kinds = {register.items[code].kind.value for code in finding.items if code in register.items}
    if kinds:
        narrowed["items"] = kinds
    if "step" in finding.params:
        narrowed["steps"] = {str(finding.params["step"])}
    if "purpose" in finding.params:
        narrowed["routes"] = {str(finding.params["purpose"])}
    return narrowed


def _judged_at(log: store.LogHead, register: Register, finding: Finding) -> int:
    """The instant whose policy judged a finding: that at which it arose, but for limits that are counted from another."""
    at: int | None = None
    entries = OnRecord.objects.filter(log_id=log.id)
    match finding.rule:
        case "unreturned":
            election = register.elections.get(finding.election)
            at = election.return_deadline if election else None
        case "not-read-in" | "unopened":
            places = PlaceRow.objects.filter(log_id=log.id, election=finding.election, site=finding.origin)
            at = places.values_list("closed", flat=True).first()
        case "slow-transit":
            at = entries.filter(entry_id=finding.entries[0]).values_list("time", flat=True).first()
        case "amended-by-others":
            targets = Amendment.objects.filter(log_id=log.id, entry_id=finding.entries[0]).values("target")
            at = entries.filter(entry_id__in=targets).values_list("time", flat=True).first()
    return finding.at if at is None else at


def _in_force(policies: Policies, keys: Sequence[str], at: int, narrowed: Mapping[str, set[str]]) -> PolicyInForce:
    document = dump_policy(policies.at(at))
    since = max((since for since, _ in policies.versions if since <= at), default=None)
    lines = [line for key in keys for line in _lines(document, key.split("."), [], narrowed)]
    return PolicyInForce(at=at, since=since, lines=lines)


def _lines(value: Any, rest: Sequence[str], path: list[str], narrowed: Mapping[str, set[str]]) -> Iterator[PolicyLine]:
    if not rest:
        yield PolicyLine(key=".".join(path), value=value)
        return
    names = [rest[0]]
    if rest[0] == "*":
        words = narrowed.get(path[-1])
        names = [name for name in value if words is None or name in words]
    for name in names:
        yield from _lines(value[name], rest[1:], [*path, name], narrowed)
