"""The working of one figure, and of all of them."""

from drills.engine.dosing.results import Solution
from drills.engine.dosing.rounded import last_steps
from drills.engine.lines import ends_in, is_line
from drills.engine.quantities import Quantity


def steps_to(solution: Solution, asked: str) -> tuple[str, ...]:
    """The working as far as one figure, by its name: what only others need comes after it.

    All of it for a range, and where no line ends in the figure. How it is rounded follows the
    figure and stays, and is told where no line does.
    """
    found, kept = solution.results[asked], _as_far_as(solution, asked)
    return (*kept, *last_steps(kept, found))


def all_steps(solution: Solution) -> tuple[str, ...]:
    """The whole working, to every figure as it is told; one that is told last by its name."""
    steps = [*solution.steps, *solution.beside.values()]
    for name, result in solution.results.items():
        for each in last_steps(steps, result):
            steps.append(f"{each} ({name})" if len(solution.results) > 1 else each)
    return tuple(dict.fromkeys(steps))


def _as_far_as(solution: Solution, asked: str) -> tuple[str, ...]:
    found = solution.results[asked]
    steps = (*solution.steps, *filter(None, [solution.beside.get(asked)]))
    last = _last_with(steps, found.exact)
    if found.is_range or last < 0:
        return steps
    after = next((at for at in range(last + 1, len(steps)) if is_line(steps[at])), len(steps))
    others = {each.answer for each in solution.results.values()} - {found.answer}
    elsewhere = tuple(f": {each}" for each in others)
    return (
        *steps[: last + 1],
        *(each for each in steps[last + 1 : after] if not each.endswith(elsewhere)),
    )


def _last_with(steps: tuple[str, ...], figure: Quantity) -> int:
    """Where a figure is worked out last, else where it is said, as a limit is; below 0 nowhere."""
    worked = [at for at, each in enumerate(steps) if ends_in(each, figure)]
    said = [at for at, each in enumerate(steps) if each.endswith(f" {figure}")]
    return max(worked or said, default=-1)
