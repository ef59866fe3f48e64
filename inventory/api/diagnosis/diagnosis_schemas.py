"""What was seen on a job, what it says, what to do next, what it turned out to be, which spares to keep."""

from __future__ import annotations

from marshmallow import fields as ma

from inventory.api import fields
from inventory.api.catalogue.part_schemas import PartOut
from inventory.api.catalogue.stock_schemas import LotOut, PieceOut
from inventory.api.jobs.job_schemas import JobOut
from inventory.api.schema import Answer, Body
from inventory.domain.diagnosis.evidence import KINDS

THINGS = ("suspect", "spare", "new part", "repaired", "not on the list")


def _chance(about: str, **more: bool) -> fields.Share:
    return fields.Share(about, nullable=bool(more.get("nullable")))


def _number(about: str, **more: bool) -> fields.Share:
    return fields.Share(about, least=None, most=None, nullable=bool(more.get("nullable")))


def _money(about: str, **more: bool) -> fields.Whole:
    return fields.Whole(f"{about}, in minor units.", least=None, most=None, nullable=bool(more.get("nullable")))


class EvidenceIn(Body):
    """What was seen. Which fields go with a kind: see there; chances left out are the shop's or a procedure's."""

    kind = fields.Text(
        "measured (says_bad, sensitivity, specificity), swapped (loan_ids, works), new part (works, lot_id), "
        "repaired (works, bad_if_good, bad_if_bad) or put back (works).",
        words=KINDS, required=True,
    )  # fmt: skip
    suspect_id = fields.Ident("The suspect it is about; not for swapped, which is about the pieces.", nullable=True)
    works = fields.Flag("How the unit then ran: it works, or still fails; null: it was not run.", nullable=True)
    says_bad = fields.Flag("What the measurement says.", nullable=True)
    sensitivity = fields.Share("P(says bad | bad).", nullable=True)
    specificity = fields.Share("P(says good | good).", nullable=True)
    bad_if_good = fields.Share("P(bad after the repair | good before).", nullable=True)
    bad_if_bad = fields.Share("P(bad after the repair | bad before).", nullable=True)
    lot_id = fields.Ident(
        "The lot of the new part; null: what the job took last of the suspect's part.", nullable=True
    )
    loan_ids = fields.Many(
        fields.Ident("A loan that is out to the job."),
        "The pieces in the unit, by their loans.",
        most=21,
        nullable=True,
    )
    note = fields.Text("What else to know.", most=1000, default="")


class StrikeIn(Body):
    """Why an observation counts no longer."""

    reason = fields.Text("Why it was wrong.", least=1, most=300, required=True, example="other unit on the bench")


class EvidenceOut(Answer):
    """One observation about the suspects of a job."""

    id = fields.Ident("Its id.")
    job_id = fields.Ident("The job.")
    kind = fields.Text("What was done.", words=KINDS)
    suspect_id = fields.Ident("The suspect it is about.", nullable=True)
    suspect = fields.Text("What that is called.")
    at = fields.Moment("When.")
    person = fields.Text("Who logged it.")
    words = fields.Text("What was seen, for people.")
    works = fields.Flag("How the unit then ran.", nullable=True)
    says_bad = fields.Flag("What the measurement says.", nullable=True)
    sensitivity = _chance("P(says bad | bad).", nullable=True)
    specificity = _chance("P(says good | good).", nullable=True)
    lot_id = fields.Ident("The lot of the new part.", nullable=True)
    p_good = _chance("Chance that the new part was good, as believed then.", nullable=True)
    bad_if_good = _chance("P(bad after the repair | good before).", nullable=True)
    bad_if_bad = _chance("P(bad after the repair | bad before).", nullable=True)
    loan_ids = fields.Many(ma.Integer(), "The loans of the pieces that were in the unit.")
    note = fields.Text("What else to know.")
    struck = fields.Moment("When it was struck out; null: it counts.", nullable=True)
    struck_by = fields.Text("Who struck it out.")
    struck_reason = fields.Text("Why.")


class MovedOut(Answer):
    """How a chance moved."""

    name = fields.Text("What may be bad.")
    what = fields.Text("What it is.", words=THINGS)
    before = _chance("Chance of being bad before; null: it was not there.", nullable=True)
    after = _chance("Chance of being bad after.")


class NotedOut(Answer):
    """An observation that was logged, and what it did."""

    evidence = fields.Inner(EvidenceOut, "The observation.")
    sentence = fields.Text("What it says, for people.")
    moved = fields.Inner(MovedOut, "The chances, the most moved first.", many=True)


class ThingOut(Answer):
    """One thing that may be bad."""

    name = fields.Text("What it is called.")
    what = fields.Text("What it is.", words=THINGS)
    p_bad = _chance("Chance that it is bad, by the whole log.")
    before = _chance("The same before the last line that counts; null: it was not there.", nullable=True)
    prior = _chance("The same when only the complaint was known; null: it came later.", nullable=True)
    fitted = fields.Flag("It is in the unit now.")
    place = fields.Text("The suspect in whose place it is or was tried.")
    suspect_id = fields.Ident("That suspect.", nullable=True)
    piece_id = fields.Ident("The piece, for a spare.", nullable=True)


