"""Findings: recorded differences, open until settled. What they say is a message id and its parameters; words come later.

A finding never blames. It names the rule, where and when it arose, and what it rests on, so that a person can put it right.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any

from custody.domain.states import Moment


class Severity(StrEnum):
    """How urgent a finding is while the crews are still in the building."""

    CRITICAL = "critical"
    WARNING = "warning"
    NOTICE = "notice"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One finding as a rule gives it, before anybody settled it.

    `scope` holds the ids and codes of `key`, in the order that the rule's table row names. `at` is the instant at which it
    arises. `began` is the entry at which the state of a standing finding began, and is `None` for all others; `cleared` is the
    act that put its cause right. `at_limit` says that it arises at a limit, and not at an entry. `message` names a text, `params`
    fill it in. `election` and `origin` (the polling place that its items came from) are for filters and for `waiting`.
    """

    rule: str
    scope: tuple[str, ...]
    severity: Severity
    at: int
    election: str
    site: str | None = None
    origin: str | None = None
    entries: tuple[str, ...] = ()
    items: tuple[str, ...] = ()
    people: tuple[str, ...] = ()
    seals: tuple[str, ...] = ()
    message: str = ""
    params: Mapping[str, Any] = field(default_factory=dict)
    began: Moment | None = None
    cleared: Moment | None = None
    at_limit: bool = False

    @property
    def shown_from(self) -> int:
        """The first second in which it is so. What arises at a limit is found once that has passed: after T is later than T."""
        return self.at + 1 if self.at_limit else self.at

    @property
    def key(self) -> str:
        return finding_key(self.rule, *self.scope)


def finding_key(rule: str, *scope: str) -> str:
    """`rule/scope`: the parts joined by `:`, each percent-encoded where it holds `:`, `/` or `%`."""
    return f"{rule}/{':'.join(_encode(part) for part in scope)}"


_ENCODED = str.maketrans({":": "%3A", "/": "%2F", "%": "%25"})


def _encode(part: str) -> str:
    """RFC 3986 section 2.1, for the three characters that have a meaning in a key, and for nothing else."""
    return part.translate(_ENCODED)
