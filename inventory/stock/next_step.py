"""What to do next on a job: each possible step with its cost now, its chance to end the job, and the expected total.

The arithmetic is ``reckoning.advice``: one step of lookahead over a list that is worked down by chance for money.
Here the steps are found: proved spares that fit and are free, parts on the shelf, parts to order, repairs,
measurements.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.reckoning.advice import (
    FIX,
    GIVE_UP,
    ORDER,
    REPAIR,
    SPARE,
    Check,
    NextStep,
    Plan,
    Remedy,
    advise,
)
from inventory.reckoning.standing import percent
from inventory.stock import records_diagnosis as r
from inventory.stock.diagnose import Weighed, weigh
from inventory.stock.job_log import SWAP
from inventory.stock.measuring import Measuring, measuring
from inventory.stock.new_parts import good_of_lot, good_of_part
from inventory.stock.one_more import OneMore, one_more
from inventory.stock.places import sources
from inventory.stock.records_proof import SpareOption
from inventory.stock.refusals import Conflict
from inventory.stock.shop import Shop, shop, shop_settings
from inventory.stock.spares import spares_for

SHELF = "shelf"
LOOKED_OVER = 10  # of the likeliest suspects; the work doubles with each more, and the page waits for it
MENDED = 0.9  # chance that all that is fitted is good from which nothing more is advised
DONE = "Nothing more to do: what is fitted now is most likely all good. Run it once more, and close the job."
ASSUMED = (
    "minute_minor", "waiting_day_minor", "give_up_minor", "come_back_minor", "recovered_share", "minutes_measure",
    "minutes_swap", "minutes_back", "minutes_fit", "minutes_repair", "measured_finds", "measured_passes",
    "repair_spoils", "repair_fails", "line_cost_minor",
)  # fmt: skip
"""The shop's settings that the advice rests on."""


@dataclass(frozen=True)
class _Way:
    """A possible step: what the reckoning takes, and what a person needs to know to do it."""

    taken: Remedy | Check
    suspect: Any
    how: str
    words: str
    spare: SpareOption | None = None
    bin_id: int | None = None
    bin: str = ""
    procedure_id: int | None = None


def next_steps(job_id: int) -> r.NextStepsRecord:
    """Return what could be done next on an open job, the cheapest in expectation first.

    Raises Conflict for a closed job, and whenever the job's log cannot be weighed (``diagnose.weigh``).
    """
    found = weigh(job_id)
    if found.job.status == "closed":
        raise Conflict(f"Job {found.job.number} is closed: reopen it to go on.", reason="job_closed")
    return steps_for(found)


def steps_for(found: Weighed) -> r.NextStepsRecord:
    """Return the next steps for a job that was weighed already."""
    own = shop()
    places = sorted(found.made.case.places, key=lambda place: -found.said.p_bad[found.made.fitted[place]])
    looked_at, left_out = places[:LOOKED_OVER], places[LOOKED_OVER:]
    mended = float(found.said.belief.weights[0])
    if mended >= MENDED:
        return r.NextStepsRecord(found.job.id, DONE, (), (), ())
    ways = list(_ways(found, looked_at, own))
    plan = Plan(
        found.said.belief, tuple(way.taken for way in ways if isinstance(way.taken, Remedy)),
        tuple(way.taken for way in ways if isinstance(way.taken, Check)), own.step_costs,
    )  # fmt: skip
    by_step = {id(way.taken): way for way in ways}
    steps = tuple(_record(one, by_step.get(id(one.remedy or one.check))) for one in advise(plan))
    names = tuple(found.made.nodes[place].name for place in left_out)
    return r.NextStepsRecord(found.job.id, _sentence(steps), steps, names, tuple(assumed_figures(ASSUMED)))


# ---- which steps there are -------------------------------------------------------------------------------


def _ways(found: Weighed, places: Sequence[str], own: Shop) -> Iterator[_Way]:
    suspects = {one.id: one for one in found.suspects}
    wanted = [suspects[found.made.nodes[place].suspect_id or 0] for place in places]
    prices = one_more([one.part_id for one in wanted if one.part_id is not None], own)
    measured = _measured(found)
    for place, suspect in zip(places, wanted, strict=True):
        node = found.made.fitted[place]
        yield from _fixes(found, node, suspect, prices.get(suspect.part_id), own)
        if node == place and suspect.id not in measured:
            yield _check(node, suspect, measuring(suspect, own), own)


def _measured(found: Weighed) -> set[int]:
    """Return the suspects that were measured: measuring one again the same way says little that is new."""
    return {line.entry.row.suspect_id for line in found.made.lines if line.counts and line.entry.kind == "measured"}


def _fixes(found: Weighed, node: str, suspect: Any, price: OneMore | None, own: Shop) -> Iterator[_Way]:
    spare = _best_spare(found, suspect)
    if spare is not None:
        yield _swap(found, node, suspect, spare, price, own)
    if price is None:
        yield _repair(node, suspect, own)
        return
    shelf = _from_shelf(node, suspect, price, own)
    yield shelf if shelf is not None else _order(node, suspect, price, own)


