"""The parts of the evaluation, what is asked of the model first."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from drills.engine.simulated.scenario import LAWS, Scenario, scenario_of
from tests.bench import calls_found, choosing, competency_told, flags, intervals
from tests.bench.at_a_day import at_a_day
from tests.bench.competency_cases import CASES, READINESS, Case, run
from tests.bench.forecasts import Forecast
from tests.bench.jobs import Job, Part
from tests.bench.moved_elsewhere import MOST_CHANGE, MOVED, change_elsewhere
from tests.bench.readiness import readiness

FORECASTS: dict[str, Forecast] = {READINESS: readiness}
# The day at whose start calls and intervals are looked at.
DAY = 240
# Of the services the first so many are what is asked; the others come last.
FIRST = 6


def parts_for(people: int | None) -> list[Part]:
    """Every part; of the services with no more people than these, where they are given."""
    services = [_service(case, people) for case in CASES]
    others = [
        *(_day(law, people) for law in LAWS),
        Part("flags", "flags", "all", flags.jobs, flags.summed, flags.lines),
        *(_choosing(law) for law in LAWS),
        *(_change(law) for law in LAWS),
    ]
    return [*services[:FIRST], *others, *services[FIRST:]]


def _service(case: Case, people: int | None) -> Part:
    def jobs(seeds: Sequence[int]) -> list[Job]:
        return [
            Job(f"seed {seed}", partial(run, case, seed, FORECASTS, people=people))
            for seed in seeds[: case.seeds]
        ]

    told = partial(competency_told.case_told, case)
    return Part(case.name, "cases", case.name, jobs, told, competency_told.lines)


def day_of(scenario: Scenario, seed: int) -> tuple[calls_found.Said, intervals.Held]:
    """What is said of calls and of things at a day, and what came and was true."""
    day = at_a_day(scenario, seed=seed, day=DAY)
    return calls_found.said_of(day, seed=seed), intervals.held_by(day)


def _day(law: str, people: int | None) -> Part:
    def jobs(seeds: Sequence[int]) -> list[Job]:
        scenario = scenario_of("steady", law=law, people=people)
        return [Job(f"seed {seed}", partial(day_of, scenario, seed)) for seed in seeds]

    def told(ran: Sequence[tuple[calls_found.Said, intervals.Held]]) -> dict[str, Any]:
        said, held = zip(*ran, strict=True)
        calls = calls_found.summed(law, said)
        return {"calls": calls, "intervals": intervals.summed(held), "missed": calls["missed"]}

    def lines(told: dict[str, Any]) -> Iterator[str]:
        yield from calls_found.lines(law, told["calls"])
        yield from intervals.lines(law, told["intervals"])

    return Part(f"{law}, calls and intervals", "days", law, jobs, told, lines)


def _choosing(law: str) -> Part:
    return Part(
        f"{law}, choosing",
        "choosing",
        law,
        partial(choosing.jobs, replace(choosing.SCENARIO, law=law)),
        partial(choosing.summed, law),
        partial(choosing.lines, law),
    )


def _change(law: str) -> Part:
    def jobs(seeds: Sequence[int]) -> list[Job]:
        work = partial(change_elsewhere, replace(MOVED, law=law), seed=seeds[0])
        return [Job(f"seed {seeds[0]}", work)]

    def told(ran: Sequence[tuple[float, float]]) -> dict[str, Any]:
        most, mean = ran[0]
        words = f"a move changes what is thought of other things by {most:.1e}, law {law}"
        missed = [words] if most > MOST_CHANGE else []
        return {"elsewhere": most, "moved": mean, "missed": missed}

    def lines(told: dict[str, Any]) -> Iterator[str]:
        yield (
            f"law {law}: a move changes {told['moved']:.3f} of what is thought of what moved in "
            f"the mean, and {told['elsewhere']:.0e} at most of all else"
        )

    return Part(f"{law}, what a move changes", "changes", law, jobs, told, lines)
