"""What happened when: actions are written down for their moment and lived through in order of time."""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta

from inventory.domain.common import clock

REST_DAY = 3  # of each week, counted back from the day of loading


def utc_moment(day: date, hour: str) -> datetime:
    """Return the UTC moment of a time such as "10:20" on a day."""
    return datetime.combine(day, time.fromisoformat(hour), UTC)


class Schedule:
    """Actions by moment. An action may write down more of them, for later than itself.

    The shop's week is counted back from *today*, not taken from the calendar: whatever day the demo is loaded on, its
    shop was shut the same number of days ago, so the same things happened in the same order.
    """

    def __init__(self, today: date) -> None:
        self.today = today
        self.until = utc_moment(today - timedelta(days=1), "18:30")
        self._pages: list[tuple[datetime, int, Callable[[], object]]] = []
        self._turn = itertools.count()

    def open_day(self, day: date) -> date:
        """Return the day, or the next when the shop is shut on it."""
        return day + timedelta(days=(self.today - day).days % 7 == REST_DAY)

    def write(self, when: datetime, action: Callable[[], object]) -> None:
        """Let *action* happen at *when*; of two at one moment, the one written first goes first."""
        heapq.heappush(self._pages, (when, next(self._turn), action))

    def later(self, days: float, hour: str, action: Callable[[], object]) -> None:
        """Let *action* happen so many days after now at a time of day, on a day on which the shop is open."""
        day = self.open_day((clock.now() + timedelta(days=days)).date())
        when = utc_moment(day, hour)
        self.write(when if when > clock.now() else clock.now() + timedelta(minutes=20), action)

    def live(self) -> None:
        """Let everything up to the end happen; what is written for after it has not happened yet."""
        while self._pages and self._pages[0][0] <= self.until:
            when, _, action = heapq.heappop(self._pages)
            with clock.freeze_at(when):
                action()
