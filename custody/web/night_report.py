"""The report at the end of a night, as a page, as paper and as a table for other programs; and who follows each line up."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from custody.paper.night_report import PAPERS, PaperLine, PaperReport, PaperSection, print_report
from custody.queries.names import Names
from custody.queries.night_report import Heading, NightReport, ReportLine, get_report
from custody.queries.outstanding import Holder
from custody.queries.rights import visitor_of
from custody.queries.shown import Shown
from custody.services.set_follow_up import MOST_LETTERS, set_follow_up
from custody.web.access import may_see_people, page
from custody.web.listing import name_all
from custody.web.people import office
from custody.web.tags import local_time, say_time
from custody.web.words import SEVERITIES, word

LINES = 100
"""So many lines of one heading on the page; paper and table have all."""

TITLES = {
    Heading.OUTSTANDING: gettext_lazy("Not back yet"),
    Heading.KEYS: gettext_lazy("Keys out"),
    Heading.DIFFERING: gettext_lazy("Seals, contents and counts that differ"),
    Heading.UNSIGNED: gettext_lazy("Signatures that are missing or do not count"),
    Heading.UNOPENED: gettext_lazy("Not opened or not read in"),
    Heading.TIMES: gettext_lazy("Times and steps that do not fit"),
    Heading.OTHER: gettext_lazy("Other findings"),
}
COLUMNS = (
    "heading",
    "key",
    "rule",
    "severity",
    "since",
    "place",
    "place_name",
    "items",
    "what",
    "next",
    "held_by",
    "waiting",
    "followed_up_by",
)
FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a spreadsheet takes a cell that begins so for (OWASP, “CSV Injection”)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineShown:
    """A line in words; `people` and `holder` stand apart, since not everybody may see names."""

    line: ReportLine
    what: str
    next: str
    since: int
    site: str | None
    items: tuple[str, ...]
    people: tuple[str, ...]
    holder: Holder | None
    rule: str
    severity: str
    waiting: bool
    overdue: bool


def _shown(line: ReportLine) -> LineShown:
    if line.thing is not None:
        thing = line.thing
        within = f", {_('in')} {thing.container}" if thing.container else ""
        return LineShown(
            line=line,
            what=f"{word(thing.kind).capitalize()} {thing.item}{within}",
            next="",
            since=thing.since,
            site=thing.site,
            items=(thing.item,),
            people=(),
            holder=thing.holder,
            rule="",
            severity="",
            waiting=False,
            overdue=thing.overdue,
        )
    assert line.found is not None
    finding = line.found.finding
    return LineShown(
        line=line,
        what=line.found.message,
        next=line.found.next,
        since=finding.at,
        site=finding.site,
        items=finding.items,
        people=finding.people,
        holder=None,
        rule=finding.rule,
        severity=finding.severity.value,
        waiting=line.found.waiting,
        overdue=False,
    )


def _report(shown: Shown) -> NightReport:
    report = get_report(shown.log, now=shown.now) if shown.log else None
    if report is None:
        raise Http404("nothing on record")
    return report


@page
def show_report(request: HttpRequest, shown: Shown) -> HttpResponse:
    report = get_report(shown.log, now=shown.now) if shown.log else None
    if report is None:
        return render(request, "night/nothing.html", {"shown": shown, "section": "night"})
    return _show(request, shown, report)


def _show(request: HttpRequest, shown: Shown, report: NightReport, problem: str = "") -> HttpResponse:
    personal = may_see_people(request, shown)
    sections = []
    for heading in Heading:
        lines = [each for each in report.lines if each.heading is heading]
        rows = [_shown(each) for each in lines[:LINES]]
        sections.append(
            {
                "id": heading.value,
                "title": TITLES[heading],
                "rows": rows,
                "count": len(lines),
                "more": len(lines[LINES:]),
            }
        )
    context = {
        "shown": shown,
        "section": "night",
        "now": shown.now,
        "names": name_all(shown, [row for each in sections for row in _rows(each)], personal=personal),
        "report": report,
        "sections": sections,
        "count": len(report.lines),
        "nobody": sum(not each.who for each in report.lines),
        "personal": personal,
        "staff": visitor_of(request.user).staff,
        "most": MOST_LETTERS,
        "papers": PAPERS,
        "problem": problem,
        "typed": request.POST,
    }
    status = HTTPStatus.UNPROCESSABLE_ENTITY if problem else HTTPStatus.OK
    return render(request, "night/report.html", context, status=status)


def _rows(section: dict[str, Any]) -> Iterable[LineShown]:
    rows: Iterable[LineShown] = section["rows"]
    return rows


@office
@require_POST
def follow_up(request: HttpRequest, shown: Shown) -> HttpResponse:
    """Note who follows a line up. It closes nothing: only an entry on record does."""
    report = _report(shown)
    key, who = request.POST.get("key", ""), " ".join(request.POST.get("who", "").split())
    line = next((each for each in report.lines if each.key == key), None)
    if line is None:
        return _show(
            request, shown, report, _("This line is no longer in the report: an entry has settled it meanwhile.")
        )
    if len(who) > MOST_LETTERS or not who.isprintable():
        said = _("Followed up by: at most %(most)d letters, without control characters.")
        return _show(request, shown, report, said % {"most": MOST_LETTERS})
    assert shown.log is not None
    set_follow_up(shown.log, key, who)
    return redirect(f"{reverse('night-report')}#{line.heading.value}")


@page
def report_csv(request: HttpRequest, shown: Shown) -> HttpResponse:
    """RFC 4180, UTF-8; all lines. No cell is a formula to a spreadsheet."""
    report, personal = _report(shown), may_see_people(request, shown)
    rows = [_shown(each) for each in report.lines]
    names = name_all(shown, rows, personal=personal)
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in rows:
        cells = (
            row.line.heading.value,
            row.line.key,
            row.rule,
            row.severity,
            local_time(row.since, shown.timezone).isoformat(),
            row.site or "",
            _site(row.site, names),
            " ".join(row.items),
            row.what,
            row.next,
            _party(row, names),
            "yes" if row.waiting else "",
            _who(row, personal=personal),
        )
        writer.writerow([_harmless(cell) for cell in cells])
    return _file(file.getvalue().encode(), "text/csv; charset=utf-8", report, shown, "csv")


def _harmless(cell: str) -> str:
    return f"'{cell}" if cell.startswith(FORMULA) else cell


@page
def report_pdf(request: HttpRequest, shown: Shown) -> HttpResponse:
    """All lines on paper, for those who go on in the morning."""
    paper = request.GET.get("paper", PAPERS[0])
    if paper not in PAPERS:
        raise Http404(paper)
    report, personal = _report(shown), may_see_people(request, shown)
    rows = [_shown(each) for each in report.lines]
    names = name_all(shown, rows, personal=personal)
    sections = [
        PaperSection(
            title=str(TITLES[heading]),
            lines=[_on_paper(each, names, shown, personal=personal) for each in rows if each.line.heading is heading],
        )
        for heading in Heading
    ]
    signed = _("none signed yet")
    if report.signed:
        signed = _("last signed at %(size)d lines, %(time)s") % {
            "size": report.signed[0],
            "time": say_time(report.signed[1], shown.timezone),
        }
    document = PaperReport(
        title=_("End of night: %(election)s") % {"election": report.election.name},
        office=shown.name,
        rehearsal=shown.rehearsal,
        as_of=say_time(shown.now, shown.timezone),
        deadline=say_time(report.election.return_deadline, shown.timezone),
        origin=report.origin,
        size=report.size,
        root=report.root,
        signed=signed,
        sections=sections,
    )
    return _file(print_report(document, paper=paper), "application/pdf", report, shown, "pdf")


def _on_paper(row: LineShown, names: Names, shown: Shown, *, personal: bool) -> PaperLine:
    marks = [str(SEVERITIES[row.severity])] if row.severity else []
    marks += [_("Waiting")] if row.waiting else []
    marks += [_("Overdue")] if row.overdue else []
    return PaperLine(
        mark=", ".join(marks),
        what=row.what,
        where=_site(row.site, names) or _("on the way"),
        since=say_time(row.since, shown.timezone, now=shown.now),
        held=_party(row, names),
        who=_who(row, personal=personal),
    )


def _site(code: str | None, names: Names) -> str:
    known = names.sites.get(code or "")
    return f"{known.name} ({code})" if known else code or ""


def _party(row: LineShown, names: Names) -> str:
    """Who holds it or had a part in it, by name or by code."""
    codes = row.holder.people if row.holder else row.people
    people = ", ".join(names.people.get(code, code) for code in codes)
    return f"{word(row.holder.role)}: {people}" if row.holder else people


def _who(row: LineShown, *, personal: bool) -> str:
    return row.line.who if personal or not row.line.who else _("somebody of the office")


def _file(content: bytes, kind: str, report: NightReport, shown: Shown, ending: str) -> HttpResponse:
    stamp = local_time(shown.now, shown.timezone).strftime("%Y-%m-%d-%H%M")
    name = "".join(each if each.isascii() and each.isalnum() else "-" for each in report.election.code)
    headers = {"Content-Disposition": f'attachment; filename="night-{name}-{stamp}.{ending}"'}
    return HttpResponse(content, content_type=kind, headers=headers)
