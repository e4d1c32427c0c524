"""What an entry says, member by member, in the order in which a person asks: who, what, under which seals, why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from custody.queries.outstanding import Holder
from custody.web import words


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One member under its label; `kind` says how a template shows it."""

    label: Any
    kind: str
    value: Any


# Member, label, kind. What is not listed here is shown elsewhere on the page.
MEMBERS = (
    ("step", _("Step"), "word"),
    ("category", _("What happened"), "word"),
    ("purpose", _("Purpose"), "word"),
    ("movement", _("What was done"), "word"),
    ("method", _("How"), "word"),
    ("outcome", _("Outcome"), "word"),
    ("finding", _("Finding"), "finding"),
    ("amends", _("Puts right"), "entry"),
    ("lifts", _("Lifts"), "entry"),
    ("release", _("Given up by"), "party"),
    ("receive", _("Received by"), "party"),
    ("by", _("Done by"), "party"),
    ("container", _("Container"), "subject"),
    ("subject", _("Counted"), "subject"),
    ("items", _("Items"), "items"),
    ("figures", _("Figures"), "figures"),
    ("seals", _("Seals"), "seals"),
    ("loose_seals", _("Loose seals"), "loose"),
    ("reason", _("Reason"), "word"),
    ("visitors", _("Visitors"), "codes"),
    ("observers", _("Observers"), "people"),
    ("note", _("Note"), "text"),
    ("paper", _("Paper form"), "code"),
)


def list_facts(members: Mapping[str, Any]) -> list[Fact]:
    """The members of an entry that stand in it and are not empty."""
    found = [
        Fact(label=label, kind=kind, value=_party(members[name]) if kind == "party" else members[name])
        for name, label, kind in MEMBERS
        if members.get(name)
    ]
    if members.get("transcriber"):
        found.append(Fact(label=gettext("Written over from paper by"), kind="people", value=[members["transcriber"]]))
    changes = [f"{name}: {_plain(value)}" for name, value in members.get("replaces", {}).items()]
    if changes:
        found.append(Fact(label=gettext("New values"), kind="codes", value=changes))
    return found


def _party(party: Mapping[str, Any]) -> Holder:
    return Holder(role=party["role"], people=tuple(party["people"]), site=party.get("site"))


def _plain(value: Any) -> str:
    if isinstance(value, Mapping):
        return " ".join(f"{name} {_plain(each)}" for name, each in value.items())
    if isinstance(value, list):
        return "; ".join(map(_plain, value))
    return words.word(value)


def heading(kind: str, members: Mapping[str, Any]) -> str:
    """What the entry is, in a few words."""
    what = str(words.ENTRIES.get(kind, kind))
    detail = next(
        (members[name] for name in ("step", "purpose", "category") if name in members and kind != "access"), ""
    )
    return f"{what}: {words.word(detail)}" if detail else what
