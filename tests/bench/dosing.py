"""How many problems are worked out, and answers judged, in a second.

Run it as `python -m tests.bench.dosing`. Beside each stands the floor, the same formula in plain
floating point with no units, no working and no reading, and how many times as long ours takes.
It ends with status 1 where a problem or a judgement takes longer than what we hold ourselves to.
"""

import sys
from collections.abc import Callable
from random import Random
from time import process_time
from typing import Any

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem
from tests.engine.dosing_problems import any_problem

# Ours: a page with one prompt has 20 ms of the processor for it at most.
MOST_MS = 20.0
SECONDS = 1.0

DRIP = {
    "kind": "drip",
    "dose_rate": "5 mcg/kg/min",
    "weight": "154 lb",
    "concentration": "1,600 mcg/mL",
    "set": "60 gtt/mL",
}
DOSE = {
    "kind": "dose",
    "weight": "44 lb",
    "per_weight": "0.1 mg/kg",
    "max": "1.5 mg",
    "concentration": "2 mg/mL",
}


def floor_of_drip() -> float:
    """The drops of the drip in a minute."""
    return round(5 * (154 / 2.2) / 1600 * 60)


def floor_of_dose() -> float:
    """The volume of the dose, and whether an answer is within a fifth of it."""
    volume = min(44 / 2.2 * 0.1, 1.5) / 2
    return abs(0.75 / volume - 1) < 0.2


def each_second(work: Callable[[], object]) -> float:
    """How often it can be done in a second of the processor."""
    work()
    done, begun = 0, process_time()
    while process_time() - begun < SECONDS:
        work()
        done += 1
    return done / (process_time() - begun)


def main() -> int:
    """Print the figures; 1 where one misses its bound."""
    random = Random(4)  # noqa: S311 - problems, no secrets
    several: list[dict[str, Any]] = [any_problem(random) for _ in range(200)]
    read = read_problem(DOSE)
    rows: list[tuple[str, Callable[[], object], Callable[[], object]]] = [
        ("solve, a drip", lambda: read_problem(DRIP).solve(), floor_of_drip),
        ("solve, any kind", lambda: read_problem(random.choice(several)).solve(), floor_of_dose),
        ("judge, right", lambda: judge(read, "volume", "0.75 mL"), floor_of_dose),
        ("judge, a slip", lambda: judge(read, "volume", "7.5 mL"), floor_of_dose),
        ("judge, unexplained", lambda: judge(read, "volume", "1.3 mL"), floor_of_dose),
    ]
    slowest = 0.0
    for name, work, floor in rows:
        ours, plain = each_second(work), each_second(floor)
        slowest = max(slowest, 1000 / ours)
        sys.stdout.write(
            f"{name:20} {ours:8,.0f} a second, {1000 / ours:6.2f} ms; "
            f"floor {plain:11,.0f} a second; {plain / ours:7,.0f} times as long\n"
        )
    sys.stdout.write(f"The slowest takes {slowest:.2f} ms (at most {MOST_MS:.0f})\n")
    return 0 if slowest <= MOST_MS else 1


if __name__ == "__main__":
    sys.exit(main())
