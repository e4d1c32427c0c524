"""Rules about seals, and about what lies in what."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from custody.messages.rules.wording import PRACTICE, RuleWords

TITLE = _("Seals and what lies in what")
RULES = {
    "seal-mismatch": RuleWords(
        title=_("Another seal number than on record"),
        checks=_(
            "A reading shows a number that is not the one in place on record, or a number where the record has no seal; or the"
            " readings of one point differ within one entry. It is cleared when a later reading shows the number on record"
            " again, with no seal put on or taken off in between."
        ),
        why=_(
            "A digit misread at midnight looks the same as a seal exchanged. Only a second reading tells them apart."
        ),
        source=PRACTICE,
        severities=("critical",),
    ),
    "seal-not-intact": RuleWords(
        title=_("A seal found damaged, missing or not holding"),
        checks=_(
            "A reading shows a seal damaged, not holding, missing or unreadable where the record has one in place. One finding"
            " for each item, point, number and state, however often it is read."
        ),
        why=_(
            "The seal is there to be looked at. Published audits tell of seals that were whole, and held nothing: tug and"
            " twist."
        ),
        source=PRACTICE,
        severities=("critical",),
    ),
    "seal-unread": RuleWords(
        title=_("A seal that was not read"),
        checks=_(
            "A handoff names an item that has a seal in place, and does not say what the seal showed. What lies in a container"
            " cannot be read at the door, and is left out."
        ),
        why=_(
            "A seal that nobody reads protects nothing: from this handoff to the last the difference could be anybody's."
        ),
        source=PRACTICE,
        severities=("notice",),
    ),
    "unsealed-transit": RuleWords(
        title=_("On the way without a seal"),
        checks=_(
            "A handoff on the way back, into storage, or onward of what was at a polling place, carries something that policy"
            " wants sealed and that is not sealed on record. Containers shown empty, and memory devices that never were in a"
            " scanner, are left out. What lies in a container goes by its outermost container."
        ),
        why=_("On the road is where a seal is needed most."),
        source=PRACTICE,
        severities=("critical",),
        policy=("items.*.sealed",),
    ),
    "seal-reused": RuleWords(
        title=_("A seal used twice"),
        checks=_("The same number of the same maker is put on a second time."),
        why=_("A seal is used once. The number was written down wrong, or a seal came off without being destroyed."),
        source=_("ISO 17712: a number is unique to its maker. Used once: common practice, no published source."),
        severities=("critical",),
    ),
    "seal-void-used": RuleWords(
        title=_("A void seal put on"),
        checks=_("A number is put on that was reported void before."),
        why=_("A seal that was given up as spoiled should be in a bag with the others, and not on a container."),
        source=PRACTICE,
        severities=("warning",),
    ),
    "seal-unknown": RuleWords(
        title=_("A seal of no known lot"),
        checks=_("A number is put on that is in no seal lot on record; if a maker was named, in no lot of that maker."),
        why=_("Seals that the office never issued can be had by anybody."),
        source=PRACTICE,
        severities=("warning",),
    ),
    "seal-elsewhere": RuleWords(
        title=_("A seal issued to another place"),
        checks=_(
            "A number is put on at a place other than the one it was issued to: by the last handoff of loose seals that covers"
            " it, or else by its lot. Seals issued to nobody, or on the move with somebody, are left out."
        ),
        why=_("The seals came over without a word, or the number was misread."),
        source=PRACTICE,
        severities=("warning",),
    ),
    "seal-over-seal": RuleWords(
        title=_("A seal where one was in place"),
        checks=_("A seal is put on at a point whose seal in place was never recorded as removed."),
        why=_("The old seal came off without a word: that is the opening that nobody wrote down."),
        source=PRACTICE,
        severities=("warning",),
    ),
    "seal-unaccounted": RuleWords(
        title=_("Loose seals not yet accounted for"),
        checks=_(
            "After the return deadline, seals that were issued to a polling place were neither put on nor read anywhere, nor"
            " brought back, nor reported void. One finding for each place; it stands until no number is open."
        ),
        why=_("A loose seal can be put on by anybody, in place of one that was cut."),
        source=PRACTICE,
        severities=("warning",),
    ),
    "contents-differ": RuleWords(
        title=_("Not in the container where the record has it"),
        checks=_(
            "Something comes out of a container that it was not packed in; or goes on without the container that it is packed"
            " in; or a container is shown empty or disposed of while the record has something in it."
        ),
        why=_("Somebody packed anew without a word, as published audits tell. What else was moved then, nobody knows."),
        source=PRACTICE,
        severities=("critical",),
    ),
    "opened-while-sealed": RuleWords(
        title=_("Opened while sealed on record"),
        checks=_("A container is packed or unpacked while it, or a container around it, is sealed on record."),
        why=_("To get in, a seal had to come off, and that is not on record."),
        source=PRACTICE,
        severities=("critical",),
    ),
    "second-device": RuleWords(
        title=_("Two memory devices in one scanner"),
        checks=_("A memory device is packed into a scanner that already holds one."),
        why=_(
            "One at a time, or no total can be trusted. A published letter of a state's audit tells of a replacement device"
            " without a link to the first, and of 401 votes too many."
        ),
        source=PRACTICE,
        severities=("warning",),
    ),
}
