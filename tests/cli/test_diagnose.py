"""`benchproof diagnose`: the worked cases come out of the command, and what is no case is refused in a sentence."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from tests import ORACLES
from tests.command_line import run_command

CASES = json.loads((ORACLES / "diagnosis.json").read_text())["cases"]
PLANS = json.loads((ORACLES / "advice.json").read_text())["cases"]
SMALL: dict[str, Any] = {"prior": {"fan": 0.1}, "steps": [{"op": "unit_test", "works": False}]}
ADVICE: dict[str, Any] = {
    "costs": {"minute": 0.8, "waiting_day": 6, "give_up": 300, "come_back": 80},
    "remedies": [{"node": "fan", "how": "repair", "minutes": 25, "bad_if_good": 0.01, "bad_if_bad": 0.1}],
}


def run(*arguments: str, standard_input: str | None = None) -> Result:
    return run_command("diagnose", *arguments, standard_input=standard_input)


def refused(case: object, *options: str) -> str:
    """Run a case that must be refused; return the one sentence that is said."""
    result = run("-", *options, standard_input=case if isinstance(case, str) else json.dumps(case))
    assert result.exit_code == 1
    assert result.output.startswith("Error: ")
    return result.output.removeprefix("Error: ").strip()


def test_it_gives_the_chances_of_every_worked_case() -> None:
    result = run(str(ORACLES / "diagnosis.json"), "--json")
    assert result.exit_code == 0, result.output
    data = json.loads(result.output)
    assert [answer["name"] for answer in data] == [case["name"] for case in CASES]
    for answer, case in zip(data, CASES, strict=True):
        assert answer["p_bad"] == pytest.approx(case["expect"]["p_bad"], abs=5.1e-7), answer["name"]
        assert answer["p_evidence"] == pytest.approx(case["expect"]["p_evidence"], rel=5e-8)


def test_it_gives_the_advice_of_every_worked_case() -> None:
    data = json.loads(run(str(ORACLES / "advice.json"), "--advice", "--json").output)
    for answer, case in zip(data, PLANS, strict=True):
        suspects = [f"suspect {number}" for number in range(len(case["inputs"]["s"]))]
        totals = {
            ("stop" if s["action"] == "give up" else "measure" if s["action"] == "measure" else "fix", s["node"]):
            s["total"] for s in answer["steps"]
        }  # fmt: skip
        want = {(act, "" if index is None else suspects[index]): total for total, act, index in case["advice_table"]}
        assert totals == pytest.approx(want, abs=5e-6), answer["name"]
        assert [answer["p_bad"][name] for name in suspects] == pytest.approx(case["p_bad"][:-1], abs=5.1e-7)


def test_it_says_it_in_words_the_likeliest_first() -> None:
    result = run("-", "--advice", standard_input=json.dumps({**SMALL, "name": "Fan or not", "advice": ADVICE}))
    lines = result.output.splitlines()
    assert lines[0] == "Fan or not"
    assert lines[1].split() == ["fan", "84.6799%", "bad"]
    assert "  next step: cost now + expected afterwards = total, and the chance that it ends the job" in lines
    assert any(line.split()[:2] == ["repair", "fan"] for line in lines)
    assert any(line.split()[:2] == ["give", "up"] for line in lines)


def test_the_chances_it_says_are_those_of_bayes_rule() -> None:
    """By hand: the complaint fails with .98 if the fan (.1) or the rest (.01) is bad, with .01 if neither is."""
    data = json.loads(run("-", "--json", standard_input=json.dumps(SMALL)).output)[0]
    any_bad = 1 - 0.9 * 0.99
    assert data["p_bad"]["fan"] == pytest.approx(0.1 * 0.98 / (any_bad * 0.98 + (1 - any_bad) * 0.01))


def test_it_tells_what_is_fitted_and_what_was_repeated() -> None:
    run_again = {"op": "unit_test", "works": True}
    steps = [
        *SMALL["steps"], {"op": "add_spare", "name": "C-07", "p_good": 0.97},
        {"op": "fit", "place": "fan", "node": "C-07"}, run_again, run_again,
    ]  # fmt: skip
    text = run("-", standard_input=json.dumps({**SMALL, "steps": steps})).output
    assert "(fitted in place of fan)" in text
    assert "step 5 repeats the run before and counts once" in text


def test_it_reads_a_file_and_touches_no_data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("BENCHPROOF_DATA_DIR", str(tmp_path / "data"))
    case = tmp_path / "case.json"
    case.write_text(json.dumps(SMALL))
    assert run(str(case)).exit_code == 0
    assert list(tmp_path.iterdir()) == [case]


@pytest.mark.parametrize(
    ("case", "sentence"),
    [
        ("{", "The file is no JSON: "),
        ('{"prior": NaN, "steps": []}', "The file is no JSON: NaN is no number"),
        ("[" * 100_000, "The file is no JSON: "),
        ([], "The case must be an object with named entries"),
        ({"cases": []}, '"cases" must be a list with at least one case.'),
        ({"prior": {}, "steps": []}, '"prior" must name at least one suspect'),
        ({**SMALL, "prior": {"fan": 1.5}}, "The prior of 'fan' must be a chance from 0 to 1, not 1.5."),
        ({**SMALL, "prior": {"fan": "likely"}}, "The prior of 'fan' must be a number, not 'likely'."),
        ({**SMALL, "steps": [{"op": "look"}]}, 'Step 1 must have an "op" that is one of '),
        (
            {**SMALL, "prior": {f"s{n}": 0.01 for n in range(22)}},
            "This case has 23 suspects, spares and later states; 22 is the most that can be worked out exactly.",
        ),
        (
            {
                **SMALL,
                "prior": {"fan": 0.0},
                "leak": 0.0,
                "steps": [{"op": "unit_test", "works": False, "misread": 0}],
            },
            "These observations contradict each other: step 1, the unit failed with fan.",
        ),
        ({"cases": [SMALL, {**SMALL, "leak": 2}]}, "Case 2: The leak must be a chance from 0 to 1, not 2."),
    ],
    ids=lambda value: None if isinstance(value, str) else "case",
)
def test_it_refuses_what_is_no_case_in_one_sentence(case: object, sentence: str) -> None:
    assert refused(case).startswith(sentence)


def test_it_refuses_advice_without_costs() -> None:
    assert refused(SMALL, "--advice") == (
        'For the next step the case needs an "advice" entry with "costs" and "remedies".'
    )
    bad = {**SMALL, "advice": {**ADVICE, "costs": {**ADVICE["costs"], "minute": -1}}}
    assert refused(bad, "--advice") == "The bench rate a minute must not be negative, but it is -1."


def test_it_refuses_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    assert "cannot be read: No such file" in run(str(tmp_path / "none.json")).output
    (tmp_path / "noise").write_bytes(b"\xff\xfe\x00")
    assert "is no text in UTF-8" in run(str(tmp_path / "noise")).output
    (tmp_path / "large").write_bytes(b" " * 2_000_001)
    assert "too large to be a case" in run(str(tmp_path / "large")).output
    assert "cannot be read: Is a directory" in run(str(tmp_path)).output
