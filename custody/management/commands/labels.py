"""`labels`: sheets of labels for items, and practice sheets of seal numbers."""

from __future__ import annotations

from argparse import ArgumentParser, ArgumentTypeError
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError

from custody.domain.labels import read_code
from custody.domain.vocabulary import ItemKind
from custody.management.command import USE_AT_FAULT, host_name
from custody.management.print_command import PrintCommand
from custody.messages.words import WORDS
from custody.paper.labels import Label, print_labels
from custody.paper.practice import Number, print_practice_sheet
from custody.queries.printing import list_items_to_print, list_seals_to_print
from custody.queries.shown import Shown

SEALS = 80
"""Numbers on a practice sheet: more than a polling place uses."""


class Command(PrintCommand):
    help = (
        "Prints labels of items as a PDF. The QR code holds the address of the item's page, in capitals, at the host that"
        " --host names; the code stands beside it. With --seals, a sheet of seal numbers to practise with."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--kind", choices=sorted(ItemKind), metavar="K", help="only of this kind")
        parser.add_argument("--item", action="append", default=[], metavar="CODE", help="this item; may be given again")
        parser.add_argument(
            "--host",
            type=host_and_port,
            metavar="HOST[:PORT]",
            help=f"host in the labels' addresses (here {usual_host()})",
        )
        parser.add_argument("--seals", metavar="SITE", help="a practice sheet of this place's seals instead of labels")

    def handle(self, *args: Any, **options: Any) -> None:
        shown = self.shown(options)
        if options["seals"]:
            return self._practise(shown, options)
        try:
            codes = [read_code(each) for each in options["item"]]
        except ValueError as error:
            raise CommandError(str(error), returncode=USE_AT_FAULT) from None
        items = list_items_to_print(shown.jurisdiction, site=options["site"], kind=options["kind"], codes=codes)
        missing = sorted(set(codes) - {each.code for each in items})
        if missing:
            raise CommandError(f"The register has no item {', '.join(missing)}.", returncode=USE_AT_FAULT)
        host = (options["host"] or usual_host()).upper()
        labels = [
            Label(
                code=each.code,
                address=f"HTTPS://{host}/Q/{each.code}",
                kind=str(WORDS[each.kind]).capitalize(),
                description=each.description,
                tag=each.tag,
                office=shown.name,
            )
            for each in items
        ]
        self.write_pdf(print_labels(labels, paper=options["paper"]), len(labels), "labels", options)

    def _practise(self, shown: Shown, options: dict[str, Any]) -> None:
        seals = list_seals_to_print(shown.log, shown.jurisdiction, options["seals"], most=SEALS)
        numbers = [Number(number=each.number, maker=each.maker, place=each.where) for each in seals]
        document = print_practice_sheet(numbers, paper=options["paper"])
        self.write_pdf(document, len(numbers), "seal numbers", options)


def host_and_port(text: str) -> str:
    """As `type` of an argument."""
    host, colon, port = text.partition(":")
    if colon and not (port.isascii() and port.isdigit()):
        raise ArgumentTypeError(f"{port!r} is not a port")
    return f"{host_name(host)}{colon}{port}"


def usual_host() -> str:
    """The first host of `CUSTODY_HOSTS` that others reach, else that of `CUSTODY_ORIGIN`."""
    local = {"localhost", "127.0.0.1", "[::1]"}
    return next(
        (host for host in settings.ALLOWED_HOSTS if host not in local and "*" not in host), settings.CUSTODY_ORIGIN
    )
