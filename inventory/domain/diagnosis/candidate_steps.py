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

    action: Remedy | Measurement | Rerun
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
    weighed: WeighedCase, places: Sequence[str], tests: OpenTests, config: ShopConfig, spares: SparesBySuspect
) -> Iterator[CandidateStep]:
    """Give every step that can be taken on what is in these places; *fits* says which spares fit each suspect."""
    suspects = {suspect.id: suspect for suspect in weighed.suspects}
    fitting_suspects = [suspects[weighed.job_case.nodes[place].suspect_id or 0] for place in places]
    prices = unit_purchases([one.part_id for one in fitting_suspects if one.part_id is not None], config)
    measured = _measured_suspect_ids(weighed)
    accuracies = measurement_accuracies(fitting_suspects, config)
    for place, suspect in zip(places, fitting_suspects, strict=True):
        node = weighed.job_case.fitted[place]
        price = prices.get(suspect.part_id)
        yield from _steps_with_spare(weighed, node, suspect, tests, price, config, spares[suspect.id])
        yield _step_without_spare(node, suspect, price, config)
        if node == place and suspect.id not in measured:
            yield _measure_step(node, suspect, accuracies[suspect.id], config)
        if node == place and suspect.id in tests.worked and suspect.id not in tests.confirmed:
            yield _rerun_step(node, suspect, config)


def _measured_suspect_ids(weighed: WeighedCase) -> set[int]:
    """Return the suspects that were measured: measuring one again the same way says little that is new."""
    return {
        line.entry.row.suspect_id for line in weighed.job_case.lines if line.counts and line.entry.kind == "measured"
    }


def _step_without_spare(node: str, suspect: Any, price: UnitPurchase | None, config: ShopConfig) -> CandidateStep:
    """Give the step that takes no spare: to mend it where it is no part, else a new one from the shelf or ordered."""
    if price is None:
        return _repair_step(node, suspect, config)
    return _step_from_shelf(node, suspect, price, config) or _order_step(node, suspect, price, config)


def _steps_with_spare(
    weighed: WeighedCase,
    node: str,
    suspect: Any,
    tests: OpenTests,
    price: UnitPurchase | None,
    config: ShopConfig,
    spares: SpareChoice,
) -> Iterator[CandidateStep]:
    """Give the step with a spare: the one that is out, else the one that worked, else the best that is free."""
    out = tests.out.get(suspect.id)
    if out is not None:
        if out.last_worked is not False:
            yield _step_with_open_loan(weighed, node, suspect, out, price, config)
        return
    worked = tests.worked.get(suspect.id)
    if worked is not None:
        (status,) = piece_statuses([worked.piece_id])
        if status.where.state == "in bin" and not status.lot.on_hold:
            remedy = _spare_remedy(weighed, node, status, config.minutes_swap, price, config)
            words = f"Let {status.piece.shown_as} stay fitted in place of the {suspect.name}"
            yield CandidateStep(
                remedy, suspect, KEEP, words, status, status.where.bin_id, status.where.bin_name, None, worked.id
            )
            return
    spare = _best_spare(weighed, suspect, spares)
    if spare is not None:
        remedy = _spare_remedy(weighed, node, spare, config.minutes_swap, price, config)
        words = f"Swap in {spare.piece.shown_as} for the {suspect.name}, from bin {spare.where.bin_name}"
        yield CandidateStep(remedy, suspect, SPARE, words, spare, spare.where.bin_id, spare.where.bin_name)


def _best_spare(weighed: WeighedCase, suspect: Any, spares: SpareChoice) -> PieceStatus | None:
    """Return the best spare that is free, has not failed, and was not tried in this place without success."""
    tried = failed_piece_ids(weighed, suspect.id)
    usable = (
        option.seen
        for option in spares.options
        if option.free
        and option.seen.standing.word != "failed"
        and option.seen.piece.id not in tried
        and option.seen.piece.spare
    )
    return next(usable, None)


def _step_with_open_loan(
    weighed: WeighedCase, node: str, suspect: Any, open_loan: OpenLoan, price: UnitPurchase | None, config: ShopConfig
) -> CandidateStep:
    """Go on with the piece that is out: run the unit with it, or let it stay where it worked."""
    (status,) = piece_statuses([open_loan.loan.piece_id])
    name = status.piece.shown_as
    if open_loan.last_worked:
        remedy = _spare_remedy(weighed, node, status, 0.0, price, config)
        words = f"Let {name} stay fitted in place of the {suspect.name}, or bring it back"
    else:
        remedy = _spare_remedy(weighed, node, status, config.minutes_swap, price, config)
        words = f"Run the unit with {name} in place of the {suspect.name}, and tap what it does"
    return CandidateStep(remedy, suspect, OUT, words, status, loan_id=open_loan.loan.id)


def _spare_remedy(
    weighed: WeighedCase,
    node: str,
    status: PieceStatus,
    minutes: float,
    price: UnitPurchase | None,
    config: ShopConfig,
) -> Remedy:
    spare_node = weighed.job_case.node_of_piece.get(status.piece.id)
    bad = weighed.diagnosis.p_bad[spare_node] if spare_node is not None else 1.0 - status.standing.p_good
    return Remedy(node, SPARE, minutes, bad, bad, price.price_minor if price else 0.0, config.minutes_back)


def _step_from_shelf(node: str, suspect: Any, price: UnitPurchase, config: ShopConfig) -> CandidateStep | None:
    sources = pick_sources(suspect.part_id)
    if not sources:
        return None
    bad = 1.0 - p_good_of_lot(sources[0].lot)
    name = sources[0].bin.name or sources[0].bin.code
    remedy = Remedy(node, SPARE, config.minutes_fit, bad, bad, price.price_minor, config.minutes_back)
    return CandidateStep(
        remedy, suspect, SHELF, f"Fit a new {suspect.name} from bin {name}", None, sources[0].bin.id, name
    )


def _order_step(node: str, suspect: Any, price: UnitPurchase, config: ShopConfig) -> CandidateStep:
    bad = 1.0 - p_good_of_part(suspect.part)
    remedy = Remedy(
        node, ORDER, config.minutes_fit, bad, bad, price.price_minor, config.minutes_back, price.lead_days,
        price.posting_minor,
    )  # fmt: skip
    seller = f"from {price.supplier}" if price.known else "(nobody is noted who sells it)"
    days = round(price.lead_days)
    article = "an" if suspect.name[:1] in "AEIOaeio" else "a"
    words = f"Order {article} {suspect.name} {seller}, about {days} {'day' if days == 1 else 'days'}"
    return CandidateStep(remedy, suspect, ORDER, words)


def _repair_step(node: str, suspect: Any, config: ShopConfig) -> CandidateStep:
    remedy = Remedy(node, REPAIR, config.minutes_repair, config.repair_spoils, config.repair_fails)
    return CandidateStep(remedy, suspect, REPAIR, f"Mend the {suspect.name}")


def _measure_step(node: str, suspect: Any, accuracy: MeasurementAccuracy, config: ShopConfig) -> CandidateStep:
    check = Measurement(node, config.minutes_measure, accuracy.sensitivity, accuracy.specificity)
    by_name = f" ({accuracy.procedure})" if accuracy.procedure else ""
    return CandidateStep(
        check, suspect, "", f"Measure the {suspect.name}{by_name}", procedure_id=accuracy.procedure_id
    )


def _rerun_step(node: str, suspect: Any, config: ShopConfig) -> CandidateStep:
    words = f"Put the old {suspect.name} back and run it, to be sure (A-B-A)"
    return CandidateStep(Rerun(node, config.minutes_back), suspect, "", words)