class FaultSetOut(Answer):
    """Things that are bad together."""

    names = fields.Many(ma.String(), "Which; empty: nothing that is fitted now.")
    chance = _chance("Chance of just that.")


class PriorCountOut(Answer):
    """How often it was at fault before."""

    name = fields.Text("The suspect.")
    times = fields.Whole("Closed jobs on which it was at fault.")
    share = _chance("Its smoothed share of the faults.")


class CountedJobOut(Answer):
    """A closed job that counted for where the chances start."""

    id = fields.Ident("Its id.")
    number = fields.Text("Its number.")
    symptom = fields.Text("Its symptom, in the customer's words.")
    it_was = fields.Text("What it turned out to be.")


class PriorsOut(Answer):
    """Where the chances start."""

    words = fields.Text("Where they come from, for people.")
    jobs = fields.Whole("Closed jobs of that model and symptom that count; 0: all suspects start equal.")
    counts = fields.Inner(PriorCountOut, "The suspects.", many=True)
    elsewhere = fields.Inner(PriorCountOut, "What is not on the list.")
    smoothing = _number("Assumed faults that are spread evenly over the suspects.")
    counted = fields.Inner(CountedJobOut, "The jobs that counted, newest first.", many=True)


class LogLineOut(Answer):
    """One thing that was seen on the job."""

    at = fields.Moment("When.")
    kind = fields.Text("complaint, swap test, bench test, or a kind of evidence.")
    words = fields.Text("What was seen.")
    person = fields.Text("Who saw it.")
    counts = fields.Flag("It is weighed.")
    remark = fields.Text("Why it is not weighed, or how.")
    evidence_id = fields.Ident("The observation.", nullable=True)
    loan_id = fields.Ident("The loan whose result it is.", nullable=True)
    piece_id = fields.Ident("The piece it is about.", nullable=True)
    good = fields.Flag("The unit worked, or the test said good; null: neither.", nullable=True)
    struck_reason = fields.Text("Why it was struck out.")
    moved = fields.Inner(MovedOut, "What it did to the chances.", many=True)
    still = fields.Text("Why no chance moved by as much as a tenth of a per cent; empty when one did.")


class DiagnosisOut(Answer):
    """What the whole log of a job says: the exact posterior."""

    job_id = fields.Ident("The job.")
    sentence = fields.Text("What it says, for people.")
    suspects = fields.Inner(ThingOut, "The suspects and what is not on the list, the likeliest first.", many=True)
    others = fields.Inner(ThingOut, "Spares, new parts and repaired things.", many=True)
    likely = fields.Inner(FaultSetOut, "The likeliest sets of faults in what is fitted now.", many=True)
    p_evidence = _chance("Chance of the whole log, before any of it was seen.")
    priors = fields.Inner(PriorsOut, "Where the chances started.")
    log = fields.Inner(LogLineOut, "The log, oldest first.", many=True)


class SuggestedOut(Answer):
    """A suspect of earlier jobs."""

    name = fields.Text("What it is.")
    part_id = fields.Ident("The part it is.", nullable=True)
    times = fields.Whole("How often it was at fault.")
    words = fields.Text("The same, for people.")


class StepOut(Answer):
    """One possible next step; total = cost now + cost after, all expected."""

    action = fields.Text("What kind of step.", words=("fix", "measure", "run again", "give up"))
    how = fields.Text(
        "What a fix is done with; out: a piece that is out already, keep: one that the unit worked with.",
        words=("", "out", "keep", "spare", "shelf", "order", "repair"),
    )
    words = fields.Text("What to do, for people.")
    suspect = fields.Text("The suspect it is about.")
    suspect_id = fields.Ident("That suspect.", nullable=True)
    part_id = fields.Ident("Its part.", nullable=True)
    piece_id = fields.Ident("The spare.", nullable=True)
    piece = fields.Text("What the spare is called.")
    standing = fields.Text("How far the spare can be trusted.")
    bin_id = fields.Ident("Where it is.", nullable=True)
    bin = fields.Text("What that bin is called.")
    loan_id = fields.Ident(
        "out: the loan that waits for a result; keep: the one with which it worked.", nullable=True
    )
    procedure_id = fields.Ident("The procedure to measure it by.", nullable=True)
    minutes = _number("Minutes at the bench.")
    price_minor = _money("Price of what would be fitted")
    lead_days = _number("Days until it is here.")
    p_good = _chance("Chance that what would be fitted is good, or that the repair takes.", nullable=True)
    cost_now_minor = _money("Expected cost of the step")
    p_ends = _chance("Chance that the unit is seen working after it.")
    cost_after_minor = _money("Expected cost afterwards, working down the list")
    total_minor = _money("Expected total")


