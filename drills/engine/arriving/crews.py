"""Which crew one is at a call: the only one, the first of several, or the second.

From the number on that the service sorts, a crew has more patients than hands. The first of several
then treats nobody of its own; the second is given as many as it has hands for. Ours, no source.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from drills.engine.calls import Call
from drills.engine.chance import seeded
from drills.engine.recipes import ARRIVE, DOSE, TRIAGE, RecipeSpec

ONLY, FIRST, SECOND = "only", "first", "second"
_SECOND_SHARE = 0.3
NO_TURNS: Mapping[int, tuple[int, bool]] = MappingProxyType({})
_FIRST_WORDS = "You are the first crew there."
_SECOND_WORDS = "Another crew is there and has sorted everybody. You are the second: {own} yours."


@dataclass(frozen=True, slots=True)
class Crew:
    """Which crew it is, and the numbers of the patients that it treats itself, the worst first.

    `is_told` where the drill asks of arriving, so that the call says which crew one is.
    """

    role: str
    own: tuple[int, ...]
    is_told: bool = False


def is_second_crew(spec: RecipeSpec, seed: int) -> bool:
    """Whether a drill has the part of the second crew.

    Who works out doses and sorts nobody always has. Where arriving is asked three drills of ten
    have, drawn by the seed of the drill and apart from what its calls are drawn by.
    """
    kinds = dict(spec.kinds)
    if DOSE in kinds and TRIAGE not in kinds:
        return True
    return ARRIVE in kinds and seeded(f"second/1:{spec.slug}:{seed}").random() < _SECOND_SHARE


def crew_of(
    call: Call,
    threshold: int,
    *,
    is_second: bool,
    is_told: bool,
    turns: Mapping[int, tuple[int, bool]] = NO_TURNS,
) -> Crew:
    """The crew of a call by the number of patients from which on the service sorts.

    `turns` say by number whose turn it is where they are sorted. Who has none, dead or left for
    now, is nobody's to treat while anybody else is there.
    """
    treated = [each for each in call.patients if each.number in turns or not turns]
    worst_first = sorted(treated, key=lambda each: (turns.get(each.number, ()), -each.severity))
    numbers = tuple(each.number for each in worst_first)
    if len(call.patients) < threshold:
        return Crew(ONLY, numbers, is_told)
    if is_second:
        return Crew(SECOND, numbers[: max(threshold - 1, 1)], is_told)
    return Crew(FIRST, (), is_told)


def told_to(call: Call, crew: Crew) -> Call:
    """The call with who is there before, where that makes a difference."""
    if not crew.is_told or crew.role == ONLY:
        return call
    words = _FIRST_WORDS if crew.role == FIRST else _SECOND_WORDS.format(own=_own(crew.own))
    return replace(call, dispatch=f"{call.dispatch} {words}")


def _own(numbers: tuple[int, ...]) -> str:
    *others, last = map(str, sorted(numbers))
    return f"patients {', '.join(others)} and {last} are" if others else f"patient {last} is"
