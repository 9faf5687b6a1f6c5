"""The verdict alone: the same as where slips are named, and at no cost of its own."""

from fractions import Fraction
from random import Random
from typing import Any

import pytest

from drills.engine.dosing import judge, judging
from drills.engine.dosing.reading import read_problem
from drills.engine.dosing.verdicts import RIGHT
from drills.engine.quantities import plain
from tests.engine.dosing_problems import any_problem

TIMES = tuple(map(Fraction, ("1", "10", "0.1", "2.2", "1.1", "1000")))
DOSE = {"kind": "dose", "weight": "20 kg", "per_weight": "0.1 mg/kg", "concentration": "4 mg/mL"}


@pytest.mark.parametrize("seed", range(40))
def test_the_verdict_is_the_same_where_no_slip_is_named(seed: int) -> None:
    """Right, wrong by a slip, and wrong by none, of every kind of problem."""
    problem = read_problem(any_problem(Random(seed)))  # noqa: S311  # problems, no secret
    for asked, result in problem.solve().results.items():
        for times in TIMES:
            entered = f"{plain(result.exact.amount * times)} {result.exact.unit}"
            alone = judge(problem, asked, entered, names_slips=False)

            assert alone.verdict == judge(problem, asked, entered).verdict
            assert (alone.slips, alone.possibly) == ((), ())


@pytest.mark.parametrize("entered", ["5 mL", "0.2 mL", "5 mg", "20 mg"])
def test_a_wrong_answer_is_not_looked_into_for_its_verdict(
    monkeypatch: pytest.MonkeyPatch, entered: str
) -> None:
    """How long that takes would tell a wrong answer from a right one."""

    def looked_into(*_: Any) -> Any:
        raise AssertionError("slips were looked for")

    monkeypatch.setattr(judging, "explained", looked_into)
    found = judge(read_problem(DOSE), "volume", entered, names_slips=False)

    assert found.verdict != RIGHT
    with pytest.raises(AssertionError, match="slips were looked for"):
        judge(read_problem(DOSE), "volume", entered)
