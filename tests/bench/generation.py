"""How long drills take to make: of the rig, and of a call with six patients.

Run it as `python -m tests.bench.generation`. Each figure is for a person with an estimate of every
fact. Beside it stands a floor measured in the same run: as many lines drawn by `random.sample`,
with nothing made of them. It ends with status 1 where a bound is missed. Times are those of the
processor, each the least of three, so that what else the machine does at the time counts for as
little as can be; on an idle one they are those of the clock.
"""

import math
import os
import random
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from django.conf import settings  # noqa: E402  # models need settings first
from django.core.management import call_command  # noqa: E402  # models need settings first
from django.test.utils import (  # noqa: E402  # as above
    get_runner,
    override_settings,
)
from django.utils import timezone  # noqa: E402  # as above

from drills.engine.callmaking import Material  # noqa: E402  # as above
from drills.engine.callplan import plan  # noqa: E402  # as above
from drills.engine.facts import facts_of  # noqa: E402  # as above
from drills.engine.generation import plan_drill  # noqa: E402  # as above
from drills.engine.layout import Layout  # noqa: E402  # as above
from drills.engine.recipes import (  # noqa: E402  # as above
    ARRIVE,
    AS_A_CALL_RUNS,
    DOSE,
    LOCATE,
    STAGE,
    SUPPLY,
    TRIAGE,
    RecipeSpec,
)
from drills.rigs.actions import import_layout  # noqa: E402  # as above
from drills.scenarios.reading import material_of  # noqa: E402  # as above
from tests.bench.big import big_layout  # noqa: E402  # as above
from tests.layouts import FIXTURES, demo_layout  # noqa: E402  # as above

LINES = (50, 200, 800, 3_000)
LEAST_A_SECOND, MOST_MS = 300.0, 50.0
TWELVE = RecipeSpec("twelve", ((LOCATE, 12),), probes_share=0.2, difficulty=3)
SIX = RecipeSpec(
    "six",
    ((ARRIVE, 0), (TRIAGE, 0), (LOCATE, 3), (STAGE, 2), (DOSE, 1), (SUPPLY, 1)),
    order=AS_A_CALL_RUNS,
    call_types=("multi-vehicle", "bus-rollover", "structure-fire"),
    patients_least=6,
    patients_most=6,
    difficulty=4,
)
DRILLS, CALLS, REPEATS = 200, 60, 3


def timed(make: Callable[[int], object], many: int) -> list[float]:
    """The milliseconds that each of so many took, sorted."""
    return sorted(min(_took(make, seed) for _ in range(REPEATS)) for seed in range(many))


def _took(make: Callable[[int], object], seed: int) -> float:
    begun = time.process_time()
    make(seed)
    return (time.process_time() - begun) * 1000


def fresh(layout: Layout) -> Layout:
    """The same layout with nothing worked out of it yet."""
    return replace(layout)


def of_the_rig(layout: Layout) -> tuple[float, float, float]:
    """Milliseconds at the median: the first drill of a layout, a next one, and the floor."""
    weights = {
        str(fact): 0.3 + 0.6 * (number % 7) / 7 for number, fact in enumerate(facts_of(layout))
    }
    first = timed(lambda seed: plan_drill(fresh(layout), TWELVE, seed=seed, weights=weights), 5)
    plan_drill(layout, TWELVE, seed=0, weights=weights)
    after = timed(lambda seed: plan_drill(layout, TWELVE, seed=seed, weights=weights), DRILLS)
    drawn = random.Random(7)  # noqa: S311  # a floor to stand beside, no secret
    floor = timed(lambda _: drawn.sample(layout.stock, 12), DRILLS)
    return statistics.median(first), statistics.median(after), statistics.median(floor)


def exponent(costs: list[float]) -> float:
    """The power of the number of lines that costs grow with, fitted to their logarithms."""
    across = [math.log(lines) for lines in LINES]
    up = [math.log(cost) for cost in costs]
    return statistics.linear_regression(across, up).slope


def material() -> tuple[Layout, Material]:
    """A layout of the demonstration, and what its calls are made from, read once."""
    call_command("loaddata", *sorted(FIXTURES.glob("*.json")), verbosity=0)
    layout = demo_layout("mesa-box-rev2")
    now = timezone.now()
    revision = import_layout(layout, by=None, now=now, publish=True)
    with override_settings(READINESS_DEMO=True):
        return layout, material_of(revision, now=now, is_assessed=False)


def of_a_call() -> list[float]:
    """The milliseconds of call drills with six patients, sorted; a database is made for it."""
    runner = get_runner(settings)(verbosity=0)
    made = runner.setup_databases()
    try:
        layout, made_from = material()
    finally:
        runner.teardown_databases(made)
    plan(layout, SIX, seed=0, material=made_from)
    return timed(lambda seed: plan(layout, SIX, seed=seed + 1, material=made_from), CALLS)


def main() -> int:
    """Print the figures; 1 where a bound is missed."""
    say = sys.stdout.write
    say("12 things to find, by stock lines (synthetic rigs), milliseconds at the median\n")
    firsts, nexts = [], []
    for lines in LINES:
        first, after, floor = of_the_rig(big_layout(max(lines // 6, 8), lines))
        firsts.append(first)
        nexts.append(after)
        say(f"{lines:5} lines: first {first:7.2f}, next {after:6.2f}, floor {floor:.3f}\n")
    say(
        f"growth: first as lines to the {exponent(firsts):.2f}, "
        f"next as lines to the {exponent(nexts):.2f}\n"
    )
    first, after, floor = of_the_rig(demo_layout("mesa-box-rev2"))
    a_second = 1000 / after
    say(
        f"the box of the demonstration, 260 lines: first {first:.2f} ms, next {after:.2f} ms, "
        f"{a_second:.0f} a second (held to {LEAST_A_SECOND:.0f}), floor {floor:.3f} ms\n"
    )
    took = of_a_call()
    median = statistics.median(took)
    say(
        f"a call of 6 patients, with all that is asked: median {median:.1f} ms "
        f"(held to {MOST_MS:.0f}), 95 of 100 within {took[int(len(took) * 0.95)]:.1f}, "
        f"worst {took[-1]:.1f}, over {CALLS}\n"
    )
    return int(a_second < LEAST_A_SECOND or median > MOST_MS)


if __name__ == "__main__":
    sys.exit(main())
