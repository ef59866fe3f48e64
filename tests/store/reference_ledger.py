"""A second book of the bench, kept from the lines of the ledger alone by its own rules, and what must agree with it.

What lies in which bin, what which job has, where each piece is: needs, orders, recalls, use, cost and whereabouts are
held to it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from inventory.domain.catalogue import bins, lot_costs, stock_totals
from inventory.domain.jobs import fitted_substitutes
from inventory.domain.proof import piece_locations
from inventory.domain.reorder import usage
from inventory.store import job_use
from inventory.store.connection import execute
from inventory.store.tables import Bin, Job, Loan, Lot, Need, Order, OrderLine, Piece, Substitution

HolderKey = tuple[int | None, int]  # of a job, and of a lot or a part


class LedgerLine(NamedTuple):
    """A line of the ledger."""

    id: int
    entry: int
    kind: str
    part_id: int
    lot_id: int
    bin_id: int
    piece_id: int | None
    quantity: int
    job_id: int | None
    reverses_id: int | None


def replay_ledger() -> ReferenceLedger:
    """Return the second book of all that happened; asserts that nothing went below zero on the way."""
    ledger = ReferenceLedger()
    for line in execute(f"SELECT {', '.join(LedgerLine._fields)} FROM movements ORDER BY id").fetchall():
        ledger.take(LedgerLine(*line))
    return ledger


class ReferenceLedger:
    """Who has what, by the lines of the ledger: a piece's movements are a pile, of which only the top is undone."""

    def __init__(self) -> None:
        self.lines: dict[int, LedgerLine] = {}
        self.lying: dict[tuple[int, int], int] = defaultdict(int)  # by bin and lot
        self.with_job: dict[HolderKey, int] = defaultdict(int)  # by job and lot
        self.piles: dict[int, list[LedgerLine]] = defaultdict(list)  # by piece
        self.undone: set[int] = set()

    def take(self, line: LedgerLine) -> None:
        self.lines[line.id] = line
        of = line if line.reverses_id is None else self.lines[line.reverses_id]
        if line.piece_id is not None:
            self._take_piece(line.piece_id, line, of)
            return
        self.lying[line.bin_id, line.lot_id] += line.quantity
        assert self.lying[line.bin_id, line.lot_id] >= 0
        if of.kind in ("pull", "put back") and line.job_id is not None:
            self.with_job[line.job_id, line.lot_id] -= line.quantity
            assert self.with_job[line.job_id, line.lot_id] >= 0, "a job gave back what it did not have"
        self.undone |= {of.id} - {line.id}

    def _take_piece(self, piece_id: int, line: LedgerLine, of: LedgerLine) -> None:
        pile = self.piles[piece_id]
        if of is line:
            pile.append(line)
            return
        assert pile.pop() is of, "a movement of a piece was undone under a later one"
        self.undone.add(of.id)

    def place(self, piece_id: int) -> LedgerLine | None:
        """Return the last line of a piece that stands, or None."""
        return self.piles[piece_id][-1] if self.piles[piece_id] else None

    def has(self) -> dict[HolderKey, int]:
        """Return by job and lot how much a job has, pieces too."""
        quantities: dict[HolderKey, int] = defaultdict(int, {key: n for key, n in self.with_job.items() if n})
        for pile in self.piles.values():
            if pile and pile[-1].kind == "pull":
                quantities[pile[-1].job_id, pile[-1].lot_id] += 1
        return dict(quantities)

    def standing(self, *kinds: str) -> Iterator[LedgerLine]:
        """Yield the lines of some kinds that were not undone."""
        return (line for line in self.lines.values() if line.kind in kinds and line.id not in self.undone)


# ---- what must agree -------------------------------------------------------------------------------------


def check_shelves(book: ReferenceLedger) -> None:
    balances = execute("SELECT bin_id, lot_id, quantity FROM balances WHERE quantity > 0").fetchall()
    assert {(place, lot): number for place, lot, number in balances} == {k: n for k, n in book.lying.items() if n}
    for bin_ in Bin.select():
        inside = bins.part_ids_in_bin(bin_.id)
        assert not (bin_.retired and inside), "there is something in a bin that is retired"
        assert bin_.mixed or inside <= {bin_.part_id}


def _expected_location(last: LedgerLine | None, out_to: int | None) -> tuple[str, int | None, int | None]:
    """Return state, bin and job of a piece, by its last line that stands and the job that it is out to."""
    if last is None:
        return "gone", None, None
    if last.quantity > 0:
        return "in bin" if out_to is None else "out", last.bin_id, out_to
    return ("fitted", None, last.job_id) if last.kind == "pull" else ("scrapped", None, None)


