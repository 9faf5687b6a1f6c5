"""The working of one figure."""

from drills.engine.dosing.results import Solution


def steps_to(solution: Solution, asked: str) -> tuple[str, ...]:
    """The working as far as one figure, by its name: what only others need comes after it.

    All of it for a range, and where no line ends in the figure. How it is rounded follows the
    figure and stays.
    """
    found, steps = solution.results[asked], solution.steps
    ending = f" = {found.exact}"
    last = max((at for at, each in enumerate(steps) if each.endswith(ending)), default=-1)
    if found.is_range or last < 0:
        return steps
    after = range(last + 1, len(steps))
    return steps[: next((at for at in after if " = " in steps[at]), None)]
