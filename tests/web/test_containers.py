"""A container's certificate: what went in and out, seals, openings, counts, who signed, and what is in it now."""

from __future__ import annotations

import re

from django.test import Client
from django.urls import reverse

from custody.paper.qr import QUIET_MODULES, make_symbol, symbol_path
from tests.web.evening import NAMES, Evening
from tests.web.test_pages import html_of, strip, text_of


def rows_of(html: str) -> list[str]:
    """The rows of its log as a reader sees them, without the time."""
    log = html[html.index('<section aria-labelledby="log">') :]
    return [strip(row).partition("CST ")[2] for row in re.findall(r'<tr role="row">\s*<td.*?</tr>', log, re.DOTALL)]


def test_a_case_names_what_went_in_its_seal_and_who_signed(client: Client, evening: Evening) -> None:
    kit = evening.world.kits["P02"]
    number = evening.world.in_place[kit.case, "latch"]
    rows = rows_of(html_of(client, reverse("container", args=[kit.case])))
    packed, sealed, handed_over = rows[-3:]
    assert f"in: {kit.envelope} envelope {NAMES['CHIEF-P02']} CHIEF-P02 , WORKER-1-P02" in packed
    assert f"latch {number[:4]} {number[4:]} put on" in sealed
    assert f"latch {number[:4]} {number[4:]} read" in handed_over
    # The second of the drivers was named and has not signed.
    assert "DRIVER-2-P02 not signed" in handed_over and "DRIVER-1-P02 not signed" not in handed_over


def test_what_is_in_it_stands_in_a_nest(client: Client, evening: Evening) -> None:
    kit = evening.world.kits["P02"]
    html = html_of(client, reverse("container", args=[kit.case]))
    nest = html[html.index('<ul class="nest">') : html.index('<section aria-labelledby="log">')]
    assert nest.count('<ul class="nest">') == 2
    inner = nest[nest.index('<ul class="nest">', 1) :]
    assert re.findall(r'href="/items/(\w+)/"', inner) == sorted([kit.memory, kit.tape])
    assert re.findall(r'href="/items/(\w+)/"', nest)[0] == kit.envelope


def test_a_ballot_container_tells_its_count_and_that_it_was_shown_empty(client: Client, evening: Evening) -> None:
    box = evening.world.kits["P01"].containers[0]
    html = html_of(client, reverse("container", args=[box]))
    text = strip(html)
    # As the worksheet of tests/world.py has it: 300 of 512 ballots are in the first of two boxes.
    assert "Ballots at the last count 300" in text and "ballots in the container: 300" in text
    assert "Step done: shown empty" in text
    assert "Opened 0 times, by taking a seal off" in text
    assert "no item that is tracked singly, as far as is on record" in text


def test_an_opening_is_counted_and_what_came_out_is_named(client: Client, evening: Evening) -> None:
    kit = evening.world.kits["P01"]
    html = html_of(client, reverse("container", args=[kit.scanner]))
    text = strip(html)
    assert "Opened 1 time, by taking a seal off" in text
    assert f"out: {kit.memory} memory device" in text and f"in: {kit.memory} memory device" in text
    assert "taken off" in text


def test_a_thing_that_holds_nothing_has_its_own_page_instead(client: Client, evening: Evening) -> None:
    keys = evening.world.kits["P01"].keys
    assert client.get(f"/containers/{keys}/").headers["Location"] == f"/items/{keys}/"
    assert "/containers/" not in html_of(client, f"/items/{keys}/")
    case = evening.world.kits["P01"].case
    assert f'href="/containers/{case}/"' in html_of(client, f"/items/{case}/")


def test_a_container_without_entries_says_when_its_log_begins(client: Client, evening: Evening) -> None:
    text = text_of(client, f"/containers/{evening.world.spare.case}/")
    assert "Nothing on record about this container yet." in text and "nobody on record yet" in text


def test_a_container_that_nobody_knows_is_not_found(client: Client, evening: Evening) -> None:
    assert "There is no such page" in text_of(client, "/containers/BC999999/", 404)


def test_the_code_on_the_certificate_is_the_label_of_the_item(client: Client, evening: Evening) -> None:
    box = evening.world.kits["P01"].containers[0]
    symbol = make_symbol(f"HTTPS://TESTSERVER/Q/{box}")
    drawn = f'<path d="{symbol_path(symbol)}" fill="#000"/>'
    assert drawn in html_of(client, f"/containers/{box}/")
    assert client.get(f"/Q/{box}").status_code == 200
    # Drawn back from the path, module by module, it is the symbol.
    dark = {
        (int(row), int(column) + each)
        for column, row, length in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\3z", symbol_path(symbol))
        for each in range(int(length))
    }
    cells = enumerate(symbol.rows)
    assert dark == {
        (row + QUIET_MODULES, column + QUIET_MODULES)
        for row, cells_of_row in cells
        for column, is_dark in enumerate(cells_of_row)
        if is_dark
    }
