"""The possible steps of a job: pieces that are out or free, parts on the shelf or to order, repairs, checks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from inventory.domain.catalogue.picking import pick_sources
from inventory.domain.common.shop import ShopConfig
from inventory.domain.diagnosis.diagnose import WeighedCase
from inventory.domain.diagnosis.measurement_accuracy import MeasurementAccuracy, measurement_accuracies
from inventory.domain.diagnosis.new_parts import p_good_of_lot, p_good_of_part
from inventory.domain.diagnosis.open_tests import OpenLoan, OpenTests, failed_piece_ids
from inventory.domain.proof.proof_records import PieceStatus, SpareChoice
from inventory.domain.proof.standings import is_available, is_testing_spare, piece_statuses
from inventory.domain.reorder.unit_purchases import UnitPurchase, unit_purchases
from inventory.reckoning.diagnosis.repair_plan import ORDER, REPAIR, SPARE, Measurement, Remedy, Rerun

SHELF, OUT, KEEP = "shelf", "out", "keep"


@dataclass(frozen=True)
class CandidateStep:
    """A possible step: its costs and chances for the ranking, and what a person needs to carry it out."""

    action: Remedy | Measurement | Rerun
    suspect: Any
    how: str
    words: str
    spare: PieceStatus | None = None
    bin_id: int | None = None
    bin: str = ""
    procedure_id: int | None = None
    loan_id: int | None = None


SparesBySuspect = Mapping[int, SpareChoice]


def candidate_steps(
    weighed: WeighedCase, places: Sequence[str], tests: OpenTests, config: ShopConfig, spares: SparesBySuspect
) -> Iterator[CandidateStep]:
    """Yield every step that can be taken on what is in these places; *spares* fit each suspect, by its id."""
    job_case = weighed.job_case
    by_id = {suspect.id: suspect for suspect in weighed.suspects}
    suspects = [by_id[job_case.nodes[place].suspect_id or 0] for place in places]
    prices = unit_purchases([suspect.part_id for suspect in suspects if suspect.part_id is not None], config)
    # measuring a suspect again in the same way says little that is new
    measured = {line.entry.row.suspect_id for line in job_case.lines if line.counts and line.entry.kind == "measured"}
    accuracies = measurement_accuracies(suspects, config)
    for place, suspect in zip(places, suspects, strict=True):
        steps = _PlaceSteps(weighed, tests, config, job_case.fitted[place], suspect, prices.get(suspect.part_id))
        yield from steps.with_spare(spares[suspect.id])
        yield steps.without_spare()
        if steps.node == place and suspect.id not in measured:
            yield steps.measure(accuracies[suspect.id])
        if steps.node == place and suspect.id in tests.worked and suspect.id not in tests.confirmed:
            yield steps.rerun()


@dataclass(frozen=True)
class _PlaceSteps:
    """The steps on what is in one place: ``node``, with the price of a new one (None: the suspect is no part)."""

    weighed: WeighedCase
    tests: OpenTests
    config: ShopConfig
    node: str
    suspect: Any
    price: UnitPurchase | None

    def with_spare(self, spares: SpareChoice) -> Iterator[CandidateStep]:
        """Yield the step with a piece: the one that is out, else the one that worked, else the best that is free."""
        open_loan = self.tests.out.get(self.suspect.id)
        if open_loan is not None:
            if open_loan.last_worked is not False:
                yield self._with_open_loan(open_loan)
            return
        worked = self.tests.worked.get(self.suspect.id)
        if worked is not None:
            (status,) = piece_statuses([worked.piece_id])
            if is_available(status):
                words = f"Let {status.piece.shown_as} stay fitted in place of the {self.suspect.name}"
                yield self._with_piece(status, KEEP, words, loan_id=worked.id)
                return
        spare = self._best_spare(spares)
        if spare is not None:
            words = f"Swap in {spare.piece.shown_as} for the {self.suspect.name}, from bin {spare.where.bin_name}"
            yield self._with_piece(spare, SPARE, words)

    def _best_spare(self, spares: SpareChoice) -> PieceStatus | None:
        """Return the best spare that is free, has not failed, and was not tried in this place without success."""
        tried = failed_piece_ids(self.weighed, self.suspect.id)
        free = (option.seen for option in spares.options if option.free)
        return next((status for status in free if is_testing_spare(status) and status.piece.id not in tried), None)

    def _with_open_loan(self, open_loan: OpenLoan) -> CandidateStep:
        """Return the step with the piece that is out: run the unit with it, or let it stay where it worked."""
        (status,) = piece_statuses([open_loan.loan.piece_id])
        name, suspect = status.piece.shown_as, self.suspect
        if open_loan.last_worked:
            remedy = self._spare_remedy(status, 0.0)
            words = f"Let {name} stay fitted in place of the {suspect.name}, or bring it back"
        else:
            remedy = self._spare_remedy(status, self.config.minutes_swap)
            words = f"Run the unit with {name} in place of the {suspect.name}, and tap what it does"
        return CandidateStep(remedy, suspect, OUT, words, status, loan_id=open_loan.loan.id)

    def _with_piece(self, status: PieceStatus, how: str, words: str, loan_id: int | None = None) -> CandidateStep:
        remedy, where = self._spare_remedy(status, self.config.minutes_swap), status.where
        return CandidateStep(remedy, self.suspect, how, words, status, where.bin_id, where.bin_name, loan_id=loan_id)

    def _spare_remedy(self, status: PieceStatus, minutes: float) -> Remedy:
        known = self.weighed.job_case.node_of_piece.get(status.piece.id)
        bad = self.weighed.diagnosis.p_bad[known] if known is not None else 1.0 - status.standing.p_good
        price_minor = self.price.price_minor if self.price else 0.0
        return Remedy(self.node, SPARE, minutes, bad, bad, price_minor, self.config.minutes_back)

    def without_spare(self) -> CandidateStep:
        """Return the step without a spare: a new part from the shelf, else ordered; a repair where it is no part."""
        if self.price is None:
            config = self.config
            remedy = Remedy(self.node, REPAIR, config.minutes_repair, config.repair_spoils, config.repair_fails)
            return CandidateStep(remedy, self.suspect, REPAIR, f"Mend the {self.suspect.name}")
        return self._from_shelf(self.price) or self._order(self.price)

    def _from_shelf(self, price: UnitPurchase) -> CandidateStep | None:
        source = next(iter(pick_sources(self.suspect.part_id)), None)
        if source is None:
            return None
        name = source.bin.shown_as
        remedy = self._new_part_remedy(SPARE, p_good_of_lot(source.lot), price)
        words = f"Fit a new {self.suspect.name} from bin {name}"
        return CandidateStep(remedy, self.suspect, SHELF, words, None, source.bin.id, name)

    def _order(self, price: UnitPurchase) -> CandidateStep:
        remedy = self._new_part_remedy(ORDER, p_good_of_part(self.suspect.part), price)
        remedy = replace(remedy, lead_days=price.lead_days, extra=price.posting_minor)
        name, days = self.suspect.name, round(price.lead_days)
        seller = f"from {price.supplier}" if price.known else "(nobody is noted who sells it)"
        article = "an" if name[:1] in "AEIOaeio" else "a"
        words = f"Order {article} {name} {seller}, about {days} {'day' if days == 1 else 'days'}"
        return CandidateStep(remedy, self.suspect, ORDER, words)

    def _new_part_remedy(self, how: str, p_good: float, price: UnitPurchase) -> Remedy:
        minutes, back = self.config.minutes_fit, self.config.minutes_back
        return Remedy(self.node, how, minutes, 1.0 - p_good, 1.0 - p_good, price.price_minor, back)

    def measure(self, accuracy: MeasurementAccuracy) -> CandidateStep:
        """Return the step that measures what is in the place."""
        check = Measurement(self.node, self.config.minutes_measure, accuracy.sensitivity, accuracy.specificity)
        by_name = f" ({accuracy.procedure})" if accuracy.procedure else ""
        words = f"Measure the {self.suspect.name}{by_name}"
        return CandidateStep(check, self.suspect, "", words, procedure_id=accuracy.procedure_id)

    def rerun(self) -> CandidateStep:
        """Return the step that confirms a swap that worked, with the original back in its place."""
        words = f"Put the old {self.suspect.name} back and run it, to be sure (A-B-A)"
        return CandidateStep(Rerun(self.node, self.config.minutes_back), self.suspect, "", words)
