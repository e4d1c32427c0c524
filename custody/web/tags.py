"""What templates say of times, codes and words. Names of places, people and items come from the page's `names`."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from urllib.parse import quote
from zoneinfo import ZoneInfo

from django import template
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import get_language, gettext, ngettext

from custody.web import words

register = template.Library()
FIELD_TIME = "%Y-%m-%dT%H:%M"
"""A local time as a `datetime-local` field has it (HTML, “local date and time string”)."""


@register.filter
def word(value: object) -> str:
    return words.word(value)


@register.filter
def entry_word(kind: str) -> str:
    return str(words.ENTRIES.get(kind, kind))


@register.filter
def severity_word(severity: str) -> str:
    return str(words.SEVERITIES.get(severity, severity))


@register.filter
def status_word(status: str) -> str:
    return str(words.STATUSES.get(status, status))


@register.filter
def scope_word(scope: str) -> str:
    """What a rule looks at."""
    return str(words.RULE_SCOPES[scope])


@register.filter
def figure(number: int | None) -> str:
    """A figure with its thousands apart; one that nobody wrote down as a dash."""
    return "–" if number is None else f"{number:,d}"


@register.filter
def signed(number: int) -> str:
    """A difference with its sign: `+401`, `−255`."""
    return f"{number:+,d}".replace("-", "\N{MINUS SIGN}")


@register.filter
def tel(number: str) -> str:
    """A phone number as a `tel:` address (RFC 3966), without what is there for the eye."""
    return "".join(each for each in number if each.isdigit() or each == "+")


@register.filter
def groups(number: str) -> SafeString:
    """A seal number with its digits in groups of four from the right, to be read and compared; copied, it has no gaps."""
    head = len(number) % 4
    parts = [number[:head]] if head else []
    parts += [number[at : at + 4] for at in range(head, len(number), 4)]
    return format_html_join("", '<span class="group">{}</span>', ((part,) for part in parts))


@register.simple_tag(takes_context=True)
def seal(context: template.Context, number: str | None) -> SafeString:
    """A seal's number in groups, a link to its life for whoever may go there; of a seal without a number, nothing."""
    if not number:
        return format_html("")
    if not context["may"]["whole"]:
        return format_html('<span class="code">{}</span>', groups(number))
    return format_html('<a class="code" href="{}">{}</a>', reverse("seal", args=[number]), groups(number))


def local_time(instant: int, timezone: str) -> datetime:
    return datetime.fromtimestamp(instant, ZoneInfo(timezone))


def read_local_time(text: str, timezone: str) -> int | None:
    """The instant of a local time as a `datetime-local` field sends it (`FIELD_TIME`); `None` for what is none."""
    try:
        return int(datetime.strptime(text, FIELD_TIME).replace(tzinfo=ZoneInfo(timezone)).timestamp())
    except ValueError:
        return None


def say_zone(local: datetime) -> str:
    """`CST`, or an offset such as UTC-5 for a zone that has no letters."""
    name = local.tzname() or ""
    if name[:1] in "+-":
        name = f"UTC{name[0]}{name[1:].lstrip('0') or '0'}".replace("-", "\N{MINUS SIGN}")
    return name


def say_time(instant: int, timezone: str, *, now: int | None = None) -> str:
    """`Tue 3 Nov 2026, 21:25 CST`; without the year where it is that of `now`."""
    local = local_time(instant, timezone)
    this_year = now is not None and local_time(now, timezone).year == local.year
    # Translators: a pattern of Django's template filter "date".
    pattern = gettext("D j M, H:i") if this_year else gettext("D j M Y, H:i")
    return f"{date_format(local, pattern)} {say_zone(local)}"


@register.simple_tag
def page_language() -> str:
    """The page's language for browsers (BCP 47). Spanish as in the United States: scripts say times and zones by it."""
    language = get_language() or "en"
    return "es-US" if language == "es" else language