def _best_spare(found: Weighed, suspect: Any) -> SpareOption | None:
    """Return the best spare that is free, has not failed, and was not tried in this place without success."""
    tried = {
        line.entry.row.piece_id
        for line in found.made.lines
        if line.entry.kind == SWAP and line.entry.row.suspect_id == suspect.id and line.good is False
    }
    options = spares_for(suspect_id=suspect.id).options
    fit = (
        one for one in options
        if one.free and one.seen.standing.word != "failed" and one.seen.piece.id not in tried and one.seen.piece.spare
    )  # fmt: skip
    return next(fit, None)


def _swap(found: Weighed, node: str, suspect: Any, spare: SpareOption, price: OneMore | None, own: Shop) -> _Way:
    seen = spare.seen
    known = found.made.node_of_piece.get(seen.piece.id)
    bad = found.said.p_bad[known] if known is not None else 1.0 - seen.standing.p_good
    remedy = Remedy(node, SPARE, own.minutes_swap, bad, bad, price.price_minor if price else 0.0, own.minutes_back)
    words = f"Swap in {seen.piece.shown_as} for the {suspect.name}, from bin {seen.where.bin_name}"
    return _Way(remedy, suspect, SPARE, words, spare, seen.where.bin_id, seen.where.bin_name)


def _from_shelf(node: str, suspect: Any, price: OneMore, own: Shop) -> _Way | None:
    there = sources(suspect.part_id)
    if not there:
        return None
    bad = 1.0 - good_of_lot(there[0].lot)
    name = there[0].bin.name or there[0].bin.code
    remedy = Remedy(node, SPARE, own.minutes_fit, bad, bad, price.price_minor, own.minutes_back)
    words = f"Fit a new {suspect.name} from bin {name}"
    return _Way(remedy, suspect, SHELF, words, None, there[0].bin.id, name)


def _order(node: str, suspect: Any, price: OneMore, own: Shop) -> _Way:
    bad = 1.0 - good_of_part(suspect.part)
    remedy = Remedy(
        node, ORDER, own.minutes_fit, bad, bad, price.price_minor, own.minutes_back, price.lead_days,
        price.posting_minor,
    )  # fmt: skip
    seller = f"from {price.supplier}" if price.known else "(nobody is noted who sells it)"
    days = round(price.lead_days)
    words = f"Order a {suspect.name} {seller}, about {days} {'day' if days == 1 else 'days'}"
    return _Way(remedy, suspect, ORDER, words)


def _repair(node: str, suspect: Any, own: Shop) -> _Way:
    remedy = Remedy(node, REPAIR, own.minutes_repair, own.repair_spoils, own.repair_fails)
    return _Way(remedy, suspect, REPAIR, f"Mend the {suspect.name}")


def _check(node: str, suspect: Any, by: Measuring, own: Shop) -> _Way:
    check = Check(node, own.minutes_measure, by.finds, by.passes)
    by_name = f" ({by.procedure})" if by.procedure else ""
    return _Way(check, suspect, "", f"Measure the {suspect.name}{by_name}", procedure_id=by.procedure_id)


# ---- records ---------------------------------------------------------------------------------------------


def _record(step: NextStep, way: _Way | None) -> r.StepRecord:
    spare = way.spare.seen if way is not None and way.spare is not None else None
    remedy, fixing = step.remedy, step.remedy or step.check
    return r.StepRecord(
        action=step.action,
        how=way.how if way else "",
        words=way.words if way else "Hand it back unmended",
        suspect=way.suspect.name if way else "",
        suspect_id=way.suspect.id if way else None,
        part_id=way.suspect.part_id if way else None,
        piece_id=spare.piece.id if spare else None,
        piece=spare.piece.shown_as if spare else "",
        standing=spare.standing.word if spare else "",
        bin_id=way.bin_id if way else None,
        bin=way.bin if way else "",
        procedure_id=way.procedure_id if way else None,
        minutes=fixing.minutes if fixing else 0.0,
        price_minor=round(remedy.price) if remedy else 0,
        lead_days=remedy.lead_days if remedy else 0.0,
        p_good=1.0 - remedy.bad_if_bad if remedy else None,
        cost_now_minor=round(step.cost_now),
        p_ends=step.p_ends,
        cost_after_minor=round(step.total) - round(step.cost_now),
        total_minor=round(step.total),
    )


def _sentence(steps: Sequence[r.StepRecord]) -> str:
    best = steps[0]
    if best.action == GIVE_UP:
        return "Nothing that can be done is worth its cost: hand it back unmended, or name another suspect."
    if best.action == FIX:
        return f"{best.words}: that ends the job with a chance of {percent(best.p_ends)}."
    return f"{best.words} first: what it says makes the rest cheaper."


def assumed_figures(names: Sequence[str]) -> Iterator[r.AssumedFigure]:
    """Give the shop's settings of these names, in words, and whether they are still the assumed ones."""
    known = {one.name: one for one in shop_settings()}
    for name in names:
        one = known[name]
        yield r.AssumedFigure(name, f"{one.about.replace(' (assumed)', '')} {one.value:g}", one.value == one.default)
