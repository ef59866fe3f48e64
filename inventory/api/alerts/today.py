"""/today: what needs doing at the bench."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import HoldOut, LotOut
from inventory.api.jobs.job_schemas import JobOut, NeedOut
from inventory.api.proof.loan_schemas import LoanOut
from inventory.api.proof.proof_schemas import PieceStatusOut
from inventory.api.quality.incoming_schemas import IncomingCheckOut
from inventory.api.resource import Resource
from inventory.api.schema import ResponseSchema
from inventory.domain.alerts import alerts_overview

resource = Resource("today", "What needs doing, gathered from everywhere.")


class WaitingJobOut(ResponseSchema):
    """A job that waits, with what it still wants."""

    job = fields.Nested(JobOut, "The job.")
    missing = fields.Nested(NeedOut, "What it still wants.", many=True)
    ready = fields.Boolean("All of that is on the shelf now.")


class LotToDecideOut(ResponseSchema):
    """A lot that needs a decision."""

    lot = fields.Nested(LotOut, "The lot.")
    part = fields.Nested(PartOut, "The part it is of.")
    left = fields.Integer("How many are left, in base units.", maximum=None)
    past = fields.Boolean("It is past its date.")
    hold = fields.Nested(HoldOut, "Why nobody may pull from it.", nullable=True)


class HeldLotJobOut(ResponseSchema):
    """An open job that has something of a lot on hold, which nobody has seen to yet."""

    lot = fields.Nested(LotOut, "The lot.")
    part = fields.Nested(PartOut, "The part it is of.")
    hold = fields.Nested(HoldOut, "Why nobody may pull from it.")
    job = fields.Nested(JobOut, "The job.")
    quantity = fields.Integer("How many it has, in base units.", maximum=None)


class TodayOut(ResponseSchema):
    """What needs doing today, the most pressing of each kind first; without what is done or postponed."""

    quiet = fields.Boolean("Nothing needs doing.")
    pressing = fields.Integer(
        "How many things do not wait until tomorrow: swap tests overdue, jobs promised, jobs that have some of a lot "
        "on hold, and one more if jobs wait for what is not ordered.", maximum=None,
    )  # fmt: skip
    quieted = fields.Integer("How many alerts are done or postponed and left out here: see /alerts.", maximum=None)
    out = fields.Nested(LoanOut, "Pieces out for swap tests, the first due first.", many=True)
    waiting = fields.Nested(WaitingJobOut, "Jobs that wait, those that can go on first.", many=True)
    due = fields.Nested(JobOut, "Jobs promised for today or before.", many=True)
    on_hold = fields.Nested(LotToDecideOut, "Lots on hold.", many=True)
    dated = fields.Nested(LotToDecideOut, "Lots past their date, or soon.", many=True)
    doubted = fields.Nested(PieceStatusOut, "Spares that cannot be trusted as they are.", many=True)
    held_in_jobs = fields.Nested(HeldLotJobOut, "Open jobs that have some of a lot on hold.", many=True)
    checks = fields.Nested(IncomingCheckOut, "Lots that came in and wait to be tested.", many=True)
    backup = fields.Text("What is wrong with the daily backup; empty: nothing, or none is made.")
    overdue_loan_ids = fields.List(ma.Integer(), "Swap tests that should have ended.")
    late_order_ids = fields.List(ma.Integer(), "Orders that should have come.")
    to_order_part_ids = fields.List(ma.Integer(), "Parts to order, the most urgent first: see /reorder.")
    waited_for_part_ids = fields.List(ma.Integer(), "Those of them that jobs wait for.")


@resource.get("/today")
@resource.response(200, TodayOut())
def today() -> dict[str, object]:
    """Read what needs doing today."""
    screen = alerts_overview.today_screen()
    names = ("quiet", "pressing", "out", "waiting", "due", "on_hold", "dated", "doubted", "held_in_jobs", "checks")
    return {
        **{name: getattr(screen.today, name) for name in names},
        "backup": screen.today.backup.told if screen.today.backup else "",
        "quieted": screen.quieted,
        "overdue_loan_ids": [loan.id for loan in screen.today.overdue],
        "late_order_ids": [order.id for order in screen.today.late],
        "to_order_part_ids": [advice.part.id for advice in screen.today.to_order],
        "waited_for_part_ids": [advice.part.id for advice in screen.today.waited_for],
    }
