"""The words of the findings about signatures and people."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

_SIGN = _("Ask one of them to sign this entry now: a signature can still be added.")
_ALL_SIGN = _("Ask them to sign this entry now: a signature can still be added. If they were not there, say who was.")
_SECOND = _("If a second person was there, have them sign and say so in a note. If not, tell the office.")
_DIFFER = _("If somebody of another affiliation was there, say so in a note. If not, tell the office.")
_ASSIGN = _(
    "Check the assignments of this election. If one was forgotten, put it on the register; this line then goes."
)
_KEY = _("Have the entry signed again with a key that is valid, and check how the old one came to be used.")
_TOGETHER = _("Have the amendment signed by them as well: a signature can still be added.")

MESSAGES = {
    "end-unsigned.release": (_("Nobody at the releasing end has signed yet: {people}."), _SIGN),
    "end-unsigned.receive": (_("Nobody at the receiving end has signed yet: {people}."), _SIGN),
    "end-unsigned.by": (_("Nobody who did this has signed yet: {people}."), _SIGN),
    "end-unsigned.transcriber": (
        _("The person who typed in the paper form has not signed yet: {people}."),
        _("Ask them to compare the entry with the form and to sign it."),
    ),
    "end-unsigned.nobody": (
        _("One end of this entry names nobody, so that nobody could sign it."),
        _("Find out who it was, and have the act recorded again with their names."),
    ),
    "signer-missing.release": (_("At the releasing end these are named but have not signed yet: {people}."), _ALL_SIGN),
    "signer-missing.receive": (_("At the receiving end these are named but have not signed yet: {people}."), _ALL_SIGN),
    "signer-missing.by": (_("These are named but have not signed yet: {people}."), _ALL_SIGN),
    "same-person-both-ends": (
        _("The same person is named as giving and as receiving: {people}."),
        _("Have somebody else who was there vouch for one of the ends, in an entry of their own."),
    ),
    "lone-custodian.release": (_("Given up by {people} alone, where {asked} people are asked for: {items}."), _SECOND),
    "lone-custodian.receive": (_("Received by {people} alone, where {asked} people are asked for: {items}."), _SECOND),
    "lone-custodian.by": (_("Handled by {people} alone, where {asked} people are asked for: {items}."), _SECOND),
    "lone-custodian.step": (_("The step “{step}” takes {asked} people; signed by {people} alone."), _SECOND),
    "same-affiliation.release": (
        _("Those who gave this up are all of one affiliation, {affiliation}: {people}."),
        _DIFFER,
    ),
    "same-affiliation.receive": (
        _("Those who received this are all of one affiliation, {affiliation}: {people}."),
        _DIFFER,
    ),
    "same-affiliation.by": (_("Those who did this are all of one affiliation, {affiliation}: {people}."), _DIFFER),
    "not-assigned.release": (_("At the releasing end nobody is assigned there as {role}: {people}."), _ASSIGN),
    "not-assigned.receive": (_("At the receiving end nobody is assigned there as {role}: {people}."), _ASSIGN),
    "not-assigned.by": (_("Nobody who did this is assigned there as {role}: {people}."), _ASSIGN),
    "not-assigned.without": (_("Named in this entry, but assigned to nothing in this election: {people}."), _ASSIGN),
    "not-assigned.nobody": (
        _("One end of this entry names a {role}, but no people."),
        _("Find out who it was, and have the act recorded again with their names."),
    ),
    "not-on-register": (
        _("Not on the register: {unknown}."),
        _("Read the label once more. If it was misread, amend the entry; if it is new, put it on the register."),
    ),
    "key-not-valid.early": (_("Signed by {people} with a key that was not valid yet."), _KEY),
    "key-not-valid.expired": (_("Signed by {people} with a key that was no longer valid."), _KEY),
    "key-not-valid.revoked": (_("Signed by {people} with a key that had been revoked."), _KEY),
    "key-not-valid.late": (
        _(
            "Signed by {people} with a key that was revoked since; the signature came more than {hours} hours after that."
        ),
        _KEY,
    ),
    "lone-access": (
        _("{place} was entered by {people} alone, where {asked} people are asked for."),
        _("If a second person was there, have them sign the access log. If not, tell the office."),
    ),
    "lone-access.nobody": (
        _("{place} was entered, and none of the {asked} people who are asked for has signed."),
        _("Ask those who went in to sign the access log now."),
    ),
    "two-places": (
        _("{person} signed at {before} and at {after} with less than {minutes} minutes between."),
        _("Check the time and the place of both entries; amend the one that was written down wrong."),
    ),
    "amended-by-others.others": (
        _("The amendment is signed by {people}, none of whom signed the entry."),
        _("Have somebody who signed the entry sign the amendment as well."),
    ),
    "amended-by-others.nobody": (
        _("Nobody who is named in the amendment has signed it."),
        _("Have somebody who signed the entry sign the amendment."),
    ),
    "amended-by-others.ends": (
        _("The amendment changes what both ends vouched for; it is signed by {people}, not by somebody of each end."),
        _TOGETHER,
    ),
    "amended-by-others.few": (
        _("The amendment changes what {asked} people had to write down together; it is signed by {people}."),
        _TOGETHER,
    ),
    "amend-void": (
        _("The amendment changes nothing: the entry would not be well formed with it, or it leads back to itself."),
        _("Look at what it was meant to put right, and make a new amendment."),
    ),
    "amend-void.absent": (
        _("The amendment changes nothing yet: the entry that it names is not on record."),
        _("If that entry is still on a phone without a network, wait for it; else check which one was meant."),
    ),
}
