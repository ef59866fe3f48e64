"""`benchproof diagnose`: the worked cases come out of the command, and what is no case is refused in a sentence."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result
from hypothesis import given, settings
from hypothesis import strategies as st

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
    assert result.exit_code == 2
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
    data = json.loads(run(str(ORACLES / "advice.json"), "--advice", "--one-step", "--json").output)
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
        ("{", "The file is not valid JSON: "),
        ('{"prior": NaN, "steps": []}', "The file is not valid JSON: NaN is no number"),
        ("[" * 100_000, "The file is not valid JSON: "),
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
        (
            '{"prior": {"fan": 0.1, "fan": 0.9}, "steps": []}',
            "The file is not valid JSON: the entry 'fan' stands twice in one object.",
        ),
        ({**SMALL, "steps": [{"op": ["unit_test"], "works": False}]}, 'Step 1 must have an "op" that is one of '),
        ({**SMALL, "steps": SMALL["steps"] * 501}, '"steps" has 501 entries; 500 is the most.'),
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


def test_it_refuses_amounts_that_no_sum_can_hold() -> None:
    dear = {**ADVICE["remedies"][0], "price": 1e308}
    assert refused({**SMALL, "advice": {**ADVICE, "remedies": [dear, dear]}}, "--advice") == (
        "The price of the remedy for 'fan' must be at most 1e+12, but it is 1e+308."
    )


def test_it_refuses_more_steps_than_it_can_look_over_in_a_moment() -> None:
    many = {**SMALL, "advice": {**ADVICE, "remedies": ADVICE["remedies"] * 300}}
    assert refused(many, "--advice").startswith("Advice looks over 100 steps at most.")


def test_it_looks_over_as_many_steps_as_it_takes_within_seconds() -> None:
    names = [f"s{number}" for number in range(14)]
    remedies = [{**ADVICE["remedies"][0], "node": name} for name in names * 7]
    case = {**SMALL, "prior": dict.fromkeys(names, 0.05), "advice": {**ADVICE, "remedies": remedies}}
    started = time.monotonic()
    assert run("-", "--advice", standard_input=json.dumps(case)).exit_code == 0
    assert time.monotonic() - started < 20


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"name": "twin"}, "Each suspect needs a name of its own, other than 'leak'."),
        ({"meas": "often"}, "Whether twin can be measured, 0 or 1, must be a whole number, not 'often'."),
        ({"p": 0.0}, "Something is bad, but no suspect has a chance of it; give one, or raise the leak."),
    ],
)
def test_it_refuses_suspects_that_make_no_case(change: dict[str, Any], sentence: str) -> None:
    inputs = json.loads(json.dumps(PLANS[0]["inputs"]))
    inputs["leak"] = 0.0
    for number, suspect in enumerate(inputs["s"]):
        suspect.update({"name": "twin" if "meas" in change else f"twin {number}", **change})
    if "meas" in change:
        inputs.update(s=inputs["s"][:1], n=1)
    assert refused({"inputs": inputs}) == sentence


def test_it_refuses_more_suspects_than_memory_holds() -> None:
    inputs = PLANS[0]["inputs"]
    crowd = [{**inputs["s"][0], "name": f"suspect {number}"} for number in range(40)]
    assert refused({"inputs": {**inputs, "s": crowd, "n": 40}}).startswith(
        "This case has 40 suspects; 21 is the most."
    )


JSON_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=4,
)


@st.composite
def spoilt_cases(draw: st.DrawFn) -> object:
    """A worked case in which one value, anywhere, is something else."""
    case = json.loads(json.dumps(draw(st.sampled_from([{**SMALL, "advice": ADVICE}, CASES[3], PLANS[0]]))))
    inside: Any = case
    while True:
        keys = list(inside) if isinstance(inside, dict) else list(range(len(inside)))
        key = draw(st.sampled_from(keys))
        if isinstance(inside[key], (dict, list)) and inside[key] and draw(st.booleans()):
            inside = inside[key]
            continue
        inside[key] = draw(JSON_VALUES)
        return case


@settings(max_examples=150, deadline=None)
@given(spoilt_cases())
def test_whatever_a_case_holds_it_answers_with_numbers_or_one_sentence(case: object) -> None:
    result = run("-", "--advice", "--json", standard_input=json.dumps(case))
    if result.exit_code == 0:
        json.loads(result.output, parse_constant=lambda name: pytest.fail(f"{name} in the answer"))
    else:
        assert result.exit_code == 2, result.output
        assert result.output.startswith("Error: ")


def test_it_refuses_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    assert "cannot be read: No such file" in run(str(tmp_path / "none.json")).output
    (tmp_path / "noise").write_bytes(b"\xff\xfe\x00")
    assert "is no text in UTF-8" in run(str(tmp_path / "noise")).output
    (tmp_path / "large").write_bytes(b" " * 2_000_001)
    assert "too large to be a case" in run(str(tmp_path / "large")).output
    assert "cannot be read: Is a directory" in run(str(tmp_path)).output
