"""Which steps there are on a job: pieces that are out or free, parts on the shelf or to order, repairs, checks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.catalogue.picking import pick_sources
from inventory.domain.common.shop import ShopConfig
from inventory.domain.diagnosis.diagnose import WeighedCase
from inventory.domain.diagnosis.measurement_accuracy import MeasurementAccuracy, measurement_accuracies
from inventory.domain.diagnosis.new_parts import p_good_of_lot, p_good_of_part
from inventory.domain.diagnosis.open_tests import OpenLoan, OpenTests, failed_piece_ids
from inventory.domain.proof.proof_records import PieceStatus, SpareChoice
from inventory.domain.proof.standings import piece_statuses
from inventory.domain.reorder.unit_purchases import UnitPurchase, unit_purchases
from inventory.reckoning.diagnosis.next_step import ORDER, REPAIR, SPARE, Measurement, Remedy, Rerun

SHELF, OUT, KEEP = "shelf", "out", "keep"


@dataclass(frozen=True)
class CandidateStep:
    """A possible step: what the reckoning takes, and what a person needs to know to do it."""

    taken: Remedy | Measurement | Rerun
    suspect: Any
    how: str
    words: str
    spare: PieceStatus | None = None
    bin_id: int | None = None
    bin: str = ""
    procedure_id: int | None = None
    loan_id: int | None = None


SparesBySuspect = Mapping[int, SpareChoice]  # by suspect


def candidate_steps(
    found: WeighedCase, places: Sequence[str], begun: OpenTests, own: ShopConfig, fits: SparesBySuspect
) -> Iterator[CandidateStep]:
    """Give every step that can be taken on what is in these places; *fits* says which spares fit each suspect."""
    suspects = {suspect.id: suspect for suspect in found.suspects}
    wanted = [suspects[found.made.nodes[place].suspect_id or 0] for place in places]
    prices = unit_purchases([one.part_id for one in wanted if one.part_id is not None], own)
    measured = _measured_suspect_ids(found)
    by = measurement_accuracies(wanted, own)
    for place, suspect in zip(places, wanted, strict=True):
        node = found.made.fitted[place]
        price = prices.get(suspect.part_id)
        yield from _steps_with_spare(found, node, suspect, begun, price, own, fits[suspect.id])
        yield _step_without_spare(node, suspect, price, own)
        if node == place and suspect.id not in measured:
            yield _measure_step(node, suspect, by[suspect.id], own)
        if node == place and suspect.id in begun.worked and suspect.id not in begun.confirmed:
            yield _rerun_step(node, suspect, own)


def _measured_suspect_ids(found: WeighedCase) -> set[int]:
    """Return the suspects that were measured: measuring one again the same way says little that is new."""
    return {line.entry.row.suspect_id for line in found.made.lines if line.counts and line.entry.kind == "measured"}


def _step_without_spare(node: str, suspect: Any, price: UnitPurchase | None, own: ShopConfig) -> CandidateStep:
    """Give the step that takes no spare: to mend it where it is no part, else a new one from the shelf or ordered."""
    if price is None:
        return _repair_step(node, suspect, own)
    return _step_from_shelf(node, suspect, price, own) or _order_step(node, suspect, price, own)


def _steps_with_spare(
    found: WeighedCase,
    node: str,
    suspect: Any,
    begun: OpenTests,
    price: UnitPurchase | None,
    own: ShopConfig,
    fits: SpareChoice,
) -> Iterator[CandidateStep]:
    """Give the step with a spare: the one that is out, else the one that worked, else the best that is free."""
    out = begun.out.get(suspect.id)
    if out is not None:
        if out.told is not False:
            yield _step_with_open_loan(found, node, suspect, out, price, own)
        return
    worked = begun.worked.get(suspect.id)
    if worked is not None:
        (seen,) = piece_statuses([worked.piece_id])
        if seen.where.state == "in bin" and not seen.lot.on_hold:
            remedy = _spare_remedy(found, node, seen, own.minutes_swap, price, own)
            words = f"Let {seen.piece.shown_as} stay fitted in place of the {suspect.name}"
            yield CandidateStep(
                remedy, suspect, KEEP, words, seen, seen.where.bin_id, seen.where.bin_name, None, worked.id
            )
            return
    spare = _best_spare(found, suspect, fits)
    if spare is not None:
        remedy = _spare_remedy(found, node, spare, own.minutes_swap, price, own)
        words = f"Swap in {spare.piece.shown_as} for the {suspect.name}, from bin {spare.where.bin_name}"
        yield CandidateStep(remedy, suspect, SPARE, words, spare, spare.where.bin_id, spare.where.bin_name)


def _best_spare(found: WeighedCase, suspect: Any, fits: SpareChoice) -> PieceStatus | None:
    """Return the best spare that is free, has not failed, and was not tried in this place without success."""
    tried = failed_piece_ids(found, suspect.id)
    fit = (
        option.seen
        for option in fits.options
        if option.free
        and option.seen.standing.word != "failed"
        and option.seen.piece.id not in tried
        and option.seen.piece.spare
    )
    return next(fit, None)


def _step_with_open_loan(
    found: WeighedCase, node: str, suspect: Any, out: OpenLoan, price: UnitPurchase | None, own: ShopConfig
) -> CandidateStep:
    """Go on with the piece that is out: run the unit with it, or let it stay where it worked."""
    (seen,) = piece_statuses([out.loan.piece_id])
    name = seen.piece.shown_as
    if out.told:
        remedy = _spare_remedy(found, node, seen, 0.0, price, own)
        words = f"Let {name} stay fitted in place of the {suspect.name}, or bring it back"
    else:
        remedy = _spare_remedy(found, node, seen, own.minutes_swap, price, own)
        words = f"Run the unit with {name} in place of the {suspect.name}, and tap what it does"
    return CandidateStep(remedy, suspect, OUT, words, seen, loan_id=out.loan.id)


def _spare_remedy(
    found: WeighedCase, node: str, seen: PieceStatus, minutes: float, price: UnitPurchase | None, own: ShopConfig
) -> Remedy:
    known = found.made.node_of_piece.get(seen.piece.id)
    bad = found.said.p_bad[known] if known is not None else 1.0 - seen.standing.p_good
    return Remedy(node, SPARE, minutes, bad, bad, price.price_minor if price else 0.0, own.minutes_back)


def _step_from_shelf(node: str, suspect: Any, price: UnitPurchase, own: ShopConfig) -> CandidateStep | None:
    there = pick_sources(suspect.part_id)
    if not there:
        return None
    bad = 1.0 - p_good_of_lot(there[0].lot)
    name = there[0].bin.shown_as
    remedy = Remedy(node, SPARE, own.minutes_fit, bad, bad, price.price_minor, own.minutes_back)
    return CandidateStep(
        remedy, suspect, SHELF, f"Fit a new {suspect.name} from bin {name}", None, there[0].bin.id, name
    )


def _order_step(node: str, suspect: Any, price: UnitPurchase, own: ShopConfig) -> CandidateStep:
    bad = 1.0 - p_good_of_part(suspect.part)
    remedy = Remedy(
        node, ORDER, own.minutes_fit, bad, bad, price.price_minor, own.minutes_back, price.lead_days,
        price.posting_minor,
    )  # fmt: skip
    seller = f"from {price.supplier}" if price.known else "(nobody is noted who sells it)"
    days = round(price.lead_days)
    article = "an" if suspect.name[:1] in "AEIOaeio" else "a"
    words = f"Order {article} {suspect.name} {seller}, about {days} {'day' if days == 1 else 'days'}"
    return CandidateStep(remedy, suspect, ORDER, words)


def _repair_step(node: str, suspect: Any, own: ShopConfig) -> CandidateStep:
    remedy = Remedy(node, REPAIR, own.minutes_repair, own.repair_spoils, own.repair_fails)
    return CandidateStep(remedy, suspect, REPAIR, f"Mend the {suspect.name}")


def _measure_step(node: str, suspect: Any, by: MeasurementAccuracy, own: ShopConfig) -> CandidateStep:
    check = Measurement(node, own.minutes_measure, by.finds, by.passes)
    by_name = f" ({by.procedure})" if by.procedure else ""
    return CandidateStep(check, suspect, "", f"Measure the {suspect.name}{by_name}", procedure_id=by.procedure_id)


def _rerun_step(node: str, suspect: Any, own: ShopConfig) -> CandidateStep:
    words = f"Put the old {suspect.name} back and run it, to be sure (A-B-A)"
    return CandidateStep(Rerun(node, own.minutes_back), suspect, "", words)
