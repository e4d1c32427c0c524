"""Rules about people: two of them, of different affiliation, in the role they act in, and in one place at a time.

Numbers of people count distinct people of one party whose signature counts. Whether an end is signed at all is another
matter, and told once: an end without any signature is no lone custodian.
"""

from __future__ import annotations

from collections.abc import Iterator

from custody.domain.acts import Act
from custody.domain.entries import Access, Count, Seal, Step, ends, named_items, people_of, readings
from custody.domain.entry_findings import entry_finding
from custody.domain.findings import Finding, Severity
from custody.domain.parties import Party
from custody.domain.register import Register
from custody.domain.two_people import people_asked
from custody.domain.vocabulary import Passage, Role


def _signed_of(act: Act, party: Party) -> tuple[str, ...]:
    return tuple(sorted(act.signed_by.intersection(party.people)))


def lone_custodian(act: Act) -> Iterator[Finding]:
    """At least one of a party signed, but fewer than policy asks for what they did. One per end.

    The acts that take two: see `two_people.people_asked`. Texas Election Code 129.051(b); Colorado Election Rules,
    Rule 20; US EAC guidance; for steps, common practice, no published source.
    """
    entry = act.entry
    asked = people_asked(entry, act.found, act.policy, act.site_kind(entry.site))
    if asked is None:
        return
    for end, party in ends(entry):
        signed = _signed_of(act, party)
        if not 0 < len(signed) < asked.number:
            continue
        step = {"step": entry.step.value} if isinstance(entry, Step) else {}
        yield entry_finding(
            act,
            "lone-custodian",
            Severity.CRITICAL,
            more_scope=(end,),
            variant="step" if step else end,
            items=() if step else asked.items,
            people=signed,
            asked=asked.number,
            **step,
        )


def same_affiliation(act: Act) -> Iterator[Finding]:
    """Two or more of a party signed, all of one affiliation, where policy wants them to differ. One per end.

    That is for couriers who do with a controlled thing what takes two (Ohio Revised Code 3505.31), and for whoever
    seals a ballot container (Michigan MCL 168.806a). A person without affiliation differs from everybody.
    """
    for end, party in ends(act.entry):
        signed = _signed_of(act, party)
        affiliations = {_affiliation(act.register, person) for person in signed}
        if len(signed) < 2 or len(affiliations) > 1 or "" in affiliations or not _must_differ(act, party):
            continue
        yield entry_finding(
            act,
            "same-affiliation",
            Severity.WARNING,
            more_scope=(end,),
            variant=end,
            people=signed,
            affiliation=min(affiliations),
        )


def _affiliation(register: Register, person: str) -> str:
    known = register.people.get(person)
    return known.affiliation if known else ""


def _must_differ(act: Act, party: Party) -> bool:
    entry, policy = act.entry, act.policy
    if isinstance(entry, Seal) and any(act.found.kind(each.item) in policy.differ_seal for each in entry.seals):
        return True
    if party.role is not Role.COURIER or not policy.differ_couriers:
        return False
    asked = people_asked(entry, act.found, policy, act.site_kind(entry.site))
    return asked is not None and bool(asked.items)


def not_assigned(act: Act) -> Iterator[Finding]:
    """Nobody of a party has the party's role in this election, or somebody in it has no role at all. One per end.

    At a polling place the role is one at that place, or at no place in particular; elsewhere one at any site. The
    people with a chief may have other roles than the chief's.
    """
    register, election = act.register, act.entry.election
    for end, party in ends(act.entry):
        roles = {person: register.roles.get((election, person), set()) for person in sorted(set(party.people))}
        sites = {"", party.site} if act.is_polling_place(party.site) else None
        fits = any(
            role is party.role and (sites is None or site in sites) for held in roles.values() for role, site in held
        )
        people = tuple(person for person, held in roles.items() if not (fits and held))
        if fits and not people:
            continue
        yield entry_finding(
            act,
            "not-assigned",
            Severity.WARNING,
            more_scope=(end,),
            variant="without" if fits else end if people else "nobody",
            people=people,
            role=party.role.value,
        )


