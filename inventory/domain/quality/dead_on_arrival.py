"""How many of what a supplier sent were dead when they came, and how sure that is; by quarter of a year.

Seen are: those tested when they came in, pieces by their first proof, those fitted in jobs that were closed since
(they worked), those sent back as dead on arrival, and those scrapped for a reason that begins so. Which of a lot were
tested and which fitted is not known of loose ones; so of a lot's good ones the larger of both numbers counts, never
their sum.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from inventory.domain.buying.incoming_records import DeadOnArrivalQuarter, DeadOnArrivalRate
from inventory.domain.buying.orders import UNDONE_LOTS_SQL
from inventory.domain.common.validation import get_row
from inventory.domain.quality.sent_back_records import DEAD_ON_ARRIVAL
from inventory.reckoning.proof.standing import chance_text
from inventory.reckoning.quality.sampling import defect_rate
from inventory.store import job_use
from inventory.store.connection import execute
from inventory.store.fields import from_micros
from inventory.store.tables import Supplier

MIN_SEEN = 20  # seen; below that a rate says more about luck than about the supplier
INTERVAL_LEVEL = 0.9
MAX_QUARTERS = 8
# Beta(1/2, 1/2): next to nothing is known beforehand; its interval keeps what it promises for small numbers too
# (Brown, Cai and DasGupta 2001, "Interval Estimation for a Binomial Proportion", from memory)
PRIOR_A = PRIOR_B = 0.5


def supplier_dead_on_arrival(supplier_id: int) -> DeadOnArrivalRate:
    """Return how many of a supplier's pieces were dead when they came, with the 90 % interval of the rate."""
    get_row(Supplier, supplier_id, "supplier")
    lots = _delivery_outcomes(supplier_id)
    seen, dead = sum(lot.seen for lot in lots), sum(lot.dead for lot in lots)
    rate = defect_rate(dead, seen, PRIOR_A, PRIOR_B, INTERVAL_LEVEL)
    return DeadOnArrivalRate(
        seen,
        dead,
        sum(lot.tested for lot in lots),
        dead / seen if seen else 0.0,
        rate.low if dead else 0.0,
        rate.high,
        INTERVAL_LEVEL,
        seen >= MIN_SEEN,
        _describe_rate(seen, dead, rate.low, rate.high),
        tuple(_quarters(lots)),
    )


def _describe_rate(seen: int, dead: int, low: float, high: float) -> str:
    if not seen:
        return "Nothing of what it sent has been seen to work or to be dead yet."
    counts = f"{dead if dead else 'None'} of {seen} seen so far {'was' if dead == 1 else 'were'} dead on arrival"
    if seen < MIN_SEEN:
        return f"{counts}: too few yet to say (anything up to {chance_text(high)} is possible)."
    if not dead:
        return f"{counts}: it is 95 % sure that fewer than {chance_text(high)} are."
    return (
        f"{counts}: {chance_text(dead / seen)}, between {chance_text(low)} and {chance_text(high)} nine times in ten."
    )


# ---- what was seen of each lot ---------------------------------------------------------------------------


@dataclass
class _DeliveryOutcome:
    """What is known of one delivery."""

    received: datetime
    quantity: int
    tested: int = 0
    bad: int = 0
    fitted: int = 0
    scrapped: int = 0

    @property
    def dead(self) -> int:
        return min(self.quantity, self.bad + self.scrapped)

    @property
    def seen(self) -> int:
        return min(self.quantity, max(self.tested - self.bad, self.fitted) + self.dead)