def check_pieces(book: ReferenceLedger) -> None:
    out = {loan.piece_id: loan.job_id for loan in Loan.select().where(Loan.ended.is_null())}
    for key, location in piece_locations.piece_locations(list(Piece.select())).items():
        assert (location.state, location.bin_id, location.job_id) == _expected_location(book.place(key), out.get(key))
    closed = Loan.select().join(Job).where(Loan.ended.is_null(), Job.status == "closed")
    assert not closed.exists(), "a piece is out with a closed job"


def check_held_by_jobs(book: ReferenceLedger) -> None:
    has = book.has()
    assert {(job, lot.id): n for lot in Lot.select() for job, n in job_use.of_lot(lot.id).items()} == has
    assert {(job.id, lot): n for job in Job.select() for lot, n in job_use.of_job(job.id).items()} == has


def _needs_met(book: ReferenceLedger) -> tuple[dict[HolderKey, int], dict[int, int]]:
    """Return by job and part how many it has of it or in its place, and how many of each substitute are left."""
    replaced = {substitution.entry: substitution.part_id for substitution in Substitution.select()}
    own: dict[HolderKey, int] = defaultdict(int)
    stood: dict[HolderKey, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    for line in book.standing("pull", "put back"):
        mine, left = stood[line.job_id, line.part_id], line.quantity
        if line.kind == "pull" and line.entry in replaced:
            mine[line.entry] -= left
            continue
        for entry in mine if left > 0 else ():  # what was put back comes off what stood in first
            back = min(mine[entry], left)
            mine[entry], left = mine[entry] - back, left - back
        own[line.job_id, line.part_id] -= left
    for (job, _), mine in stood.items():
        for entry, number in mine.items():
            own[job, replaced[entry]] += number
    return own, {entry: number for mine in stood.values() for entry, number in mine.items()}


def check_needs_and_use(book: ReferenceLedger) -> None:
    met, kept_uses = _needs_met(book)
    assert {substitute.entry: substitute.kept for substitute in fitted_substitutes.fitted_substitutes()} == kept_uses
    for need in Need.select():
        assert need.taken == met.get((need.job_id, need.part_id), 0)
    uses = usage.use_events()
    used = zip(uses.job_id.tolist(), uses.part_id.tolist(), uses.quantity.tolist(), strict=True)
    assert {(job, part): number for job, part, number in used} == {key: n for key, n in met.items() if n}


def check_orders(book: ReferenceLedger) -> None:
    received: dict[int | None, int] = defaultdict(int)
    of_lot = {lot.id: lot.order_line_id for lot in Lot.select()}
    for received_line in book.standing("receive"):
        received[of_lot[received_line.lot_id]] += received_line.quantity
    for order in Order.select():
        lines = list(OrderLine.select().where(OrderLine.order == order.id))
        assert [line.received for line in lines] == [received[line.id] for line in lines]
        waits = any(not line.dropped and line.received < line.quantity for line in lines)
        ended = "received" if any(line.received for line in lines) else "cancelled"
        assert order.status == ("placed" if waits else ended)


def check_stock_totals(book: ReferenceLedger) -> None:
    lot = {lot.id: lot for lot in Lot.select()}
    here = [piece for piece in Piece.select() if piece.bin_id is not None]
    out = {loan.piece_id for loan in Loan.select().where(Loan.ended.is_null())}
    met, _ = _needs_met(book)
    for part in {row.part_id for row in lot.values()}:
        stock = stock_totals.stock_of(part)
        loose = [(lot[key].on_hold, n) for (_, key), n in book.lying.items() if lot[key].part_id == part]
        mine = [row for row in here if row.part_id == part]
        to_fit = [p for p in mine if not p.spare and p.id not in out and not lot[p.lot_id].on_hold]
        assert stock.on_shelf == sum(n for on_hold, n in loose if not on_hold) + len(to_fit)
        assert stock.on_hold == sum(n for on_hold, n in loose if on_hold)
        assert (stock.spares, stock.out) == (sum(p.spare for p in mine), sum(p.id in out for p in mine))
        wants = Need.select().join(Job).where(Need.part == part, ~Need.dropped, Job.status != "closed")
        assert stock.promised == sum(max(0, n.quantity - met.get((n.job_id, part), 0)) for n in wants)


def check_lot_costs(book: ReferenceLedger) -> None:
    cost = {lot.id: lot.cost_minor for lot in Lot.select()}
    has = book.has()
    for lot, money in lot_costs.cost_ledgers(cost).items():
        units_held = {holder: units for holder, units, _ in money.holders() if holder > 0 and units}
        assert units_held == {job: number for (job, key), number in has.items() if key == lot}
        assert sum(share for _, _, share in money.holders()) == cost[lot]


CHECKS = (
    check_shelves,
    check_pieces,
    check_held_by_jobs,
    check_needs_and_use,
    check_orders,
    check_stock_totals,
    check_lot_costs,
)
