"""Whatever was pulled, put back, scrapped, moved and undone: every answer to who has what is the ledger's.

The second opinion is a plain sum over the lines of the ledger, and knows nothing of the service's own queries.
"""

from __future__ import annotations

from collections import Counter
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from inventory.domain.buying import suppliers
from inventory.domain.catalogue import lots
from inventory.domain.common.errors import Conflict, DomainError
from inventory.domain.jobs import jobs
from inventory.domain.movements import adjustments, pull, receive, undo
from inventory.domain.quality import dead_on_arrival
from inventory.store.connection import execute
from inventory.store.tables import Piece
from tests.factories import a_bin, a_job, a_part
from tests.http_clients import ApiClient

ACTS = (
    *("pull", "pull", "pull piece", "put back", "put back piece", "scrap", "scrap for the job", "scrap piece"),
    *("move", "move piece", "single out", "count", "undo", "undo", "undo last", "undo last"),
)
UNIT_COST = 70  # minor units: every lot costs so much a piece, so that a job's cost can be told by counting
PULL_SCRAP_UNDO = [("pull", 0, 1), ("scrap for the job", 0, 1), ("undo last", 0, 1)]
one_act = st.tuples(st.sampled_from(ACTS), st.integers(0, 5), st.integers(1, 3))
Act = tuple[str, int, int]
Key = tuple[int, int]  # a job and a lot

pytestmark = pytest.mark.usefixtures("app")


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(one_act, min_size=1, max_size=25))
@example(PULL_SCRAP_UNDO * 3)
@example([*PULL_SCRAP_UNDO, ("put back", 0, 1), ("undo last", 0, 1), ("single out", 0, 1)])
@example([("single out", 0, 1), ("pull piece", 0, 1), ("put back piece", 0, 1), ("undo last", 0, 1)])
@example([("single out", 0, 1), ("scrap piece", 0, 2), ("undo last", 0, 1), ("pull piece", 0, 1)])
@example([("pull", 0, 1), ("undo last", 0, 1)])
def test_every_answer_to_who_has_what_is_the_sum_of_the_ledger(as_owner: ApiClient, acts: list[Act]) -> None:
    bench = _Bench()
    for act in acts:
        with suppress(DomainError):
            bench.do(*act)
    has, loose, fitted = _sum_of_the_ledger(bench.part)
    _jobs_of_lots(as_owner, bench, has)
    _lots_of_jobs(as_owner, bench, has, loose, fitted)
    _parts_of_the_model(as_owner, bench, has)
    _needs_met(as_owner, bench, has)
    _recalls(as_owner, bench, has)
    _what_can_be_put_back(bench, loose)
    for job in bench.jobs:
        jobs.close_job(job)
    has, _, _ = _sum_of_the_ledger(bench.part)
    _costs(as_owner, bench, has)
    _fitted_of_deliveries(bench, has)