def not_on_register(act: Act) -> Iterator[Finding]:
    """The entry names an item, person, site, election or seal point that the register does not have. One per entry.

    People are those of the parties, observers and the transcriber; visitors are named, not coded. The subject of a
    count may be an item or a site. Of an item that is not there its seal points are not told as well. Seal numbers
    are looked up in their lots by another rule.
    """
    entry, register = act.entry, act.register
    codes = named_items(entry)
    subject = entry.subject if isinstance(entry, Count) else None
    items = {code for code in codes if code not in register.items and (code != subject or act.is_item(code))}
    points = {
        (each.item, each.point)
        for each in readings(entry)
        if (known := register.items.get(each.item)) is not None and each.point not in known.seal_points
    }
    people = {person for person in people_of(entry) if person not in register.people}
    named_sites = {entry.site, *(party.site for _, party in ends(entry))}
    sites = {site for site in named_sites if site is not None and site not in register.sites}
    elections = {entry.election} - register.elections.keys()
    unknown = [*sorted(elections), *sorted(sites), *sorted(people), *sorted(items)]
    unknown += [f"{item} ({point})" for item, point in sorted(points)]
    if unknown:
        yield entry_finding(
            act,
            "not-on-register",
            Severity.WARNING,
            items=items | {item for item, _ in points},
            people=people,
            unknown=unknown,
        )


def lone_access(act: Act) -> Iterator[Finding]:
    """A vault or warehouse is entered, and fewer people of the party than policy asks signed. One per entry.

    Common practice, no published source; a storage room entered without a log was in the press in 2025. Nobody at all
    is fewer, too.
    """
    entry = act.entry
    if not isinstance(entry, Access) or entry.movement is not Passage.ENTER or entry.site is None:
        return
    site = act.register.sites.get(entry.site)
    signed = _signed_of(act, entry.by)
    if site is not None and site.is_storage and len(signed) < act.policy.people_access:
        yield entry_finding(
            act,
            "lone-access",
            Severity.WARNING,
            variant="" if signed else "nobody",
            people=signed,
            place=site.code,
            asked=act.policy.people_access,
        )


def two_places(act: Act) -> Iterator[Finding]:
    """Two entries in a row that a person is named in and signed lie too far apart for the time between them.

    One per person and two entries, at the later of them. Far apart is at two sites with different addresses; a site
    without address differs from every other. What is typed in from paper was signed elsewhere and is left out, and so
    is what has no site. The shortest travel time is policy's at the later entry.
    """
    entry = act.entry
    if entry.site is None or entry.paper is not None:
        return
    for person in sorted(act.signed_by & people_of(entry)):
        before = act.was.person(person)
        minutes = act.policy.travel_minutes_at_least
        if before.last is None or act.moment.time - before.last.time >= minutes * 60:
            continue
        if not _are_apart(act.register, before.site, entry.site):
            continue
        pair = (before.last.entry, act.recorded.id)
        yield Finding(
            rule="two-places",
            scope=(person, *pair),
            severity=Severity.WARNING,
            at=act.moment.time,
            election=entry.election,
            site=entry.site,
            entries=tuple(sorted(pair)),
            people=(person,),
            message="two-places",
            params={"person": person, "before": before.site, "after": entry.site, "minutes": minutes},
        )


def _are_apart(register: Register, one: str, other: str) -> bool:
    if one == other:
        return False
    known = (register.sites.get(site) for site in (one, other))
    addresses = [site.address if site else "" for site in known]
    return addresses[0] != addresses[1] or not addresses[0]


PEOPLE_RULES = (
    lone_custodian,
    same_affiliation,
    not_assigned,
    not_on_register,
    lone_access,
    two_places,
)