class FigureOut(Answer):
    """A figure that the advice rests on."""

    name = fields.Text("The shop's setting, or a short name.")
    words = fields.Text("What it is, and how much.")
    assumed = fields.Flag("Nobody set it yet: it was chosen by us, with no published source.")


class NextStepsOut(Answer):
    """What could be done next on a job."""

    job_id = fields.Ident("The job.")
    sentence = fields.Text("What to do, for people.")
    steps = fields.Inner(StepOut, "The steps: what is under way first, then the cheapest in expectation.", many=True)
    left_out = fields.Many(ma.String(), "Suspects too unlikely to be looked over.")
    figures = fields.Inner(FigureOut, "What the costs rest on.", many=True)


class CaseOut(Answer):
    """A job's log as a case for `benchproof diagnose`."""

    name = fields.Text("The job.")
    prior = ma.Dict(
        keys=ma.String(), values=ma.Float(), metadata={"description": "Chance of each suspect before the complaint."}
    )
    leak = _chance("The same for what is not on the list.")
    steps = ma.List(ma.Dict(), metadata={"description": "What was seen, in order; op says what kind of step."})


class CarriedOut(Answer):
    """What a closed job's whole log said of a piece."""

    piece_id = fields.Ident("The piece.")
    piece = fields.Text("What it is called.")
    p_before = _chance("Chance that it was good, when the job took it.")
    p_after = _chance("The same by all that the job saw.")


class ClosingOut(Answer):
    """What a job turned out to be."""

    job = fields.Inner(JobOut, "The job.")
    at = fields.Moment("When it was closed.")
    person = fields.Text("Who closed it.")
    was = fields.Many(ma.String(), "The suspects that it was.")
    something_else = fields.Flag("It was something not on the list.")
    carried = fields.Inner(CarriedOut, "What it said of the spares.", many=True)
    not_carried = fields.Text("Why the log could not be weighed; empty: it was.")


class UnneededOut(Answer):
    """A part that a job did not need and that may become a spare."""

    part = fields.Inner(PartOut, "The part.")
    lot = fields.Inner(LotOut, "Its lot.")
    quantity = fields.Whole("How many.")
    taken = fields.Flag("The job has it; else it came in for the job.")
    bin_id = fields.Ident("The bin it came from or lies in.")
    bin = fields.Text("What that bin is called.")
    ran = fields.Flag("The log saw the unit work with it.")
    piece_id = fields.Ident("The piece, if it is one already.", nullable=True)
    sentence = fields.Text("The offer, for people.")


class KeptSpareIn(Body):
    """Which part that a job did not need becomes a spare: a lot or a piece."""

    lot_id = fields.Ident("One loose unit of this lot.", nullable=True)
    piece_id = fields.Ident("This piece, which the job has.", nullable=True)
    bin_id = fields.Ident("Into this bin; null: the one it came from.", nullable=True)
    name = fields.Text("What the bench calls it.", most=40, default="", example="C-07")
    ran = fields.Flag("The unit did what it should with it: that is its proof.", default=False)


class KeptSpareOut(Answer):
    """The spare that was made."""

    piece = fields.Inner(PieceOut, "The piece: print its label.")
    bin_id = fields.Ident("Where it is.")
    bin = fields.Text("What that bin is called.")
    proved = fields.Flag("Its run in the unit was noted as its proof.")
    sentence = fields.Text("What was done, for people.")


class KeepOut(Answer):
    """What keeping one proved spare of a part is worth."""

    part = fields.Inner(PartOut, "The part.")
    jobs = fields.Whole("Jobs that suspected it, in the years counted.")
    times_bad = fields.Whole("How often it was at fault.")
    jobs_a_year = _number("The same a year.")
    p_bad = _chance("Chance that it is the fault when it is suspected.")
    price_minor = _money("What one costs")
    lead_days = _number("Days that one takes to come.")
    ordered_if_bad = _chance("Chance that it is ordered when it is the fault.")
    ordered_if_good = _chance("Chance that it is ordered in vain.")
    orders_seen = fields.Whole("Jobs from which those two were counted.")
    saving_minor = _money("What a proved spare saves on each such job")
    value_minor = _money("What keeping one is worth a year")
    break_even_jobs = _number("Jobs a year from which it pays; null: no number does.", nullable=True)
    p_good = _chance("Chance that the spare is good.")
    pieces = fields.Many(ma.String(), "The spares of it that are here.")
    proved = fields.Whole("How many of them are proved.")
    swapped_jobs = fields.Whole("Jobs on which one was swapped.")
    kept_since = fields.Moment("When the first one was kept.", nullable=True)
    saved_minor = _money("What that has saved so far; null: never kept", nullable=True)


class KeepListOut(Answer):
    """Which spares are worth proving and keeping."""

    parts = fields.Inner(KeepOut, "The parts, the most valuable first.", many=True)
    unpriced = fields.Inner(PartOut, "Suspected, but nobody noted what they cost.", many=True)
    years = _number("Years of the shop's own jobs that were counted.")
    saved_minor = _money("What all of them have saved so far")
    figures = fields.Inner(FigureOut, "What the values rest on.", many=True)
