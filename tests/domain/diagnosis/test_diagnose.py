"""What a job's log says: priors from closed jobs, every kind of evidence, contradictions, and its limits."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from inventory.domain.common import clock
from inventory.domain.common.errors import Conflict, Invalid, NotFound
from inventory.domain.common.records import JobRecord
from inventory.domain.diagnosis import diagnose, evidence, job_closing, past_causes, swap_tests
from inventory.domain.diagnosis.diagnosis_records import DiagnosisRecord
from inventory.domain.jobs import jobs
from inventory.domain.movements import pull, receive
from inventory.domain.proof import standings
from inventory.reckoning.diagnosis.case import case_from_dict
from inventory.reckoning.diagnosis.posterior import diagnose as weigh_case
from tests.factories import a_bin, a_job, a_part, a_person
from tests.proof_factories import a_piece, prove_fan

pytestmark = pytest.mark.usefixtures("bench")

RUN = {"op": "unit_test", "mask": 0.02, "misread": 0.01}
START = datetime(2026, 3, 2, 9, tzinfo=UTC)


def suspected(*names: str, **job: Any) -> tuple[JobRecord, dict[str, int]]:
    """Open a job with suspects; return it and their ids by name."""
    opened = a_job(**job)
    return opened, {name: jobs.add_suspect(opened.id, name).id for name in names}


def closed_as(name: str, *others: str, **job: Any) -> None:
    """Close a job of the same model and symptom that was *name*."""
    opened, ids = suspected(name, *others, **job)
    job_closing.close_with_causes(opened.id, was=[ids[name]])


def chances(diagnosis: DiagnosisRecord) -> dict[str, float]:
    return {suspect.name: suspect.p_bad for suspect in (*diagnosis.suspects, *diagnosis.others)}


def by_hand(prior: dict[str, float], leak: float, *steps: dict[str, Any]) -> dict[str, float]:
    """Work out the same case as a file would tell it."""
    return weigh_case(
        case_from_dict({"prior": prior, "leak": leak, "steps": [{**RUN, "works": False}, *steps]})
    ).p_bad


# ---- where the chances start -----------------------------------------------------------------------------


def test_without_closed_jobs_all_suspects_start_equal_and_it_says_so() -> None:
    job, _ = suspected("fan", "harness", "driver")
    diagnosis = diagnose.diagnose_job(job.id)
    assert diagnosis.priors.words == (
        "No closed job on a Corvid 7 moving head with this symptom says what it was yet, so all suspects start "
        "equal, with 10 % for something not on the list (assumed)."
    )
    expect = by_hand(dict.fromkeys(("fan", "harness", "driver"), 0.25 * 0.3), 0.25 * 0.1)
    assert chances(diagnosis)["fan"] == pytest.approx(expect["fan"])
    assert (
        diagnosis.sentence == "Nothing stands out: fan, harness and driver are as likely as each other, 31.8 % each."
    )


def test_closed_jobs_of_that_model_and_symptom_set_them_smoothed() -> None:
    closed_as("Fan")
    closed_as("fan", "harness")
    closed_as("harness", "fan")
    closed_as("tach sensor")  # not on the list of the new job
    closed_as("fan", symptom="no light")  # another complaint
    closed_as("fan", unit_model="Tern 12 powered speaker")  # another model
    job, _ = suspected("fan", "harness", symptom="No pan!")
    priors = diagnose.diagnose_job(job.id).priors
    assert [(count.name, count.times) for count in priors.counts] == [("fan", 2), ("harness", 1)]
    assert (priors.jobs, priors.elsewhere.times) == (4, 1)
    # 2, 1 and 1 of 4 faults, with 2 more: .9 for each suspect, .2 for the rest
    assert [count.share for count in priors.counts] == pytest.approx([2.9 / 6, 1.9 / 6])
    assert priors.words == (
        "On 4 closed jobs of this model with this symptom it was: fan twice, harness once, something not on this "
        "list once. Smoothed by 2 faults more, spread evenly (assumed)."
    )


def test_the_same_part_counts_under_another_name() -> None:
    fan = a_part("24 V fan", "fan")
    past = a_job()
    job_closing.close_with_causes(past.id, was=[jobs.add_suspect(past.id, "rear fan", fan.id).id])
    job = a_job()
    jobs.add_suspect(job.id, "the noisy one", fan.id)
    assert diagnose.diagnose_job(job.id).priors.counts[0].times == 1


def test_jobs_closed_later_do_not_change_what_was_believed_at_the_start() -> None:
    job, _ = suspected("fan", "harness")
    closed_as("fan")
    assert diagnose.diagnose_job(job.id).priors.jobs == 0


def test_jobs_that_nobody_knows_the_cause_of_do_not_count() -> None:
    past, _ = suspected("fan")
    job_closing.close_with_causes(past.id, found="Nothing found.")
    job, _ = suspected("fan")
    assert diagnose.diagnose_job(job.id).priors.jobs == 0


def test_it_suggests_the_suspects_of_earlier_jobs() -> None:
    closed_as("harness", "fan")
    closed_as("harness", "driver")
    closed_as("lamp", symptom="dark")
    job, _ = suspected("fan")
    suspects = past_causes.suggest_suspects(job.id)
    assert [(suspect.name, suspect.words) for suspect in suspects] == [
        ("harness", "at fault twice with this symptom"), ("driver", "at fault never with this symptom"),
        ("lamp", "at fault once on a Corvid 7 moving head"),
    ]  # fmt: skip
    assert past_causes.suggest_suspects(a_job(unit_model="").id) == []


# ---- evidence --------------------------------------------------------------------------------------------


def test_a_measurement_moves_every_chance_and_says_how() -> None:
    job, ids = suspected("fan", "harness")
    ines = a_person(name="ines")
    noted = evidence.record_observation(
        job.id, "measured", suspect_id=ids["fan"], says_bad=True, by=ines.id, note="rubs"
    )
    expect = by_hand(
        {"fan": 0.1125, "harness": 0.1125}, 0.025,
        {"op": "measure", "node": "fan", "says_bad": True, "sens": 0.85, "spec": 0.95},
    )  # fmt: skip
    diagnosis = diagnose.diagnose_job(job.id)
    assert chances(diagnosis) == pytest.approx(
        {"fan": expect["fan"], "harness": expect["harness"], "something not on the list": expect["leak"]}
    )
    assert noted.evidence.words == "fan measured: bad."
    assert (noted.evidence.person, noted.evidence.note) == (ines.shown_as, "rubs")
    assert noted.sentence.startswith("fan measured: bad. Most likely fan alone: ")
    assert noted.moved[0].name == "fan"
    before = by_hand({"fan": 0.1125, "harness": 0.1125}, 0.025)["fan"]
    assert (noted.moved[0].before, noted.moved[0].after) == pytest.approx((before, expect["fan"]))
    assert diagnosis.suspects[0].before == pytest.approx(before)


def test_every_line_of_the_log_says_what_moved_or_why_nothing_did() -> None:
    """No line shows the same figure before and after."""
    job, ids = suspected("fan", "harness")
    sure = {"sensitivity": 0.9999, "specificity": 0.9999}
    for _ in range(4):  # the last of them find all said already
        evidence.record_observation(job.id, "measured", suspect_id=ids["fan"], says_bad=True, **sure)
    evidence.record_observation(job.id, "repaired", suspect_id=ids["fan"])
    evidence.record_observation(job.id, "put back", suspect_id=ids["harness"], works=False)
    evidence.record_observation(job.id, "put back", suspect_id=ids["harness"], works=False)
    log = diagnose.diagnose_job(job.id).log
    for line in log:
        shown = [move for move in line.moved if move.shows]
        assert bool(shown) + bool(line.still) + bool(line.remark) == 1, line.words
        assert all(f"{move.before or 0:.3f}" != f"{move.after:.3f}" for move in shown)
    assert log[1].still == ""
    assert log[4].still == "No chance moved by 0.1 %: what was seen before said as much already."
    assert log[-1].remark == "the same run again: counted once"


def test_a_swap_test_counts_with_what_the_spare_was_worth_when_it_was_taken() -> None:
    job, ids = suspected("fan", "harness")
    piece = a_piece("C-07")
    prove_fan(piece.id)
    lent = swap_tests.take_piece(piece.id, job.id, suspect_id=ids["fan"])
    swap_tests.bring_back_piece(lent.loan.id, "works with it")
    expect = by_hand(
        {"fan": 0.1125, "harness": 0.1125}, 0.025, {"op": "add_spare", "name": "C-07", "p_good": lent.loan.p_good},
        {**RUN, "works": True, "swap": {"fan": "C-07"}},
    )  # fmt: skip
    diagnosis = diagnose.diagnose_job(job.id)
    assert chances(diagnosis)["fan"] == pytest.approx(expect["fan"])
    spare = diagnosis.others[0]
    assert (spare.name, spare.what, spare.place, spare.piece_id) == ("C-07", "spare", "fan", piece.id)
    assert spare.p_bad == pytest.approx(expect["C-07"])
    assert (spare.before, spare.prior) == (pytest.approx(1 - lent.loan.p_good), None)
    assert [line.words for line in diagnosis.log] == [
        "The complaint: no pan.",
        "C-07 in place of fan: works with it.",
    ]


def test_the_a_of_a_swap_result_is_that_of_the_jobs_log_at_that_moment() -> None:
    """Both were suspects; the harness was measured good first, so that little else is left but the fan."""
    job, ids = suspected("fan", "harness")
    piece = a_piece("C-07")
    lent = swap_tests.take_piece(piece.id, job.id, suspect_id=ids["fan"])
    evidence.record_observation(
        job.id, "measured", suspect_id=ids["harness"], says_bad=False, sensitivity=1.0, specificity=0.99
    )
    back = swap_tests.bring_back_piece(lent.loan.id, "works with it")
    # P(harness and the rest good | complaint, harness measured good): the harness is good for certain
    fails = 0.1125 * 0.975 * 0.98 + 0.8875 * 0.975 * 0.01
    assert back.loan.others_good == pytest.approx(fails / (fails + 0.025 * 0.98))


def test_a_result_taken_back_is_no_longer_counted() -> None:
    job, ids = suspected("fan", "harness")
    lent = swap_tests.take_piece(a_piece().id, job.id, suspect_id=ids["fan"])
    before = chances(diagnose.diagnose_job(job.id))
    swap_tests.bring_back_piece(lent.loan.id, "works with it")
    swap_tests.reopen_loan(lent.loan.id, reason="tapped wrongly")
    assert chances(diagnose.diagnose_job(job.id)) == before


def test_cannot_tell_says_nothing() -> None:
    job, ids = suspected("fan", "harness")
    swap_tests.bring_back_piece(
        swap_tests.take_piece(a_piece().id, job.id, suspect_id=ids["fan"]).loan.id, "cannot tell"
    )
    line = diagnose.diagnose_job(job.id).log[-1]
    assert (line.counts, line.remark, line.moved) == (False, "says nothing either way", ())


def test_a_swap_in_place_of_nothing_named_counts_for_the_one_suspect_of_its_part() -> None:
    piece = a_piece("C-07")
    job = a_job()
    jobs.add_suspect(job.id, "rear fan", piece.part_id)
    jobs.add_suspect(job.id, "harness")
    swap_tests.bring_back_piece(swap_tests.take_piece(piece.id, job.id).loan.id, "works with it")
    assert diagnose.diagnose_job(job.id).suspects[0].name == "rear fan"
    swap_tests.bring_back_piece(
        swap_tests.take_piece(a_piece("D-01", part_name="another").id, job.id).loan.id, "still fails"
    )
    last = diagnose.diagnose_job(job.id).log[-1]
    assert last.remark == "left out: the job has no suspect that it stood in for"


def test_two_faults_show_when_both_spares_are_in_at_once() -> None:
    """Oracle case 5: each alone still fails, both together work."""
    job, ids = suspected("fan", "harness", "driver")
    loans = [
        swap_tests.take_piece(a_piece(name, part_name=name).id, job.id, suspect_id=ids[suspect]).loan
        for name, suspect in (("C-07", "fan"), ("C-03", "harness"))
    ]
    for loan in loans:
        evidence.record_observation(job.id, "swapped", works=False, loan_ids=[loan.id])
    noted = evidence.record_observation(job.id, "swapped", works=True, loan_ids=[loan.id for loan in loans])
    assert noted.evidence.words == "Run with C-07 for fan and C-03 for harness; the unit works."
    prior = 0.25 * 0.9 / 3
    spares = [{"op": "add_spare", "name": n, "p_good": o.p_good} for n, o in zip(("f", "h"), loans, strict=True)]
    expect = by_hand(
        {"fan": prior, "harness": prior, "driver": prior}, 0.025, spares[0],
        {**RUN, "works": False, "swap": {"fan": "f"}}, spares[1], {**RUN, "works": False, "swap": {"harness": "h"}},
        {**RUN, "works": True, "swap": {"fan": "f", "harness": "h"}},
    )  # fmt: skip
    diagnosis = diagnose.diagnose_job(job.id)
    assert chances(diagnosis)["fan"] == pytest.approx(expect["fan"])
    assert diagnosis.sentence.startswith("Most likely fan and harness together: ")
    for loan in loans:  # bringing them back tells no second run
        swap_tests.bring_back_piece(loan.id, "works with it")
    after = diagnose.diagnose_job(job.id)
    assert chances(after) == pytest.approx(chances(diagnosis))
    assert after.log[-1].remark == "told already, when the unit was run"


def test_the_old_thing_put_back_that_fails_again_confirms_it() -> None:
    job, ids = suspected("fan", "harness")
    swap_tests.bring_back_piece(
        swap_tests.take_piece(a_piece().id, job.id, suspect_id=ids["fan"]).loan.id, "works with it"
    )
    works = chances(diagnose.diagnose_job(job.id))["fan"]
    evidence.record_observation(job.id, "put back", suspect_id=ids["fan"], works=False)
    assert chances(diagnose.diagnose_job(job.id))["fan"] > works


def test_a_line_repaired_becomes_another_thing() -> None:
    """Oracle case 7, with the figures of this shop."""
    job, ids = suspected("joint", "driver")
    evidence.record_observation(
        job.id, "measured", suspect_id=ids["joint"], says_bad=True, sensitivity=0.85, specificity=0.9
    )
    noted = evidence.record_observation(job.id, "repaired", suspect_id=ids["joint"], works=False)
    expect = by_hand(
        {"joint": 0.1125, "driver": 0.1125}, 0.025,
        {"op": "measure", "node": "joint", "says_bad": True, "sens": 0.85, "spec": 0.9},
        {"op": "later", "name": "mended", "parent": "joint", "bad_if_good": 0.01, "bad_if_bad": 0.1},
        {**RUN, "works": False},
    )  # fmt: skip
    chances_now = chances(diagnose.diagnose_job(job.id))
    assert chances_now["joint"] == pytest.approx(expect["joint"])
    assert chances_now["joint, repaired"] == pytest.approx(expect["mended"])
    assert noted.evidence.words == "joint repaired; the unit still fails."


def test_a_new_part_is_as_good_as_the_lot_it_came_from() -> None:
    part = a_part("24 V fan", "fan")
    job = a_job()
    fan, harness = jobs.add_suspect(job.id, "fan", part.id), jobs.add_suspect(job.id, "harness")
    shelf = a_bin(part)
    receive.receive(part.id, 3, shelf.id)
    pull.pull(1, part_id=part.id, job_id=job.id)
    noted = evidence.record_observation(job.id, "new part", suspect_id=fan.id, works=True)
    assert noted.evidence.p_good == pytest.approx(24.5 / 25, abs=1e-4)  # a fan of an untested lot, just come in
    assert noted.evidence.lot_id is not None
    diagnosis = diagnose.diagnose_job(job.id)
    assert diagnosis.sentence.startswith("What is fitted now is most likely all good: ")
    assert [(other.name, other.fitted) for other in diagnosis.others] == [("new fan", True)]
    by_itself = evidence.record_observation(job.id, "new part", suspect_id=harness.id)  # not run; no part known
    assert (by_itself.evidence.works, by_itself.evidence.p_good) == (None, pytest.approx(32 / 33))


def test_a_bench_test_of_the_spare_counts_too() -> None:
    """It still failed; then the spare failed on the bench: suspicion comes back to the fan."""
    job, ids = suspected("fan", "harness")
    piece = a_piece("C-07")
    swap_tests.bring_back_piece(swap_tests.take_piece(piece.id, job.id, suspect_id=ids["fan"]).loan.id, "still fails")
    cleared = chances(diagnose.diagnose_job(job.id))["fan"]
    prove_fan(piece.id, Speed="1200")
    diagnosis = diagnose.diagnose_job(job.id)
    assert chances(diagnosis)["fan"] > 2 * cleared
    assert diagnosis.log[-1].words == "C-07 failed Fan bench run on the bench."


def test_the_same_run_again_is_counted_once() -> None:
    job, ids = suspected("fan", "harness")
    evidence.record_observation(job.id, "put back", suspect_id=ids["fan"], works=False)
    diagnosis = diagnose.diagnose_job(job.id)
    assert diagnosis.log[-1].remark == "the same run again: counted once"
    assert chances(diagnosis)["fan"] == pytest.approx(by_hand({"fan": 0.1125, "harness": 0.1125}, 0.025)["fan"])


def test_it_exports_the_case_as_a_file_that_gives_the_same_chances() -> None:
    job, ids = suspected("fan", "leak", "fan harness" * 10)
    swap_tests.bring_back_piece(
        swap_tests.take_piece(a_piece("C-07").id, job.id, suspect_id=ids["fan"]).loan.id, "still fails"
    )
    evidence.record_observation(job.id, "repaired", suspect_id=ids["leak"], works=True)
    p_bad = weigh_case(case_from_dict(diagnose.case_file(job.id))).p_bad
    assert sorted(p_bad.values()) == pytest.approx(sorted(chances(diagnose.diagnose_job(job.id)).values()))


# ---- striking out, refusals ------------------------------------------------------------------------------


def test_an_observation_struck_out_stays_in_the_log_and_counts_no_longer() -> None:
    job, ids = suspected("fan", "harness")
    before = chances(diagnose.diagnose_job(job.id))
    observation = evidence.record_observation(job.id, "measured", suspect_id=ids["fan"], says_bad=True).evidence
    struck = evidence.strike_observation(
        observation.id, reason="wrong unit on the bench", by=a_person(name="ines").id
    )
    assert (struck.struck_by, struck.struck_reason) == ("ines", "wrong unit on the bench")
    diagnosis = diagnose.diagnose_job(job.id)
    assert chances(diagnosis) == before
    assert (diagnosis.log[-1].counts, diagnosis.log[-1].struck_reason) == (False, "wrong unit on the bench")
    with pytest.raises(Conflict, match="struck out already"):
        evidence.strike_observation(observation.id, reason="again")
    with pytest.raises(Invalid, match="The reason is missing"):
        evidence.strike_observation(
            evidence.record_observation(job.id, "put back", suspect_id=ids["fan"], works=False).evidence.id,
            reason=" ",
        )


def test_observations_that_contradict_each_other_are_refused_and_named() -> None:
    job, ids = suspected("fan", "harness")
    sure = {"sensitivity": 1.0, "specificity": 1.0}
    evidence.record_observation(job.id, "measured", suspect_id=ids["fan"], says_bad=True, **sure)
    with pytest.raises(Conflict) as refused:
        evidence.record_observation(job.id, "measured", suspect_id=ids["fan"], says_bad=False, **sure)
    assert refused.value.sentence == (
        "These observations contradict each other: fan measured: bad; fan measured: good. "
        "Strike out the one that is wrong."
    )
    assert refused.value.reason == "contradiction"
    assert len(evidence.observations(job.id)) == 1  # nothing of the refused one was kept


def test_more_than_22_things_are_refused_with_a_sentence() -> None:
    job, ids = suspected(*(f"suspect {number}" for number in range(22)))
    with pytest.raises(Conflict) as refused:
        diagnose.diagnose_job(job.id)
    assert refused.value.sentence == (
        "This case has 23 suspects, spares and later states; 22 is the most that can be worked out exactly. Leave "
        "out the least likely suspects: the leak stands for them."
    )
    noted = evidence.record_observation(job.id, "measured", suspect_id=ids["suspect 3"], says_bad=True)
    assert (noted.moved, refused.value.sentence in noted.sentence) == ((), True)  # what was seen is kept all the same


def test_a_job_without_suspects_asks_for_one() -> None:
    with pytest.raises(Conflict, match="name what might be wrong") as refused:
        diagnose.diagnose_job(a_job().id)
    assert refused.value.reason == "no_suspect"
    with pytest.raises(NotFound):
        diagnose.diagnose_job(999)


@pytest.mark.parametrize(
    ("kind", "observed", "sentence"),
    [
        ("looked at", {}, "The kind must be one of: measured, swapped, new part, repaired, put back."),
        ("measured", {}, "Say what the measurement says: bad or good."),
        ("measured", {"says_bad": "yes"}, "Say what the measurement says: bad or good."),
        (
            "measured", {"says_bad": True, "sensitivity": 1.2},
            "The chance that the measurement calls a bad one bad must be a chance from 0 to 1, not 1.2.",
        ),
        (
            "measured", {"says_bad": True, "specificity": float("nan")},
            "The chance that the measurement calls a good one good must be a finite number, not nan.",
        ),
        ("measured", {"says_bad": 1}, "Say what the measurement says: bad or good."),
        ("put back", {"says_bad": True}, "Of something put back there is no says_bad to note: leave it out."),
        ("put back", {}, "Say how the unit then ran: it works, or still fails."),
        (
            "repaired", {"bad_if_bad": -0.1},
            "The chance that the repair leaves bad what was bad must be a chance from 0 to 1, not -0.1.",
        ),
    ],
)  # fmt: skip
def test_it_refuses_what_cannot_have_been_seen(kind: str, observed: dict[str, Any], sentence: str) -> None:
    job, ids = suspected("fan")
    with pytest.raises(Invalid) as refused:
        evidence.record_observation(job.id, kind, suspect_id=ids["fan"], **observed)
    assert refused.value.sentence == sentence
    assert evidence.observations(job.id) == []


def test_it_refuses_an_observation_about_nothing_another_job_or_a_closed_one() -> None:
    job, ids = suspected("fan")
    other, _ = suspected("fan")
    with pytest.raises(Invalid, match="Say which suspect it is about"):
        evidence.record_observation(job.id, "measured", says_bad=True)
    with pytest.raises(Conflict, match="fan is a suspect of another job"):
        evidence.record_observation(other.id, "measured", suspect_id=ids["fan"], says_bad=True)
    with pytest.raises(NotFound):
        evidence.record_observation(job.id, "new part", suspect_id=ids["fan"], lot_id=77)
    observation = evidence.record_observation(job.id, "measured", suspect_id=ids["fan"], says_bad=True).evidence
    job_closing.close_with_causes(job.id)
    for act in (
        lambda: evidence.record_observation(job.id, "measured", suspect_id=ids["fan"], says_bad=True),
        lambda: evidence.strike_observation(observation.id, reason="late thought"),
    ):
        with pytest.raises(Conflict, match="is closed"):
            act()


def test_it_refuses_a_run_with_pieces_that_are_not_out_to_the_job_or_share_a_place() -> None:
    job, ids = suspected("fan", "harness")
    other, others = suspected("fan")
    here = swap_tests.take_piece(a_piece("C-07").id, job.id, suspect_id=ids["fan"]).loan
    elsewhere = swap_tests.take_piece(a_piece("C-12").id, other.id, suspect_id=others["fan"]).loan
    with pytest.raises(Conflict, match=f"C-12 is not out to job {job.number}"):
        evidence.record_observation(job.id, "swapped", works=True, loan_ids=[here.id, elsewhere.id])
    twin = swap_tests.take_piece(a_piece("C-08").id, job.id, suspect_id=ids["fan"]).loan
    with pytest.raises(Conflict, match="Two pieces cannot be in one place"):
        evidence.record_observation(job.id, "swapped", works=True, loan_ids=[here.id, twin.id])
    loose = swap_tests.take_piece(a_piece("C-11").id, job.id).loan
    with pytest.raises(Conflict, match="C-11 stands in for no suspect"):
        evidence.record_observation(job.id, "swapped", works=True, loan_ids=[loose.id])
    with pytest.raises(Invalid, match="Say which pieces were in the unit"):
        evidence.record_observation(job.id, "swapped", works=True, loan_ids=[])
    with pytest.raises(Invalid, match="leave the suspect out"):
        evidence.record_observation(job.id, "swapped", works=True, loan_ids=[here.id], suspect_id=ids["fan"])
    swap_tests.bring_back_piece(here.id, "works with it")
    with pytest.raises(Conflict, match="C-07 is not out"):
        evidence.record_observation(job.id, "swapped", works=True, loan_ids=[here.id])


def test_what_was_believed_at_the_swap_can_be_asked_later() -> None:
    with clock.freeze_at(START):
        piece = a_piece("C-07")
        job, ids = suspected("fan", "harness")
        prove_fan(piece.id)
    with clock.freeze_at(START + timedelta(hours=2)):
        lent = swap_tests.take_piece(piece.id, job.id, suspect_id=ids["fan"])
    with clock.freeze_at(START + timedelta(hours=3)):
        swap_tests.bring_back_piece(lent.loan.id, "still fails")
    then = standings.standing_of(piece.id, START + timedelta(hours=2, minutes=30))
    now = standings.standing_of(piece.id, START + timedelta(days=1))
    assert (then.word, then.p_good) == ("proved", pytest.approx(lent.loan.p_good, abs=1e-5))  # half an hour older
    assert (now.word, now.p_good < then.p_good) == ("doubtful", True)
    diagnosis = diagnose.weigh_case(job.id, until=START + timedelta(hours=2, minutes=30))
    assert len(diagnosis.made.case.steps) == 1  # only the complaint was known
