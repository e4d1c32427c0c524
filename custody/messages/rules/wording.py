"""What there is to say of a rule."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.utils.translation import gettext_lazy as _

if TYPE_CHECKING:
    from django.utils.functional import _StrPromise

PRACTICE = _("Common practice of the trade, no published source.")
OWN = _("Our choice, no published source.")
"""For what keeps this record itself in order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleWords:
    """A rule in words. `severities`: what its findings may be, the gravest first.

    `policy` holds the keys of the policy that it reads, as `policy_document.py` spells them; `*` stands for each word.
    """

    title: _StrPromise
    checks: _StrPromise
    why: _StrPromise
    source: _StrPromise
    severities: tuple[str, ...]
    policy: tuple[str, ...] = ()
