"""The door of the commands without the commands: the same fixture, for runs without Django."""

from typing import Any

import pytest

from drills.engine.dosing import ProblemError, judge
from drills.engine.dosing.reading import read_problem, told_solution


def _is_whole(given: Any) -> bool:
    """Whether the problem, what is asked and what was entered are there."""
    return (
        isinstance(given, dict)
        and given.keys() == {"problem", "asked", "entered"}
        and all(isinstance(given[name], str) for name in ("asked", "entered"))
    )


@pytest.fixture
def door() -> Any:
    """What a command would print for a problem, and the code that it would end with."""

    def ask(command: str, given: Any) -> tuple[int, dict[str, Any]]:
        if isinstance(given, str) or (command == "judge" and not _is_whole(given)):
            pytest.skip("what is no problem at all is the concern of the commands")
        try:
            if command == "solve":
                return 0, told_solution(read_problem(given).solve())
            judged = judge(read_problem(given["problem"]), given["asked"], given["entered"])
        except ProblemError as error:
            return 2, {"error": str(error)}
        return 0, {
            "verdict": judged.verdict.replace(" ", "_"),
            "ratio": None if judged.ratio is None else float(judged.ratio),
            "slips": [each.key for each in judged.slips],
            "sentence": judged.sentence,
        }

    return ask