class _Bench:
    """Two deliveries of one part in two bins, two jobs on one model; does the n-th thing to the n-th of them."""

    def __init__(self) -> None:
        part = a_part()
        self.part, self.bins = part.id, [a_bin(part).id, a_bin(part).id]
        self.seller = suppliers.add_supplier(f"Northgate Components {part.id}").id
        responses = [
            receive.receive(part.id, 40, self.bins[n], cost_minor=40 * UNIT_COST, supplier_id=self.seller)
            for n in range(2)
        ]
        self.lots = [one.lot_ids[0] for one in responses]
        opened = [a_job(unit_model=f"Corvid 7 number {part.id}") for _ in range(2)]
        self.jobs, self.model = [one.id for one in opened], opened[0].unit_model_id
        for job in self.jobs:
            jobs.set_need(job, part.id, 900)

    def do(self, act: str, which: int, number: int) -> None:
        getattr(self, f"_{act.replace(' ', '_')}")(which, number)

    def _job(self, which: int) -> int:
        return self.jobs[which % 2]

    def _lying(self, which: int) -> tuple[int, int]:
        sql = "SELECT bin_id, lot_id FROM balances WHERE quantity > 0 AND part_id = ? ORDER BY lot_id, bin_id"
        rows = execute(sql, self.part).fetchall()
        place, lot = rows[which // 2 % len(rows)]
        return int(place), int(lot)

    def _piece(self, number: int) -> int:
        found = [piece.id for piece in Piece.select().where(Piece.part == self.part).order_by(Piece.id)]
        return found[number % len(found)] if found else 10**9

    def _undone(self, entries: list[Any], which: int) -> None:
        if entries:
            undo.undo(entries[which % len(entries)][0])

    def _pull(self, which: int, number: int) -> None:
        pull.pull(number, lot_id=self._lying(which)[1], job_id=self._job(which))

    def _pull_piece(self, which: int, number: int) -> None:
        pull.pull_piece(self._piece(number), job_id=self._job(which))

    def _put_back(self, which: int, number: int) -> None:
        pull.put_back(number, part_id=self.part, job_id=self._job(which))

    def _put_back_piece(self, which: int, number: int) -> None:
        pull.put_back(piece_id=self._piece(number), job_id=self._job(which))

    def _scrap(self, which: int, number: int) -> None:
        place, lot = self._lying(which)
        adjustments.scrap(number, reason="bent", bin_id=place, lot_id=lot)

    def _scrap_for_the_job(self, which: int, number: int) -> None:
        place, lot = self._lying(which)
        adjustments.scrap(number, reason="latch broke", bin_id=place, lot_id=lot, job_id=self._job(which))

    def _scrap_piece(self, which: int, number: int) -> None:
        adjustments.scrap(
            reason="burnt", piece_id=self._piece(number), job_id=self._job(which) if number > 1 else None
        )

    def _move(self, which: int, number: int) -> None:
        place, lot = self._lying(which)
        adjustments.move(self.bins[which % 2], number, bin_id=place, lot_id=lot)

    def _move_piece(self, which: int, number: int) -> None:
        adjustments.move(self.bins[which % 2], piece_id=self._piece(number))

    def _single_out(self, which: int, number: int) -> None:
        adjustments.single_out(*self._lying(which), spare=number > 2)

    def _count(self, which: int, number: int) -> None:
        place, lot = self._lying(which)
        adjustments.count(place, lot, 30 + number)

    def _undo(self, which: int, _: int) -> None:
        sql = "SELECT DISTINCT entry FROM movements WHERE part_id = ? AND kind <> 'receive' ORDER BY entry"
        self._undone(execute(sql, self.part).fetchall(), which)

    def _undo_last(self, _: int, __: int) -> None:
        sql = "SELECT MAX(entry) FROM movements WHERE part_id = ? AND kind NOT IN ('receive', 'reverse')"
        self._undone([one for one in execute(sql, self.part).fetchall() if one[0]], 0)


def _sum_of_the_ledger(part: int) -> tuple[Counter[Key], Counter[Key], set[Key]]:
    """Return by job and lot all that a job has, what of it is loose, and the pieces that it has, by job and piece."""
    columns = "id, kind, job_id, lot_id, piece_id, quantity, reverses_id"
    kinds: dict[int, str] = {}
    has: Counter[Key] = Counter()
    loose: Counter[Key] = Counter()
    single: Counter[Key] = Counter()
    for line, kind, job, lot, piece, quantity, undone in execute(
        f"SELECT {columns} FROM movements WHERE part_id = ? ORDER BY id", part
    ).fetchall():
        kinds[line] = kinds[undone] if undone else kind
        if job is None or kinds[line] not in ("pull", "put back"):
            continue
        has[job, lot] -= quantity
        (loose if piece is None else single)[job, piece or lot] -= quantity
    assert min([0, *has.values(), *loose.values(), *single.values()]) == 0
    return +has, +loose, set(+single)


def _left_and_scrapped(lot: int) -> tuple[int, int]:
    lines = execute("SELECT id, kind, quantity, reverses_id FROM movements WHERE lot_id = ?", lot).fetchall()
    kinds = {line: kind for line, kind, _, _ in lines}
    scrapped = sum(-quantity for _, kind, quantity, undone in lines if kinds.get(undone, kind) == "scrap")
    return sum(quantity for _, _, quantity, _ in lines), scrapped


# ---- the answers -----------------------------------------------------------------------------------------


def _asked(client: ApiClient, address: str) -> Any:
    answer = client.get(f"/api/v1{address}")
    assert answer.status_code == 200, (address, answer.get_data(as_text=True))
    return answer.get_json()


def _of_lot(has: Counter[Key], lot: int) -> dict[int, int]:
    return {job: number for (job, key), number in has.items() if key == lot}


def _of_job(has: Counter[Key], job: int) -> dict[int, int]:
    return {lot: number for (key, lot), number in has.items() if key == job}


def _jobs_of_lots(client: ApiClient, bench: _Bench, has: Counter[Key]) -> None:
    for lot in bench.lots:
        here = _asked(client, f"/lots/{lot}/jobs")["items"]
        assert {one["job"]["id"]: one["quantity"] for one in here} == _of_lot(has, lot)
        traced = _asked(client, f"/lots/{lot}/trace")
        assert {one["job"]["id"]: one["quantity"] for one in traced["jobs"]} == _of_lot(has, lot)
        assert (traced["left"], traced["scrapped"]) == _left_and_scrapped(lot)


def _lots_of_jobs(client: ApiClient, bench: _Bench, has: Counter[Key], loose: Counter[Key], fitted: set[Key]) -> None:
    for job in bench.jobs:
        traced = _asked(client, f"/jobs/{job}/trace")["used"]
        assert {one["lot"]["id"]: one["quantity"] for one in traced} == _of_job(has, job)
        assert {one["cost_minor"] for one in traced} <= {UNIT_COST * n for n in _of_job(has, job).values()}
        used = _asked(client, f"/jobs/{job}/used")["items"]
        assert {one["lot"]["id"]: one["quantity"] for one in used} == _of_job(loose, job)
        assert all(one["cost_minor"] == UNIT_COST * one["quantity"] for one in used)
        pieces = _asked(client, f"/jobs/{job}/pieces")["items"]
        assert {(job, piece["id"]) for piece in pieces} == {key for key in fitted if key[0] == job}


def _parts_of_the_model(client: ApiClient, bench: _Bench, has: Counter[Key]) -> None:
    items = _asked(client, f"/unit-models/{bench.model}/parts")["items"]
    using = {job for job, _ in has}
    assert [one["jobs"] for one in items] == ([len(using)] if using else [])


def _needs_met(client: ApiClient, bench: _Bench, has: Counter[Key]) -> None:
    for job in bench.jobs:
        (need,) = _asked(client, f"/jobs/{job}/needs")["items"]
        assert need["taken"] == sum(_of_job(has, job).values())


def _recalls(client: ApiClient, bench: _Bench, has: Counter[Key]) -> None:
    for lot in bench.lots:
        lots.hold_lot(lot, "dull contacts")
        lines = _asked(client, f"/lots/{lot}/recall")["lines"]
        assert {line["job"]["id"]: line["quantity"] for line in lines} == _of_lot(has, lot)
        lots.release_lot(lot)


def _what_can_be_put_back(bench: _Bench, loose: Counter[Key]) -> None:
    for job in bench.jobs:
        for lot in bench.lots:
            number = loose[job, lot]
            with pytest.raises(Conflict):
                pull.put_back(number + 1, job_id=job, lot_id=lot)
            if number:
                undo.undo(pull.put_back(number, job_id=job, lot_id=lot).entry)


def _costs(client: ApiClient, bench: _Bench, has: Counter[Key]) -> None:
    listed = {one["job"]["id"]: one for one in _asked(client, "/job-costs?limit=200")["items"]}
    for job in bench.jobs:
        worth = UNIT_COST * sum(_of_job(has, job).values())
        assert listed[job]["lots_minor"] == worth
        assert _asked(client, f"/jobs/{job}/cost")["lots_minor"] == worth


def _fitted_of_deliveries(bench: _Bench, has: Counter[Key]) -> None:
    fitted = [outcome.fitted for outcome in dead_on_arrival._delivery_outcomes(bench.seller)]
    assert fitted == [sum(_of_lot(has, lot).values()) for lot in bench.lots]