@register.simple_tag(takes_context=True)
def zone(context: template.Context) -> str:
    """The jurisdiction's time zone by its IANA name; one that is nothing but an offset, as that."""
    name = context["shown"].timezone
    return say_zone(local_time(0, name)) if name.startswith("Etc/") else name


@register.simple_tag(takes_context=True)
def moment(context: template.Context, instant: int, *, year: bool = False) -> SafeString:
    """An instant as a `<time>` in the jurisdiction's time zone, which is named; always with its year when asked."""
    zone, now = context["shown"].timezone, None if year else context["now"]
    said = say_time(instant, zone, now=now)
    return format_html('<time datetime="{}">{}</time>', local_time(instant, zone).isoformat(), said)


@register.simple_tag(takes_context=True)
def how_long(context: template.Context, since: int) -> str:
    """How long ago, as of the page's `now`; of what lies ahead, nothing."""
    minutes = (context["now"] - since) // 60
    if minutes < 0:
        return ""
    if minutes < 60:
        return gettext("%(minutes)d min") % {"minutes": minutes}
    if minutes < 48 * 60:
        return gettext("%(hours)d h %(minutes)02d min") % {"hours": minutes // 60, "minutes": minutes % 60}
    days = minutes // (24 * 60)
    return ngettext("%(days)d day", "%(days)d days", days) % {"days": days}


@register.simple_tag(takes_context=True)
def person(context: template.Context, code: str) -> SafeString | str:
    name = context["names"].people.get(code)
    return format_html('{} <span class="code soft small">{}</span>', name, code) if name else code


@register.simple_tag(takes_context=True)
def people(context: template.Context, codes: Any) -> SafeString:
    """People by name, or by code where names are not shown."""
    names = context["names"].people
    return format_html_join(", ", "{}", ((names.get(code, code),) for code in codes))


@register.simple_tag(takes_context=True)
def site(context: template.Context, code: str) -> SafeString | str:
    """A place by name and code."""
    known = context["names"].sites.get(code)
    return format_html('{} <span class="code soft small">{}</span>', known.name, code) if known else code


@register.simple_tag(takes_context=True)
def place_phone(context: template.Context, code: str) -> str:
    """The number of a place itself, or nothing."""
    known = context["names"].sites.get(code)
    return known.phone if known else ""


@register.simple_tag(takes_context=True)
def place(context: template.Context, code: str) -> SafeString | str:
    """As `site`, with a link to its day for whoever may go there."""
    known = context["names"].sites.get(code)
    if known is None or not (context["may"]["whole"] or code in context["own_places"]):
        return site(context, code)
    link = format_html('<a href="{}">{}</a>', reverse("place-day", args=[code]), known.name)
    return format_html('{} <span class="code soft small">{}</span>', link, code)


@register.simple_tag(takes_context=True)
def item(context: template.Context, code: str, *, kind: bool = True) -> SafeString:
    """A link to an item, with its kind in words beside it; a code that the register does not know, as it is."""
    known = context["names"].items.get(code)
    if known is None:
        return format_html('<span class="code">{}</span>', code)
    link = format_html('<a class="code" href="{}">{}</a>', reverse("item", args=[code]), code)
    return format_html("{} {}", link, words.word(known.kind)) if kind else link


@register.simple_tag
def finding_url(key: str) -> str:
    """The address of a finding; percent signs of its key are encoded again, as they must be."""
    return reverse("findings") + quote(key, safe="/:")


@register.simple_tag(takes_context=True)
def party(context: template.Context, party: Any, *, known: str = "") -> SafeString:
    """Who holds or did something: role, people and place; the place is left out where it is `known` already."""
    names = context["names"]
    who = ", ".join(names.people.get(code, code) for code in party.people)
    at = names.sites.get(party.site or "")
    where = (at.name if at else party.site) or "" if party.site != known else ""
    role = format_html("<b>{}</b>", words.word(party.role).capitalize())
    parts = [format_html("<span>{}</span>", part) for part in (who, where) if part]
    rest = format_html_join("", '<span class="sep"> · </span>{}', ((part,) for part in parts))
    return format_html('<span class="party">{}{}</span>', role, rest)
