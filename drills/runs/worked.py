"""What a person is told of a number they gave: what it was, which slip made it, and the working."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from drills.engine.dosing import OUT_OF_TOLERANCE, RIGHT, Judgement, Refusal, Slip, judge
from drills.engine.dosing import slips as made_by
from drills.engine.dosing.working import steps_to
from drills.engine.lines import is_line
from drills.engine.medicines import SAFETY_WORDS
from drills.engine.prompts import HAND_OVER
from drills.engine.quantities import half_up, plain
from drills.engine.scoring import MARKS
from drills.engine.writing import Remark
from drills.scenarios.tasks import figure_asked, problem_in

# A line of the working puts a slip right when it holds one of these; other slips are put right by
# the last line that works something out.
_PUT_RIGHT_BY: Mapping[Slip, tuple[str, ...]] = {
    made_by.POUNDS_AS_KG: ("lb / ", "lb x "),
    made_by.KG_AS_POUNDS: (" kg x ", "/kg x "),
    made_by.KG_TO_POUNDS: (" kg x ", "/kg x "),
    made_by.NO_WEIGHT: (" kg x ", "/kg x "),
    made_by.NO_MAXIMUM: ("The maximum",),
    made_by.NO_MINIMUM: ("The minimum",),
    made_by.NO_RESIDUAL: (" psi - ",),
    made_by.ONE_PATIENT: (" + ",),
    made_by.MINUTE_FOR_HOUR: (" min/h",),
    made_by.HOUR_FOR_MINUTE: (" min/h",),
}
TWICE = 2


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
        "off": _off(judged),
        "reasons": judged.reasons,
        "slips": tuple(each.words for each in judged.slips),
        "possibly": tuple(each.words for each in judged.possibly[0]) if judged.possibly else (),
        "corrected": _corrected(judged.slip, steps) if judged.slip else "",
        "writing": judged.writing,
    }


def _corrected(slip: Slip, steps: Sequence[str]) -> str:
    """The line of the working that a slip left out or got wrong."""
    words = _PUT_RIGHT_BY.get(slip, ())
    found = next((step for step in steps if any(each in step for each in words)), "")
    return found or next((step for step in reversed(steps) if is_line(step)), steps[-1])


def _off(judged: Judgement) -> str:
    """How far off in round words; nothing of what is right."""
    if judged.verdict == RIGHT or judged.ratio is None:
        return ""
    if judged.ratio >= TWICE:
        return f"{plain(half_up(judged.ratio, Fraction(1, 10)))} times what is right"
    share = plain(half_up(abs(judged.off_by) * 100, Fraction(1)))
    return f"{share}% too {'much' if judged.off_by > 0 else 'little'}" if judged.off_by else ""
