"""Who does what when: the whole telling, from three weeks before to the morning after.

`tell(start)` gives the lines of the log in the order in which they are received. Those up to the start are on record
when the demo begins; the rest is the night that goes on.
"""

from __future__ import annotations

from . import troubles_day as day
from . import troubles_way as way
from .county import read_county
from .desks import Desks
from .place import Place
from .preparation import Way
from .scribe import Line, Scribe
from .times import HOUR, MINUTE, Times, times_of


class P02(day.TapeShort, way.SealLoose):
    pass


class P05(day.ChiefRelieved, day.OldBadge):
    pass


class P06(day.CheckinsApart, way.OtherSealInVault):
    pass


class P12(way.SameParty, way.BoxKept):
    pass


class P15(day.BoxesMiscounted, way.SignedLater):
    pass


class P18(day.BorrowedSeal, Place):
    """The drivers are long gone, and have not arrived."""


class P21(day.SealedAgain, way.PhoneAhead):
    pass


class P22(day.AccountApart, day.PollbookLost):
    pass


class P26(Place):
    """No word since the last hours of voting: the phone has no network."""


# Place, what it is like; minutes after the polls closed: closing begins, drivers leave, arrive; where.
PLACES: tuple[tuple[type[Place], int, int, int, str], ...] = (
    (Place, 0, 44, 62, "RN"),
    (P02, 2, 47, 66, "RN"),
    (way.SealMisread, 1, 49, 71, "RS"),
    (day.CountPutRight, 3, 52, 70, "RN"),
    (P05, 1, 53, 75, "RS"),
    (P06, 0, 50, 74, "RN"),
    (day.UnplannedSpare, 2, 58, 79, "RS"),
    (day.BinsNotShown, 4, 60, 84, "RN"),
    (day.MemoryLeft, 3, 61, 88, "RS"),
    (day.EnvelopeLeft, 2, 64, 89, "RN"),
    (way.KeyForgotten, 5, 66, 93, "RS"),
    (P12, 3, 67, 94, "RN"),
    (way.PaperDeparture, 6, 71, 99, "RS"),
    (way.CaseOpen, 2, 72, 98, "RN"),
    (P15, 8, 78, 105, "RS"),
    (way.OneEndSigned, 9, 80, 104, "RN"),
    (way.ClockBehind, 5, 82, 108, "RS"),
    (P18, 0, 41, 171, "RN"),
    (way.KeysWithCase, 10, 104, 153, "RS"),
    (day.VoidSealUsed, 12, 109, 155, "RN"),
    (P21, 14, 113, 158, "RS"),
    (P22, 15, 121, 162, "RN"),
    (day.SecondDevice, 35, 166, 192, "RS"),
    (Place, 41, 171, 199, "RN"),
    (day.StandIn, 12, 176, 205, "RS"),
    (P26, 9, 152, 224, "RN"),
)
ONWARD = ("P01", "P02", "P03", "P04", "P05", "P06")
"""The places whose things go on to count center and vault before the start; those of the others follow in the night."""


def tell(start: int) -> list[Line]:
    """Every line of the demo that starts at this instant, in order of receipt."""
    scribe = Scribe(read_county(), times_of(start))
    times = scribe.times
    places: dict[str, Place] = {}
    for number, (kind, begins, departs, arrives, station) in enumerate(PLACES, start=1):
        way_back = Way(begins=begins, departs=departs, arrives=arrives, station=station)
        places[f"P{number:02}"] = kind(scribe, f"P{number:02}", way_back)
    scribe.offline = {"P03": (times.opened, times.night(70)), "P26": (times.closed - 2 * HOUR, times.night(223))}
    desks = Desks(scribe)
    desks.weeks_before()
    for place in places.values():
        place.weeks_before()
    election_day(desks, places, times)
    for place in places.values():
        place.evening()
        early = place.code in ONWARD
        place.move_on(times.night(place.way.arrives + 19 if early else 205 + 4 * place.number) + place.number * MINUTE)
    return sorted(scribe.lines, key=lambda line: (line.received, line.id))


def election_day(desks: Desks, places: dict[str, Place], times: Times) -> None:
    """Opening, hours and closing of every place; what else goes on in the county."""
    for place in places.values():
        place.open()
        place.hours()
    desks.two_places_at_once("P19", "P24", times.opened + 7 * HOUR + 25 * MINUTE)
    desks.drop_boxes(27, ("BOX1", "BOX2"), together=True)
    desks.drop_boxes(28, ("BOX3", "BOX4"), together=False)
    desks.unknown_label(times.night(97))
    for place in places.values():
        place.close()
