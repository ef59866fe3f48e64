"""Moments at which the demo is loaded: every day of the week, odd days of the calendar, clock changes, far zones."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class Moment:
    """A moment as the clock on the wall shows it in a zone."""

    why: str
    zone: str
    wall: str
    fold: int = 0  # 1: the second time that the wall shows it, when clocks go back

    @property
    def utc(self) -> datetime:
        """Return the moment in UTC."""
        return datetime.fromisoformat(self.wall).replace(tzinfo=ZoneInfo(self.zone), fold=self.fold).astimezone(UTC)


MOMENTS = (
    Moment("a Monday", "UTC", "2026-06-15T09:00"),
    Moment("a Tuesday, the last of March in UTC, April at +13", "Pacific/Auckland", "2026-04-01T08:00"),
    Moment("the day of the other tests, at -7", "America/Los_Angeles", "2026-03-11T16:30"),
    Moment("ISO week 53, 23:50 on New Year's Eve at -8", "America/Los_Angeles", "2026-12-31T23:50"),
    Moment("New Year's Eve, 23:50", "UTC", "2027-12-31T23:50"),
    Moment("the first minutes of a year", "UTC", "2028-01-01T00:05"),
    Moment("a Saturday, the last of January, in a zone of half hours", "Asia/Kolkata", "2026-01-31T12:00"),
    Moment("a Sunday, clocks go forward that night in Europe", "Europe/Lisbon", "2026-03-29T00:59"),
    Moment("a Sunday, an hour that comes twice in Europe, second time", "Europe/Berlin", "2026-10-25T02:30", 1),
    Moment("clocks go forward at -8", "America/Los_Angeles", "2026-03-08T03:05"),
    Moment("clocks go back at -8, first time", "America/Los_Angeles", "2026-11-01T01:30"),
    Moment("29 February, 23:50 at +13", "Pacific/Auckland", "2028-02-29T23:50"),
    Moment("a Thursday, the last of April", "America/St_Johns", "2026-04-30T12:00"),
    Moment("a Wednesday half a year after 29 February", "Pacific/Tongatapu", "2028-08-31T00:10"),
)