_LOTS = f"SELECT id FROM lots WHERE supplier_id = ? AND origin = 'delivery' AND id NOT IN ({UNDONE_LOTS_SQL})"
_LOOSE = (
    "SELECT c.lot_id, COUNT(*), SUM(CASE WHEN t.good THEN 0 ELSE 1 END) FROM incoming_tests t"
    f" JOIN incoming_checks c ON c.id = t.incoming_id WHERE c.lot_id IN ({_LOTS})"
    " AND t.struck IS NULL AND t.proof_id IS NULL GROUP BY c.lot_id"
)
_PROVED = (
    "SELECT p.lot_id, COUNT(*), SUM(CASE WHEN f.passed THEN 0 ELSE 1 END) FROM proofs f JOIN pieces p"
    f" ON p.id = f.piece_id WHERE p.lot_id IN ({_LOTS}) AND f.struck IS NULL AND f.id = (SELECT MIN(g.id)"
    " FROM proofs g WHERE g.piece_id = p.id AND g.struck IS NULL) GROUP BY p.lot_id"
)
_FITTED = (
    f"SELECT m.lot_id, -SUM(m.quantity) FROM {job_use.LINES} JOIN jobs j ON j.id = m.job_id"
    f" WHERE m.lot_id IN ({_LOTS}) AND j.status = 'closed' AND {job_use.IS_USE} GROUP BY m.lot_id"
)
# those that a check scrapped are counted there; one that has a failed proof is counted by that
_SCRAPPED = (
    "SELECT m.lot_id, -SUM(m.quantity) FROM movements m"
    f" WHERE m.lot_id IN ({_LOTS}) AND m.kind = 'scrap' AND (LOWER(SUBSTR(m.reason, 1, 15)) = '{DEAD_ON_ARRIVAL}'"
    " OR EXISTS"
    f" (SELECT 1 FROM sent_back s WHERE s.entry = m.entry AND s.cause = '{DEAD_ON_ARRIVAL}'))"
    f" AND {job_use.STANDS}"
    " AND NOT EXISTS (SELECT 1 FROM proofs f WHERE f.piece_id = m.piece_id AND f.struck IS NULL AND NOT f.passed)"
    " GROUP BY m.lot_id"
)


def _delivery_outcomes(supplier_id: int) -> list[_DeliveryOutcome]:
    """Return what was seen of each delivery kept in pieces, the oldest first."""
    sql = (
        "SELECT l.id, l.received, l.quantity FROM lots l JOIN parts p ON p.id = l.part_id"
        f" WHERE l.id IN ({_LOTS}) AND p.unit = 'piece' AND p.kept <> 'by level' ORDER BY l.received, l.id"
    )
    lots = {
        key: _DeliveryOutcome(from_micros(received), number)
        for key, received, number in execute(sql, supplier_id).fetchall()
    }
    for query in (_LOOSE, _PROVED):
        for lot, tested, bad in execute(query, supplier_id).fetchall():
            if lot in lots:
                lots[lot].tested += int(tested)
                lots[lot].bad += int(bad)
    for query, name in ((_FITTED, "fitted"), (_SCRAPPED, "scrapped")):
        for lot, number in execute(query, supplier_id).fetchall():
            if lot in lots:
                setattr(lots[lot], name, max(0, int(number)))
    return list(lots.values())


# ---- over time -------------------------------------------------------------------------------------------


def _quarters(lots: Sequence[_DeliveryOutcome]) -> Iterable[DeadOnArrivalQuarter]:
    """Yield the last quarters of which something was seen, the oldest first, by the day the lots came."""
    by_start: dict[date, list[_DeliveryOutcome]] = defaultdict(list)
    for lot in lots:
        by_start[_quarter_start(lot.received)].append(lot)
    quarters = [_quarter_rate(start, outcomes) for start, outcomes in sorted(by_start.items())]
    return [quarter for quarter in quarters if quarter.seen][-MAX_QUARTERS:]


def _quarter_start(moment: datetime) -> date:
    day = moment.astimezone(UTC).date()
    return day.replace(month=3 * ((day.month - 1) // 3) + 1, day=1)


def _quarter_rate(start: date, lots: Sequence[_DeliveryOutcome]) -> DeadOnArrivalQuarter:
    seen, dead = sum(lot.seen for lot in lots), sum(lot.dead for lot in lots)
    rate = defect_rate(dead, seen, PRIOR_A, PRIOR_B, INTERVAL_LEVEL)
    name = f"Q{(start.month + 2) // 3} {start.year}"
    return DeadOnArrivalQuarter(
        start, name, seen, dead, dead / seen if seen else 0.0, rate.low if dead else 0.0,
        rate.high if dead < seen else 1.0,
    )  # fmt: skip
