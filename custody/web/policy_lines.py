"""Keys and values of a policy in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from custody.queries.rules import PolicyInForce
from custody.web import words

# By key, without the word of the record that may stand in its midst or at its end.
KEYS = {
    "people.controlled": _("People of a party who sign for a controlled thing"),
    "people.steps": _("People who sign for the step"),
    "people.exceptions": _("Written exceptions from the two people"),
    "people.access": _("People who sign on entering a storage place"),
    "people.differ_in_affiliation": _("Who must differ in affiliation"),
    "tape.signers": _("People who sign a tape"),
    "steps.before_open": _("Steps before the polls open"),
    "steps.after_close": _("Steps after the polls closed"),
    "memory.stays_in": _("Memory devices may stay in their scanners"),
    "travel.minutes_at_least": _("Least minutes between entries at two places"),
    "transit.minutes_at_most": _("Most minutes on the way back"),
    "late_entry.hours": _("Hours within which an entry reaches the record"),
    "clock.minutes_ahead": _("Minutes by which a clock may be ahead"),
    "checkins.differ_at_most": _("Most by which check-ins and counter may differ"),
    "read_in.hours": _("Hours after the closing within which results are read in"),
    "opened.hours": _("Hours after the closing within which what came in is opened"),
    "retention.months": _("Months for which material is kept"),
    "items.controlled": _("Takes two people"),
    "items.sealed": _("Sealed on the way back and in the vault"),
    "items.returned": _("Back on election night"),
    "routes": _("Who hands over to whom"),
}

VALUES = {
    "yes": _("yes"),
    "no": _("no"),
    "by_contents": _("when it holds what is controlled"),
    "from": _("from"),
    "to": _("to"),
    "seal": _("whoever seals"),
    "kind": _("kind"),
    "act": _("act"),
    "site_kind": _("place"),
    "number": _("people"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PolicyRow:
    """One key of the policy, what it is about, and its value in words."""

    key: str
    about: str
    value: str


def list_policy(policy: PolicyInForce | None) -> list[PolicyRow]:
    """What a rule reads of policy, in words."""
    lines = policy.lines if policy else ()
    return [PolicyRow(key=each.key, about=_about(each.key), value=_say(each.value)) for each in lines]


def _about(key: str) -> str:
    parts = key.split(".")
    plain = [part for part in parts if part not in words.all_words()]
    about = str(KEYS[".".join(plain)])
    word = next((words.word(part) for part in parts if part not in plain), "")
    return f"{about}: {word}" if word else about


def _say(value: Any) -> str:
    """A value of the policy's document in words."""
    if isinstance(value, bool):
        return gettext("yes") if value else gettext("no")
    if isinstance(value, Mapping):
        return "; ".join(f"{_say(name)}: {_say(each)}" for name, each in value.items())
    if isinstance(value, list):
        return ", ".join(map(_say, value)) or gettext("none")
    return str(VALUES[value]) if value in VALUES else words.word(value)
