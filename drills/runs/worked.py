"""What a person is told of a number they gave: what it was, which slip made it, and the working."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drills.engine.dosing import OUT_OF_TOLERANCE, Judgement, Refusal, Slip, judge
from drills.engine.dosing.righting import line_for
from drills.engine.dosing.saying import off
from drills.engine.dosing.working import steps_to
from drills.engine.lines import is_line
from drills.engine.medicines import SAFETY_WORDS
from drills.engine.prompts import HAND_OVER
from drills.engine.scoring import MARKS
from drills.engine.writing import Remark
from drills.scenarios.tasks import figure_asked, problem_in

# What is done with an amount of a unit; of what is counted or told it is given.
_DONE = {"mL": "drawn up", "mL/h": "set", "gtt/min": "set", "J": "set"}


@dataclass(frozen=True, slots=True)
class Worked:
    """A number as it was judged, and the working.

    `verdict` is what the figure is, `counts` what it takes in marks, where that is less than all.
    `off` is how far off it was, `reasons` why it is dangerous or how near is near enough, `slips`
    what explains it: one is named, of several none is. `possibly` is a pair of slips and is never
    counted. `corrected` is the line that puts the named slip right. `writing` are remarks on how
    it was written, and `is_marked` whether they took marks. `above` is the certification level
    that the dose needs, where that is above the person's.
    """

    answer: str
    steps: tuple[str, ...]
    printed: str
    source: str
    notice: str
    above: str
    refusal: Refusal | None = None
    verdict: str = ""
    off: str = ""
    reasons: tuple[str, ...] = ()
    slips: tuple[str, ...] = ()
    possibly: tuple[str, ...] = ()
    corrected: str = ""
    writing: tuple[Remark, ...] = ()
    is_marked: bool = False
    is_within_level: bool = False

    @property
    def slip(self) -> str:
        """The slip, where exactly one explains the answer."""
        return self.slips[0] if len(self.slips) == 1 else ""

    @property
    def not_so(self) -> str:
        """That it is refused, by what would be done with it: drawn up, set, or given."""
        unit = self.answer.rpartition(" ")[2]
        return f"Not {_DONE.get(unit, 'given')} so."

    @property
    def only_step(self) -> str:
        """The working before its figure, where it is one sum and that is the answer; it is told in
        one line with the answer then."""
        if len(self.steps) != 1 or not self.printed or not is_line(self.steps[0]):
            return ""
        head, _, figure = self.steps[0].rpartition("= ")
        return f"{head}= " if figure == self.answer else ""

    @property
    def counts(self) -> str:
        """What is out of tolerance is neither right nor unsafe."""
        if self.verdict != OUT_OF_TOLERANCE:
            return ""
        return f"Out of tolerance is partly right in a drill: {MARKS[self.verdict]} of 100 marks."

    def sentence(self) -> str:
        """The slip and the working in one line."""
        slip = f"Named slip: {self.slip}. " if self.slip else ""
        return f"{slip}{'; '.join(self.steps)}. {SAFETY_WORDS}"


def worked(
    kept: Mapping[str, Any],
    said: Sequence[str],
    *,
    notice: str = "",
    above: str = "",
    is_marked: bool = False,
) -> Worked:
    """Put the answer to a prompt into words, `kept` being what the prompt is judged by."""
    problem, asked = problem_in(kept), figure_asked(kept)
    solution = problem.solve()
    steps = steps_to(solution, asked)
    is_number = bool(said) and said[0] != HAND_OVER
    judged = judge(problem, asked, said[0]) if is_number else None
    return Worked(
        answer=solution.results[asked].answer,
        steps=steps,
        printed=kept["printed"].rstrip("."),
        source=kept["source"],
        notice=notice,
        above=above,
        refusal=solution.refusal,
        is_marked=is_marked,
        is_within_level=not above and list(said) == [HAND_OVER],
        **(_of_number(judged, steps) if judged else {}),
    )


def _of_number(judged: Judgement, steps: Sequence[str]) -> dict[str, Any]:
    """What is told of a number that was given."""
    return {
        "verdict": judged.verdict,
        "off": off(judged),
        "reasons": judged.reasons,
        "slips": tuple(each.words for each in judged.slips),
        "possibly": tuple(each.words for each in judged.possibly[0]) if judged.possibly else (),
        "corrected": _corrected(judged.slip, steps) if judged.slip else "",
        "writing": judged.writing,
    }


def _corrected(slip: Slip, steps: Sequence[str]) -> str:
    """The line that puts a slip right, else the last that works something out."""
    last = next((step for step in reversed(steps) if is_line(step)), steps[-1])
    return line_for(slip, steps) or last
