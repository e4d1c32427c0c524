"""`badges`: name cards of people; for the demo its badges, whose secrets are public."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from custody.domain.vocabulary import Role
from custody.management.command import USE_AT_FAULT
from custody.management.print_command import PrintCommand
from custody.messages.words import WORDS
from custody.paper.cards import Card, print_cards
from custody.queries.places import find_election
from custody.queries.printing import PrintedPerson, list_people_to_print
from custody.queries.shown import Shown
from custody.registers import get_register


class Command(PrintCommand):
    help = (
        "Prints name cards of the people in the election that is on, as a PDF. The secret of a badge is on none of them: it is"
        " made and printed by the page that enrols the badge. Only the demo's badges, which are public, are printed whole."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--role", choices=sorted(Role), metavar="R", help="only in this role")
        parser.add_argument(
            "--person", action="append", default=[], metavar="CODE", help="this person; may be given again"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        shown = self.shown(options)
        election = find_election(shown)
        codes = [each.strip().upper() for each in options["person"]]
        chosen = {"site": options["site"], "role": options["role"], "codes": codes}
        found = list_people_to_print(shown.jurisdiction, election[0], **chosen) if election else []
        if missing := sorted(set(codes) - {each.code for each in found}):
            raise CommandError(f"There is no card to print for {', '.join(missing)}.", returncode=USE_AT_FAULT)
        public = public_badges(shown)
        cards = [_card(shown, each, *public.get(each.code, ("", ""))) for each in found]
        self.write_pdf(print_cards(cards, paper=options["paper"]), len(cards), "cards", options)


def _card(shown: Shown, person: PrintedPerson, secret: str, pin: str) -> Card:
    return Card(
        code=person.code,
        name=person.name,
        role=str(WORDS[person.role]).capitalize(),
        place=person.place,
        office=shown.name,
        affiliation=person.affiliation,
        secret=secret,
        pin=pin,
    )


def public_badges(shown: Shown) -> dict[str, tuple[str, str]]:
    """Text and PIN of the badges that anybody knows, by person: the demo's, where its keys are on this very register."""
    from custody.management.commands.demo import story

    county = story("county")
    if shown.jurisdiction != county.JURISDICTION:
        return {}
    keys = {key.public_key: key.person for key in get_register(shown.jurisdiction).keys.values() if not key.revoked_at}
    return {
        badge.person: (badge.text, badge.pin)
        for badge in county.list_badges()
        if keys.get(badge.signer.public_key) == badge.person
    }
