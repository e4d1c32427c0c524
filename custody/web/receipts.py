"""The receipt of a handoff, to print or to show: what was taken, by whom, and the proof that it is on record."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from custody import clock
from custody.paper.qr import make_dense_symbol
from custody.queries.entry import get_entry
from custody.queries.findings import Wanted
from custody.queries.outstanding import list_outstanding
from custody.queries.proofs import prove_entry
from custody.queries.receipts import owing_places
from custody.queries.rights import is_own_entry
from custody.queries.shown import Shown
from custody.services.sign_checkpoint import sign_checkpoint
from custody.web.access import findings_seen, may_see_people, own_only, page
from custody.web.codes import draw_code
from custody.web.facts import heading, list_facts
from custody.web.listing import find_findings, name_all

SHOWN_FACTS = ("party", "items", "seals", "loose", "codes")


@page
def show_receipt(request: HttpRequest, shown: Shown, entry_id: str) -> HttpResponse:
    entry = get_entry(shown.log, entry_id) if shown.log else None
    if entry is None or shown.log is None:
        waiting = {"shown": shown, "section": "receipt", "entry_id": entry_id}
        return render(request, "entries/no_receipt.html", waiting, status=404)
    own_only(request, own=lambda standing: is_own_entry(standing, entry.people, entry.sites))
    places = owing_places(shown.log, entry.items)
    short = [each for each in list_outstanding(shown.log, now=shown.now) if each.site in places]
    found = findings_seen(request, find_findings(shown, Wanted(entry=entry.id)))
    proof = prove_entry(shown.log, entry.id, sign_checkpoint(shown.log, now=clock.now()))
    context = {
        "shown": shown,
        "section": "receipt",
        "now": shown.now,
        "names": name_all(shown, [entry, *short], personal=may_see_people(request, shown)),
        "entry": entry,
        "heading": heading(entry.kind, entry.members),
        "facts": [fact for fact in list_facts(entry.members) if fact.kind in SHOWN_FACTS],
        "findings": found,
        "short": short,
        "proof": proof,
        "picture": draw_code(make_dense_symbol(proof)),
    }
    return render(request, "entries/receipt.html", context)
