"""How long replaying 200,000 answers takes: `python -m tests.bench.recompute [--answers 200000]`.

They are those of a simulated cohort, put into a database that is made for it and taken down again.
Beside the refit and `recompute --check` stands a floor measured in the same run: reading the same
columns of the same rows and making nothing of them. Seconds are those of the clock.
"""

import argparse
import os
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime
from io import StringIO

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
django.setup()

from django.core.management import call_command  # noqa: E402  # Django is set up first
from django.test.utils import (  # noqa: E402  # the same
    setup_databases,
    setup_test_environment,
    teardown_databases,
)

from drills.competency.gathering import ROWS_AT_ONCE, to_read  # noqa: E402  # the same
from drills.competency.models import Evidence  # noqa: E402  # the same
from drills.demo.factories import PersonFactory, rig_on  # noqa: E402  # the same
from drills.engine.simulated import Scenario, simulate_crews  # noqa: E402  # the same
from tests.bench.past import fill  # noqa: E402  # the same
from tests.layouts import demo_layout  # noqa: E402  # the same

PEOPLE, DAYS, ANSWERS = 300, 420, 200_000
START = datetime(2025, 1, 1, tzinfo=UTC)


def main() -> None:
    """Print the seconds of each."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--answers", type=int, default=ANSWERS)
    answers = parser.parse_args().answers
    log = simulate_crews(Scenario(people=PEOPLE, days=DAYS), seed=1).log
    if len(log) < answers:
        raise SystemExit(f"{len(log)} answers were simulated, fewer than {answers}")
    setup_test_environment()
    kept = setup_databases(verbosity=0, interactive=False)
    try:
        rig = rig_on(demo_layout("mesa-box"), unit="11", now=START)
        people = PersonFactory.create_batch(PEOPLE)
        fill(rig, log.rows(slice(0, answers)), people, start=START)
        floor = seconds(_read)
        refit = seconds(lambda: _call("refit"))
        check = seconds(lambda: _call("recompute", "--check"))
    finally:
        teardown_databases(kept, verbosity=0)
    sys.stdout.write(
        f"{answers} answers of {PEOPLE} people (simulated): reading {floor:.1f} s, refit "
        f"{refit:.1f} s ({refit / floor:.1f} times), recompute --check {check:.1f} s "
        f"({check / floor:.1f} times)\n"
    )


def seconds(what: Callable[[], object]) -> float:
    """The clock's, of one time."""
    begun = time.perf_counter()
    what()
    return time.perf_counter() - begun


def _read() -> int:
    rows = to_read(Evidence.objects.standing())
    return sum(1 for _ in rows.iterator(chunk_size=ROWS_AT_ONCE))


def _call(name: str, *arguments: str) -> None:
    call_command(name, *arguments, stdout=StringIO())


if __name__ == "__main__":
    main()
