"""One item's custody as a picture: lanes over time for where it was, who held it, what it was in, the seal at each point,
and what was found about it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from django.utils.translation import gettext, ngettext

from custody.queries.history import Event
from custody.queries.outstanding import Holder
from custody.web.listing import SEVERITIES, FindingRow
from custody.web.tags import finding_url
from custody.web.timeline import (
    Bar,
    Noted,
    Picture,
    Row,
    Scale,
    Stretch,
    describe,
    draw_bar,
    draw_marks,
    draw_ticks,
    lay_out,
    make_scale,
)
from custody.web.words import SEVERITIES as SEVERITY_WORDS

SEPARATOR = "\n"
"""Between a holder's role and people, which make one lane together."""
ON_THE_WAY = ""
ORDER = ("site", "holder", "container", "seal")

HolderWords = Callable[[Holder], tuple[str, str]]


def draw_band(
    code: str,
    events: Sequence[Event],
    *,
    now: int,
    timezone: str,
    holder_words: HolderWords,
    site_words: Callable[[str], str],
    entry_url: Callable[[str], str],
    findings: Iterable[FindingRow] = (),
) -> Picture | None:
    """The band of an item's events, in order; without events, nothing. `entry_url` says where more of an entry stands."""
    if not events:
        return None
    scale = make_scale([*(each.at for each in events), max(now, events[-1].at)], timezone)
    stretches = _stretches(events, holder_words, entry_url)
    holders = len({each.lane for each in stretches if each.kind == "holder"})
    seals = len({each.value for each in stretches if each.kind == "seal"})
    summary = ngettext("Held by %(holders)d party", "Held by %(holders)d parties in turn", holders) % {
        "holders": holders
    }
    summary += ngettext(", under %(seals)d seal.", ", under %(seals)d seals.", seals) % {"seals": seals}
    rows, found = _rows(stretches, scale, site_words), list(findings)
    if found:
        rows.append(_findings(found, scale))
    lanes, height = lay_out(rows)
    return Picture(
        title=gettext("Custody of %(code)s over time") % {"code": code},
        description=f"{scale.span} {describe(lanes)}",
        summary=summary,
        height=height,
        lanes=lanes,
        ticks=tuple(draw_ticks(scale)),
        keys=(
            gettext("framed, with a code in it: the place; a gap: on the way"),
            gettext("filled: who holds it"),
            gettext("outlined: what it is in"),
            gettext("hatched: a seal in place, with an upright stroke where it went on"),
        ),
        shapes=tuple((each, each, str(SEVERITY_WORDS[each])) for each in SEVERITIES) if found else (),
    )


def _stretches(events: Sequence[Event], holder_words: HolderWords, entry_url: Callable[[str], str]) -> list[Stretch]:
    """What stood how long in which lane, from the event that brought it until the one that ended it."""
    found: list[Stretch] = []
    running: dict[tuple[str, str], tuple[str, int]] = {}

    def end(where: tuple[str, str], index: int) -> None:
        value, start = running.pop(where)
        href = entry_url(events[start].entry)
        found.append(Stretch(kind=where[0], lane=where[1], value=value, start=start, end=index, href=href))

    for index, event in enumerate(events):
        standing = _standing(event, holder_words)
        for where in [each for each, (value, _) in running.items() if standing.get(each) != value]:
            end(where, index)
        for where, value in standing.items():
            running.setdefault(where, (value, index))
    for where in list(running):
        end(where, len(events))
    return sorted(found, key=lambda each: each.start)


def _standing(event: Event, holder_words: HolderWords) -> dict[tuple[str, str], str]:
    """By kind and lane, what stood there after an event."""
    after, standing = event.after, {}
    if after.site:
        standing["site", ""] = after.site
    if after.holder is not None:
        words = SEPARATOR.join(holder_words(after.holder))
        standing["holder", words] = words
    if after.container:
        standing["container", after.container] = after.container
    return standing | {("seal", point): number for point, number in sorted(after.seals.items())}


def _rows(stretches: Iterable[Stretch], scale: Scale, site_words: Callable[[str], str]) -> list[Row]:
    by_lane: dict[tuple[str, str], list[Stretch]] = {}
    for each in stretches:
        by_lane.setdefault((each.kind, each.lane), []).append(each)
    rows = []
    for kind, name in sorted(by_lane, key=lambda each: ORDER.index(each[0])):
        of_lane = by_lane[kind, name]
        numbers = ", ".join(dict.fromkeys(each.value for each in of_lane))
        who, _, people = name.partition(SEPARATOR)
        labels = {
            "site": gettext("place: %(codes)s") % {"codes": numbers},
            "holder": who,
            "container": gettext("in %(container)s") % {"container": name},
            "seal": gettext("seal at %(point)s: %(numbers)s") % {"point": name, "numbers": numbers},
        }
        bars = tuple(_bar(each, scale, labels[kind], site_words) for each in of_lane)
        rows.append(Row(kind=kind, label=labels[kind], second=people if kind == "holder" else "", bars=bars))
    return rows


def _bar(stretch: Stretch, scale: Scale, label: str, site_words: Callable[[str], str]) -> Bar:
    if stretch.kind == "site":
        return draw_bar(stretch, scale, what=site_words(stretch.value), inside=stretch.value)
    if stretch.kind == "seal":
        what = gettext("seal %(number)s at %(point)s") % {"number": stretch.value, "point": stretch.lane}
        return draw_bar(stretch, scale, what=what)
    return draw_bar(stretch, scale, what=label)


def _findings(found: Sequence[FindingRow], scale: Scale) -> Row:
    noted = [
        Noted(
            at=each.at,
            rank=SEVERITIES.index(each.severity),
            shape=each.severity,
            what=f"{SEVERITY_WORDS[each.severity]}: {each.message}",
            href=finding_url(each.key),
        )
        for each in found
    ]
    label = ngettext("%(count)d finding", "%(count)d findings", len(found)) % {"count": len(found)}
    return Row(kind="finding", label=label, marks=draw_marks(noted, scale))
