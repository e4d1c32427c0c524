"""Rules about signatures and people."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from custody.messages.rules.wording import OWN, PRACTICE, RuleWords

_PAIR_POLICY = ("people.controlled", "people.steps.*", "people.exceptions", "items.*.controlled")

TITLE = _("Signatures and people")
RULES = {
    "end-unsigned": RuleWords(
        title=_("Nobody at one end signed"),
        checks=_(
            "At one end of a handoff, or among those who did any other act, nobody who is named has signed. It is a warning"
            " instead of critical when a paper form, by its number and a photo, shows what was signed by hand, and when only"
            " the person who typed in such a form has not signed."
        ),
        why=_(
            "A signature at both ends is what makes a handoff one: without it nobody says that they gave the things, or that"
            " they have them. Published audits of 2020 found transfer forms that lacked one."
        ),
        source=PRACTICE,
        severities=("critical", "warning"),
    ),
    "signer-missing": RuleWords(
        title=_("Somebody named has not signed"),
        checks=_("An end is signed, but not by everybody who is named there. One finding for each end."),
        why=_("Whoever is named as having been there should say so themselves; a signature can still be added."),
        source=PRACTICE,
        severities=("warning",),
    ),
    "same-person-both-ends": RuleWords(
        title=_("One person at both ends"),
        checks=_(
            "One person is named as giving and as receiving. A relief at a post is left out, where each end also has a person"
            " of its own who signed."
        ),
        why=_("Somebody who hands things to themselves vouches for nobody but themselves."),
        source=PRACTICE,
        severities=("critical",),
    ),
    "key-not-valid": RuleWords(
        title=_("Signed with a key that did not count"),
        checks=_(
            "A signature was made before its key was valid, after it expired or was revoked, or reached the record too long"
            " after the key was revoked. The time that counts is the one that was signed, whatever an amendment makes of it."
        ),
        why=_(
            "A lost badge is called in so that nobody signs with it. A phone without a network may still bring what was signed"
            " before, within the limit for late entries."
        ),
        source=OWN,
        severities=("critical",),
        policy=("late_entry.hours",),
    ),
    "amended-by-others": RuleWords(
        title=_("Amended by people who may not by themselves"),
        checks=_(
            "An amendment is signed by nobody who signed the entry that it puts right; or it changes the items, the loose"
            " seals or the time of a handoff and is not signed by somebody of each end; or it changes seals or figures and is"
            " signed by fewer people than had to write them down."
        ),
        why=_("What two people vouched for together is not for one of them, or for a third, to change."),
        source=OWN,
        severities=("warning",),
        policy=_PAIR_POLICY,
    ),
    "amend-void": RuleWords(
        title=_("An amendment that changes nothing"),
        checks=_(
            "An amendment names an entry that is not on record, leads back to itself, or would leave the entry without a"
            " member that it must have."
        ),
        why=_("Somebody meant to put something right, and it still stands as it was."),
        source=OWN,
        severities=("notice",),
    ),
    "lone-custodian": RuleWords(
        title=_("One person where two are asked for"),
        checks=_(
            "At least one of a party signed, but fewer than policy asks for what they did: to hand over, receive, pack,"
            " unpack, seal, unseal, count or dispose of a controlled thing, or of what holds one, or to do a step that takes"
            " two. One finding for each end."
        ),
        why=_("Two people who watch each other are the oldest safeguard there is, also for the people themselves."),
        source=_(
            "Texas Election Code 129.051(b); Colorado Election Rules, Rule 20; guidance of the US Election Assistance"
            " Commission. For steps: common practice, no published source. Washington WAC 434-250-100 allows one person in"
            " cases, which is a written exception in policy."
        ),
        severities=("critical",),
        policy=_PAIR_POLICY,
    ),
    "same-affiliation": RuleWords(
        title=_("Both of one affiliation"),
        checks=_(
            "Two or more of a party signed, all of one affiliation, where policy wants them to differ: couriers with a"
            " controlled thing, and whoever seals the kinds that policy names. A person without affiliation differs from"
            " everybody."
        ),
        why=_("Two who want different outcomes keep watch for everybody."),
        source=_("Ohio Revised Code 3505.31 (couriers); Michigan MCL 168.806a (sealing)."),
        severities=("warning",),
        policy=("people.differ_in_affiliation", "items.*.controlled"),
    ),
    "not-assigned": RuleWords(
        title=_("Not assigned to this role here"),
        checks=_(
            "Nobody of a party is assigned to its role in this election, at a polling place to the role at that place; or"
            " somebody in it is assigned to nothing at all."
        ),
        why=_(
            "Whoever handles the material was asked to, and sworn in where the law says so. Most often an assignment was"
            " forgotten: put on the register, it takes this finding away."
        ),
        source=PRACTICE,
        severities=("warning",),
    ),
    "not-on-register": RuleWords(
        title=_("Not on the register"),
        checks=_(
            "The entry names an item, a person, a place, an election or a seal point that the register does not have. One"
            " finding for each entry. Seal numbers are looked up in their lots by a rule of their own."
        ),
        why=_("A code that nobody knows is a label misread, or a thing that nobody will miss."),
        source=PRACTICE,
        severities=("warning",),
    ),
    "lone-access": RuleWords(
        title=_("A storage place entered alone"),
        checks=_("A vault or a warehouse is entered, and fewer people have signed than policy asks for."),
        why=_("Who goes in, goes in with somebody. A storage room entered without a log was in the press in 2025."),
        source=PRACTICE,
        severities=("warning",),
        policy=("people.access",),
    ),
    "two-places": RuleWords(
        title=_("At two places at once"),
        checks=_(
            "Two entries in a row that a person is named in and signed were made at places with different addresses, with less"
            " time between them than anybody needs to travel. What was typed in from paper is left out."
        ),
        why=_("One of the two has the wrong time or place, or somebody else used the badge."),
        source=OWN,
        severities=("warning",),
        policy=("travel.minutes_at_least",),
    ),
    "tape-signers": RuleWords(
        title=_("A tape signed by too few"),
        checks=_(
            "A zero tape or results tape was signed by fewer people than policy asks for. Those who did the step count, and"
            " observers who signed."
        ),
        why=_(
            "The tape is the first count that the public sees: several people say that it is the one the machine gave."
        ),
        source=_("Georgia Rule 183-1-12-.12: the chief and two witnesses."),
        severities=("warning",),
        policy=("tape.signers",),
    ),
}
