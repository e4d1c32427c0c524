"""Rules about signatures: who has to sign an entry, whether their keys counted, and who may put an entry right.

Each looks at one entry by itself. Whether a signature verifies is settled before an entry is recorded; a signature that
does not count (`key_not_valid`) counts for no rule, nor does that of somebody whom the entry does not name.

Sources: a signature at both ends of each transfer is common practice of the trade, no published source; transfer forms
that lacked one were found by published audits of 2020.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from custody.domain.acts import Act
from custody.domain.entries import Amend, Handoff, ends, people_of
from custody.domain.entry_findings import entry_finding
from custody.domain.findings import Finding, Severity
from custody.domain.recorded import Recorded, key_fault, signers
from custody.domain.register import Key
from custody.domain.two_people import people_asked
from custody.domain.views import View
from custody.domain.vocabulary import Purpose


def end_unsigned(act: Act) -> Iterator[Finding]:
    """Nobody named at one end of a handoff, or in `by` of any other entry, has signed it. One per end.

    Critical; a warning where a paper form, by its number and a photo, shows what was signed by hand. A warning too when
    the `transcriber` has not signed: who typed a form in answers for that, not for what it says. An end that names
    nobody at all is unsigned.
    """
    entry = act.entry
    on_paper = entry.paper is not None and bool(entry.photos)
    severity = Severity.WARNING if on_paper else Severity.CRITICAL
    for end, party in ends(entry):
        if not party.people:
            yield entry_finding(act, "end-unsigned", severity, more_scope=(end,), variant="nobody")
        elif act.signed_by.isdisjoint(party.people):
            yield _at_end(act, "end-unsigned", severity, end, party.people)
    if entry.transcriber is not None and entry.transcriber not in act.signed_by:
        yield _at_end(act, "end-unsigned", Severity.WARNING, "transcriber", (entry.transcriber,))


def signer_missing(act: Act) -> Iterator[Finding]:
    """An end is signed, but somebody named at it has not signed. One per end."""
    for end, party in ends(act.entry):
        missing = set(party.people) - act.signed_by
        if missing and not act.signed_by.isdisjoint(party.people):
            yield _at_end(act, "signer-missing", Severity.WARNING, end, missing)


def _at_end(act: Act, rule: str, severity: Severity, end: str, people: Iterable[str]) -> Finding:
    return entry_finding(act, rule, severity, more_scope=(end,), variant=end, people=people)


def same_person_both_ends(act: Act) -> Iterator[Finding]:
    """One person is named at both ends of a handoff, and so vouches for what they gave themselves.

    A relief at a post is left out where each end also has a person of its own who signed: the one who stays hands over
    and takes over with both.
    """
    entry = act.entry
    if not isinstance(entry, Handoff):
        return
    release, receive = set(entry.release.people), set(entry.receive.people)
    both = release & receive
    if not both:
        return
    own_signed = [bool(own & act.signed_by) for own in (release - both, receive - both)]
    if entry.purpose is Purpose.RELIEVE and all(own_signed):
        return
    yield entry_finding(act, "same-person-both-ends", Severity.CRITICAL, people=both)


def key_not_valid(act: Act) -> Iterator[Finding]:
    """A signature was made outside the time of its key, or reached the log too long after that key was revoked.

    One per key. The time that counts is `at` as signed, whatever an amendment makes of it: before `valid_from`, at or
    after `valid_until` or `revoked_at`. A phone without a network may bring what was signed before a revocation later,
    but no later than policy's limit for late entries. Keys of people whom the entry does not name are looked at too.
    """
    at, late_seconds = act.recorded.signed.at, act.policy.late_entry_hours * 3600
    for signature in act.recorded.signatures:
        key = act.register.keys.get(signature.keyid)
        if key is not None and key_fault(key, signature, at, late_seconds):
            yield entry_finding(
                act,
                "key-not-valid",
                Severity.CRITICAL,
                more_scope=(key.keyid,),
                variant=_fault(key, at),
                people=[key.person],
                hours=act.policy.late_entry_hours,
            )


def _fault(key: Key, at: int) -> str:
    if key.valid_from is not None and at < key.valid_from:
        return "early"
    if key.valid_until is not None and at >= key.valid_until:
        return "expired"
    revoked = key.revoked_at is not None and at >= key.revoked_at
    return "revoked" if revoked else "late"


BOTH_ENDS_MEMBERS = frozenset({"items", "loose_seals", "at"})
"""What both ends of a handoff vouch for; to change it takes somebody of each."""

PAIR_MEMBERS = frozenset({"seals", "figures"})
"""What a pair reads together; to change it takes as many as to write it down."""


def amended_by_others(act: Act) -> Iterator[Finding]:
    """An amendment is signed by nobody who signed the entry, or by too few for what it changes. One per amendment.

    - It takes somebody who is named in both, and signed both.
    - To replace a handoff's `items`, `loose_seals` or `at` takes somebody named at each of its ends.
    - To replace `seals` or `figures` takes as many people of the amending party as policy, at its time, asks for the
      amended entry: for what it said as signed or says now, whichever is more.

    An amendment of an amendment is looked at by the first of these alone. One that changes nothing is looked at too,
    unless the entry that it names is not on record.
    """
    entry, target, met = act.entry, act.target, act.target_was
    if not isinstance(entry, Amend) or target is None or met is None:
        return
    signed = act.signed_by & people_of(entry)
    replaced = entry.replaces.keys()
    asked = _people_asked_of(act, target, met) if replaced & PAIR_MEMBERS else 0
    if signed.isdisjoint(signers(target, act.register) & people_of(target.signed)):
        variant = "others" if signed else "nobody"
    elif replaced & BOTH_ENDS_MEMBERS and isinstance(target.entry, Handoff) and _end_without(target.entry, signed):
        variant = "ends"
    elif len(signed.intersection(entry.by.people)) < asked:
        variant = "few"
    else:
        return
    yield entry_finding(act, "amended-by-others", Severity.WARNING, variant=variant, people=signed, asked=asked)


def _end_without(handoff: Handoff, signed: frozenset[str]) -> bool:
    return any(signed.isdisjoint(party.people) for _, party in ends(handoff))


def _people_asked_of(act: Act, target: Recorded, met: View) -> int:
    policy = act.register.policies.at(target.time)
    forms = (target.signed, target.entry)
    asked = (people_asked(form, met, policy, act.site_kind(form.site)) for form in forms)
    return max(each.number if each else 1 for each in asked)


def amend_void(act: Act) -> Iterator[Finding]:
    """An amendment changes nothing: it would leave the entry ill-formed, or names one that is not on record.

    One that leads back to itself changes nothing either, and is told the same way.
    """
    if isinstance(act.entry, Amend) and act.void:
        variant = "absent" if act.target is None else ""
        yield entry_finding(act, "amend-void", Severity.NOTICE, variant=variant)


SIGNATURE_RULES = (
    end_unsigned,
    signer_missing,
    same_person_both_ends,
    key_not_valid,
    amended_by_others,
    amend_void,
)
