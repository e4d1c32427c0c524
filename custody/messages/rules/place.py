"""Rules about a polling place's day and the night after it: steps, figures, what has not come back."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

from custody.messages.rules.wording import OWN, PRACTICE, RuleWords

TITLE = _("A polling place’s day, and the night after it")
RULES = {
    "step-missing": RuleWords(
        title=_("A step that is not on record"),
        checks=_(
            "A step of opening or closing was not done when it should have been: what policy wants before the polls open; an"
            " auxiliary bin that was opened and not cleared before they closed; opening and closing themselves, an hour after"
            " the scheduled time; what policy wants after the closing, and the closing count, before the first ballot"
            " container leaves. What is done late clears it, where it is still worth doing."
        ),
        why=_("Each step is a look that two people took together. One that was left out cannot be taken afterwards."),
        source=PRACTICE,
        severities=("critical",),
        policy=("steps.before_open", "steps.after_close"),
    ),
    "step-out-of-order": RuleWords(
        title=_("A step of closing before the polls closed"),
        checks=_(
            "A memory device came out, or the results tape was signed, before the polls closed. A device that was replaced by"
            " another in the same scanner is left out."
        ),
        why=_("What is taken out early misses the ballots that come after; more often a time was written down wrong."),
        source=PRACTICE,
        severities=("warning",),
    ),
    "memory-left-in": RuleWords(
        title=_("A memory device left in the scanner"),
        checks=_(
            "After the polls closed at its place, a scanner is sealed or handed over while a memory device is in it on record,"
            " unless policy lets devices stay in."
        ),
        why=_("The results stay behind in a warehouse, and the night office waits for them."),
        source=PRACTICE,
        severities=("critical",),
        policy=("memory.stays_in",),
    ),
    "set-short": RuleWords(
        title=_("Fewer or more ballot containers than counted"),
        checks=_(
            "The ballot containers with a seal of the day are fewer or more than the closing count of the place says."
        ),
        why=_("A container that was forgotten in a corner is found by counting: n of N."),
        source=PRACTICE,
        severities=("critical",),
    ),
    "count-differs": RuleWords(
        title=_("Figures that should be equal and are not"),
        checks=_(
            "One of five comparisons differs: ballots received against cast, spoiled, unused and provisional; the scanners'"
            " counters against ballots cast less those left unscanned; a scanner's lifetime counter against its counter for"
            " this election; ballots counted into containers against ballots cast; and the first count of a container after it"
            " was unsealed to be counted against the last before. When a figure is missing, nothing is compared."
        ),
        why=_("One of the figures is wrong, or something is missing. Which of the two is for people to find out."),
        source=_(
            "The ballot account is on every published form for it (chief judge's worksheet, statement of the vote). Which"
            " figures are compared: common practice, no published source."
        ),
        severities=("critical",),
    ),
    "checkins-differ": RuleWords(
        title=_("More or fewer voters than ballots during the day"),
        checks=_(
            "Before the polls closed, a count of the place shows more or fewer voters checked in than ballots on the public"
            " counter, by more than policy allows."
        ),
        why=_("The hourly comparison finds a machine that swallows ballots while there is still time."),
        source=PRACTICE,
        severities=("notice",),
        policy=("checkins.differ_at_most",),
    ),
    "counter-not-zero": RuleWords(
        title=_("A counter that did not begin at zero"),
        checks=_(
            "On the day of the vote, before the polls open, a public counter at the place reads other than 0. Counts of days"
            " before are tests."
        ),
        why=_("What is on the counter at the opening would be counted as votes of the day."),
        source=_("The zero tape, which is on every published procedure for opening."),
        severities=("critical",),
    ),
    "unreturned": RuleWords(
        title=_("Not yet back"),
        checks=_(
            "After the return deadline an item that policy wants back is owed by a polling place and not back. What comes in at"
            " the deadline itself is in time. It stands until it is back."
        ),
        why=_("The one question of the night: what is not back, and who has it?"),
        source=PRACTICE,
        severities=("critical",),
        policy=("items.*.returned",),
    ),
    "not-read-in": RuleWords(
        title=_("Results not yet read in"),
        checks=_(
            "A memory device that was in a scanner while the polls were open is not on record as read in, when the hours are"
            " over that policy gives after the closing."
        ),
        why=_("A device left in a bag is a polling place left out of the count."),
        source=_("Texas Election Code 66.053: at most 24 hours."),
        severities=("warning",),
        policy=("read_in.hours",),
    ),
    "unopened": RuleWords(
        title=_("Received and never opened"),
        checks=_(
            "What was received under a seal of the day at a receiving station or count center was neither unsealed nor handed"
            " on, when the hours are over that policy gives after the closing."
        ),
        why=_("Delivered and opened are two things: sealed bags were delivered and never opened (Madison, 2024)."),
        source=OWN,
        severities=("warning",),
        policy=("opened.hours",),
    ),
}
