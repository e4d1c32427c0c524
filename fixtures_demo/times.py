"""When the demo plays: everything is told from the moment it is started, which is always late in the evening there.

The county keeps the whole-hour time zone in which the start falls between 21:45 and 22:45, so that it is election night
at any hour of our day. Polls closed at the last quarter hour that lies 2¼ hours back or more, after thirteen hours.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

MINUTE, HOUR, DAY = 60, 3_600, 86_400
QUARTER = 15 * MINUTE
SINCE_CLOSE = 135 * MINUTE


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """The fixed points of one telling. Instants are Unix seconds; `offset` is that of the county's clock from UTC."""

    start: int
    offset: int

    @property
    def zone(self) -> str:
        """The IANA name. The signs of these names are the other way round: `Etc/GMT+5` is five hours behind UTC."""
        hours = self.offset // HOUR
        return f"Etc/GMT{-hours:+d}" if hours else "Etc/GMT"

    @property
    def closed(self) -> int:
        return (self.start - SINCE_CLOSE) // QUARTER * QUARTER

    @property
    def opened(self) -> int:
        return self.closed - 13 * HOUR

    @property
    def midnight(self) -> int:
        """The beginning of election day."""
        return (self.closed + self.offset) // DAY * DAY - self.offset

    @property
    def deadline(self) -> int:
        """When everything should be back: two in the morning."""
        return self.midnight + DAY + 2 * HOUR

    def on(self, day: int, clock: str) -> int:
        """Local time `HH:MM`, so many days after election day. The zone has no summer time."""
        hours, minutes = clock.split(":")
        return self.midnight + day * DAY + int(hours) * HOUR + int(minutes) * MINUTE

    def night(self, minutes: float) -> int:
        """So many minutes after the polls closed."""
        return self.closed + int(minutes * MINUTE)

    def local(self, instant: int) -> str:
        """`YYYY-MM-DDTHH:MM` on the county's clock."""
        return datetime.fromtimestamp(instant + self.offset, UTC).strftime("%Y-%m-%dT%H:%M")


def times_of(start: int) -> Times:
    """The times of a demo that starts at this instant."""
    after = (start - (21 * HOUR + 45 * MINUTE)) % DAY  # since 21:45 UTC: the zone takes back its whole hours
    hours = -(after // HOUR)
    return Times(start=start, offset=(hours if hours >= -11 else hours + 24) * HOUR)
