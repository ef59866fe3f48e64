"""Which steps there are on a job: pieces that are out or free, parts on the shelf or to order, repairs, checks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from inventory.domain.catalogue.picking import sources
from inventory.domain.common.shop import Shop
from inventory.domain.diagnosis.diagnose import Weighed
from inventory.domain.diagnosis.measurement_accuracy import Measuring, measuring_of
from inventory.domain.diagnosis.new_parts import good_of_lot, good_of_part
from inventory.domain.diagnosis.open_tests import Out, UnderWay, tried_in_vain
from inventory.domain.proof.proof_records import PieceSeen, SpareChoice
from inventory.domain.proof.standings import see
from inventory.domain.reorder.unit_purchases import OneMore, one_more
from inventory.reckoning.diagnosis.next_step import ORDER, REPAIR, SPARE, Check, Remedy, Rerun

SHELF, OUT, KEEP = "shelf", "out", "keep"


@dataclass(frozen=True)
class Way:
    """A possible step: what the reckoning takes, and what a person needs to know to do it."""

    taken: Remedy | Check | Rerun
    suspect: Any
    how: str
    words: str
    spare: PieceSeen | None = None
    bin_id: int | None = None
    bin: str = ""
    procedure_id: int | None = None
    loan_id: int | None = None


Choices = Mapping[int, SpareChoice]  # by suspect


def ways(found: Weighed, places: Sequence[str], begun: UnderWay, own: Shop, fits: Choices) -> Iterator[Way]:
    """Give every step that can be taken on what is in these places; *fits* says which spares fit each suspect."""
    suspects = {one.id: one for one in found.suspects}
    wanted = [suspects[found.made.nodes[place].suspect_id or 0] for place in places]
    prices = one_more([one.part_id for one in wanted if one.part_id is not None], own)
    measured = _measured(found)
    by = measuring_of(wanted, own)
    for place, suspect in zip(places, wanted, strict=True):
        node = found.made.fitted[place]
        price = prices.get(suspect.part_id)
        yield from _with_a_spare(found, node, suspect, begun, price, own, fits[suspect.id])
        yield _without_one(node, suspect, price, own)
        if node == place and suspect.id not in measured:
            yield _check(node, suspect, by[suspect.id], own)
        if node == place and suspect.id in begun.worked and suspect.id not in begun.confirmed:
            yield _rerun(node, suspect, own)


def _measured(found: Weighed) -> set[int]:
    """Return the suspects that were measured: measuring one again the same way says little that is new."""
    return {line.entry.row.suspect_id for line in found.made.lines if line.counts and line.entry.kind == "measured"}


def _without_one(node: str, suspect: Any, price: OneMore | None, own: Shop) -> Way:
    """Give the step that takes no spare: to mend it where it is no part, else a new one from the shelf or ordered."""
    if price is None:
        return _repair(node, suspect, own)
    return _from_shelf(node, suspect, price, own) or _order(node, suspect, price, own)


def _with_a_spare(
    found: Weighed, node: str, suspect: Any, begun: UnderWay, price: OneMore | None, own: Shop, fits: SpareChoice
) -> Iterator[Way]:
    """Give the step with a spare: the one that is out, else the one that worked, else the best that is free."""
    out = begun.out.get(suspect.id)
    if out is not None:
        if out.told is not False:
            yield _out(found, node, suspect, out, price, own)
        return
    worked = begun.worked.get(suspect.id)
    if worked is not None:
        (seen,) = see([worked.piece_id])
        if seen.where.state == "in bin" and not seen.lot.on_hold:
            remedy = _spare_remedy(found, node, seen, own.minutes_swap, price, own)
            words = f"Let {seen.piece.shown_as} stay fitted in place of the {suspect.name}"
            yield Way(remedy, suspect, KEEP, words, seen, seen.where.bin_id, seen.where.bin_name, None, worked.id)
            return
    spare = _best_spare(found, suspect, fits)
    if spare is not None:
        remedy = _spare_remedy(found, node, spare, own.minutes_swap, price, own)
        words = f"Swap in {spare.piece.shown_as} for the {suspect.name}, from bin {spare.where.bin_name}"
        yield Way(remedy, suspect, SPARE, words, spare, spare.where.bin_id, spare.where.bin_name)


def _best_spare(found: Weighed, suspect: Any, fits: SpareChoice) -> PieceSeen | None:
    """Return the best spare that is free, has not failed, and was not tried in this place without success."""
    tried = tried_in_vain(found, suspect.id)
    fit = (
        one.seen for one in fits.options
        if one.free and one.seen.standing.word != "failed" and one.seen.piece.id not in tried and one.seen.piece.spare
    )  # fmt: skip
    return next(fit, None)


def _out(found: Weighed, node: str, suspect: Any, out: Out, price: OneMore | None, own: Shop) -> Way:
    """Go on with the piece that is out: run the unit with it, or let it stay where it worked."""
    (seen,) = see([out.loan.piece_id])
    name = seen.piece.shown_as
    if out.told:
        remedy = _spare_remedy(found, node, seen, 0.0, price, own)
        words = f"Let {name} stay fitted in place of the {suspect.name}, or bring it back"
    else:
        remedy = _spare_remedy(found, node, seen, own.minutes_swap, price, own)
        words = f"Run the unit with {name} in place of the {suspect.name}, and tap what it does"
    return Way(remedy, suspect, OUT, words, seen, loan_id=out.loan.id)


def _spare_remedy(
    found: Weighed, node: str, seen: PieceSeen, minutes: float, price: OneMore | None, own: Shop
) -> Remedy:
    known = found.made.node_of_piece.get(seen.piece.id)
    bad = found.said.p_bad[known] if known is not None else 1.0 - seen.standing.p_good
    return Remedy(node, SPARE, minutes, bad, bad, price.price_minor if price else 0.0, own.minutes_back)


def _from_shelf(node: str, suspect: Any, price: OneMore, own: Shop) -> Way | None:
    there = sources(suspect.part_id)
    if not there:
        return None
    bad = 1.0 - good_of_lot(there[0].lot)
    name = there[0].bin.name or there[0].bin.code
    remedy = Remedy(node, SPARE, own.minutes_fit, bad, bad, price.price_minor, own.minutes_back)
    return Way(remedy, suspect, SHELF, f"Fit a new {suspect.name} from bin {name}", None, there[0].bin.id, name)


def _order(node: str, suspect: Any, price: OneMore, own: Shop) -> Way:
    bad = 1.0 - good_of_part(suspect.part)
    remedy = Remedy(
        node, ORDER, own.minutes_fit, bad, bad, price.price_minor, own.minutes_back, price.lead_days,
        price.posting_minor,
    )  # fmt: skip
    seller = f"from {price.supplier}" if price.known else "(nobody is noted who sells it)"
    days = round(price.lead_days)
    article = "an" if suspect.name[:1] in "AEIOaeio" else "a"
    words = f"Order {article} {suspect.name} {seller}, about {days} {'day' if days == 1 else 'days'}"
    return Way(remedy, suspect, ORDER, words)


def _repair(node: str, suspect: Any, own: Shop) -> Way:
    remedy = Remedy(node, REPAIR, own.minutes_repair, own.repair_spoils, own.repair_fails)
    return Way(remedy, suspect, REPAIR, f"Mend the {suspect.name}")


def _check(node: str, suspect: Any, by: Measuring, own: Shop) -> Way:
    check = Check(node, own.minutes_measure, by.finds, by.passes)
    by_name = f" ({by.procedure})" if by.procedure else ""
    return Way(check, suspect, "", f"Measure the {suspect.name}{by_name}", procedure_id=by.procedure_id)


def _rerun(node: str, suspect: Any, own: Shop) -> Way:
    words = f"Put the old {suspect.name} back and run it, to be sure (A-B-A)"
    return Way(Rerun(node, own.minutes_back), suspect, "", words)
