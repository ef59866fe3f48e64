"""/today: what needs doing at the bench."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import HoldOut, LotOut
from inventory.api.jobs.job_schemas import JobOut, NeedOut
from inventory.api.proof.loan_schemas import LoanOut
from inventory.api.proof.proof_schemas import PieceSeenOut
from inventory.api.quality.incoming_schemas import IncomingOut
from inventory.api.resource import Resource
from inventory.api.schema import Answer
from inventory.domain.alerts import alerts_overview

resource = Resource("today", "What needs doing, gathered from everywhere.")


class WaitingJobOut(Answer):
    """A job that waits, with what it still wants."""

    job = fields.Inner(JobOut, "The job.")
    missing = fields.Inner(NeedOut, "What it still wants.", many=True)
    ready = fields.Flag("All of that is on the shelf now.")


class LotToMindOut(Answer):
    """A lot that needs a decision."""

    lot = fields.Inner(LotOut, "The lot.")
    part = fields.Inner(PartOut, "The part it is of.")
    left = fields.Whole("How many are left, in base units.", most=None)
    past = fields.Flag("It is past its date.")
    hold = fields.Inner(HoldOut, "Why nobody may pull from it.", nullable=True)


class JobWithBadLotOut(Answer):
    """An open job that has something of a lot on hold, which nobody has seen to yet."""

    lot = fields.Inner(LotOut, "The lot.")
    part = fields.Inner(PartOut, "The part it is of.")
    hold = fields.Inner(HoldOut, "Why nobody may pull from it.")
    job = fields.Inner(JobOut, "The job.")
    quantity = fields.Whole("How many it has, in base units.", most=None)


class TodayOut(Answer):
    """What needs doing today, the most pressing of each kind first, without what somebody has seen or put off."""

    quiet = fields.Flag("Nothing needs doing.")
    pressing = fields.Whole(
        "How many things do not wait until tomorrow: swap tests overdue, jobs promised, jobs that have some of a lot "
        "on hold, and one more if jobs wait for what is not ordered.", most=None,
    )  # fmt: skip
    quieted = fields.Whole("How many things were seen or put off and are not told here: see /alerts.", most=None)
    out = fields.Inner(LoanOut, "Pieces out for swap tests, the first due first.", many=True)
    waiting = fields.Inner(WaitingJobOut, "Jobs that wait, those that can go on first.", many=True)
    due = fields.Inner(JobOut, "Jobs promised for today or before.", many=True)
    on_hold = fields.Inner(LotToMindOut, "Lots on hold.", many=True)
    dated = fields.Inner(LotToMindOut, "Lots past their date, or soon.", many=True)
    doubted = fields.Inner(PieceSeenOut, "Spares that cannot be trusted as they are.", many=True)
    held_in_jobs = fields.Inner(JobWithBadLotOut, "Open jobs that have some of a lot on hold.", many=True)
    checks = fields.Inner(IncomingOut, "Lots that came in and wait to be tested.", many=True)
    backup = fields.Text("What is wrong with the daily backup; empty: nothing, or none is made.")
    overdue_loan_ids = fields.Many(ma.Integer(), "Swap tests that should have ended.")
    late_order_ids = fields.Many(ma.Integer(), "Orders that should have come.")
    to_order_part_ids = fields.Many(ma.Integer(), "Parts to order, the most urgent first: see /reorder.")
    waited_for_part_ids = fields.Many(ma.Integer(), "Those of them that jobs wait for.")


@resource.get("/today")
@resource.response(200, TodayOut())
def today() -> dict[str, object]:
    """Read what needs doing today."""
    at = alerts_overview.at_today()
    found = at.today
    named = ("quiet", "pressing", "out", "waiting", "due", "on_hold", "dated", "doubted", "held_in_jobs", "checks")
    return {
        **{name: getattr(found, name) for name in named},
        "backup": found.backup.told if found.backup else "",
        "quieted": at.quieted,
        "overdue_loan_ids": [one.id for one in found.overdue],
        "late_order_ids": [one.id for one in found.late],
        "to_order_part_ids": [one.part.id for one in found.to_order],
        "waited_for_part_ids": [one.part.id for one in found.waited_for],
    }
