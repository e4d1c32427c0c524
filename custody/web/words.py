"""The words of the pages for what the record names by code, beyond those that findings use."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from custody.domain.vocabulary import Category, DisposalMethod, HoldMovement, Outcome, Passage, SealState, SiteKind
from custody.messages.words import WORDS

ENTRIES = {
    "register": _("Put on record"),
    "handoff": _("Handoff"),
    "seal": _("Seals put on"),
    "unseal": _("Seals taken off"),
    "inspect": _("Seals read"),
    "pack": _("Packed"),
    "unpack": _("Unpacked"),
    "count": _("Counted"),
    "step": _("Step done"),
    "access": _("Access to a storage place"),
    "incident": _("Incident"),
    "hold": _("Hold"),
    "amend": _("Amendment"),
    "resolve": _("Finding settled"),
    "dispose": _("Disposal"),
}

SEVERITIES = {"critical": _("Critical"), "warning": _("Warning"), "notice": _("Notice")}

STATUSES = {
    "open": _("Open"),
    "resolved": _("Resolved"),
    "cleared": _("Cleared"),
    "withdrawn": _("Withdrawn"),
}

RULE_SCOPES = {
    "entry": _("one entry, and how things stood when it was made"),
    "journey": _("what one handoff put on the way back"),
    "place": _("a polling place’s day"),
    "item": _("the whole life of an item"),
    "stock": _("the loose seals issued to a polling place"),
}
"""What a rule looks at."""

SITE_KINDS = {
    SiteKind.WAREHOUSE: _("warehouse"),
    SiteKind.POLLING_PLACE: _("polling place"),
    SiteKind.RECEIVING_STATION: _("receiving station"),
    SiteKind.VAULT: _("vault"),
    SiteKind.COUNT_CENTER: _("count center"),
    SiteKind.DROP_BOX: _("drop box"),
}

OTHERS = {
    SealState.INTACT: _("intact"),
    SealState.DAMAGED: _("damaged"),
    SealState.NOT_HOLDING: _("not holding"),
    SealState.MISSING: _("missing"),
    SealState.UNREADABLE: _("unreadable"),
    Passage.ENTER: _("came in"),
    Passage.LEAVE: _("went out"),
    HoldMovement.PLACE: _("placed"),
    HoldMovement.LIFT: _("lifted"),
    Category.LOST: _("lost"),
    Category.FOUND: _("found"),
    Category.POWER_LOSS: _("power loss"),
    Category.UNIT_FAILURE: _("unit failure"),
    Category.SEAL_VOID: _("seal void"),
    Category.OTHER: _("other"),
    Outcome.EXPLAINED: _("explained"),
    Outcome.CORRECTED: _("corrected"),
    Outcome.ACCEPTED: _("accepted"),
    Outcome.REFERRED: _("referred"),
    DisposalMethod.DESTROYED: _("destroyed"),
    DisposalMethod.RELEASED: _("released for use again"),
}

_ALL: dict[str, str | Promise] = {
    str(key): text for table in (OTHERS, SITE_KINDS, WORDS) for key, text in table.items()
}


def all_words() -> dict[str, str | Promise]:
    """Every word of the record with its words for people."""
    return dict(_ALL)


def word(value: object) -> str:
    """A word of the record in words for people; what is no such word, as it is."""
    return str(_ALL.get(str(value), value))
