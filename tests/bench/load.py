"""So many people answering in the same second: `python -m tests.bench.load [--people 60]`.

First spread evenly over a second, each pressing Send once; then all in the same moment, each
pressing twice, as one does who doubts the first press. Each asks as a page with scripts does, for
the verdict and the next question. Beside the times stands what processor the answers took, of the
server, of the database where it is one of its own, and of those who ask here, and what that alone
would let 95 % wait for were nothing else in the way. Ends with 1 when an answer is lost, doubled or
refused, or 95 % of those over a second wait longer than half of one. On PostgreSQL:
`DURABLE=1 .ci/with-postgres .venv/bin/python -m tests.bench.load`.
"""

import argparse
import os
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from statistics import median, quantiles

from tests.bench.service import (
    PATIENCE_S,
    Crew,
    Server,
    database,
    database_process,
    faults,
    processor_s,
    service,
)

ROUNDS, MOST_S = 5, 0.5
WHO = ("server", "database", "who asks")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--people", type=int, default=60)
    people = parser.parse_args().people
    with service(people) as (server, crews):
        say = sys.stdout.write
        say(f"{database()}: {people} people, {ROUNDS} times\n")
        floor = timed(crews, lambda crew: crew.get("/people/sign-in/"))
        say(f"the page to sign in, over a second: {_told(floor)}\n")
        for crew in crews:
            crew.begin()
        spread = _answered(crews, server, within_s=1.0)
        say(f"answers over a second: {_told(spread.times)} (95 % held to {MOST_S:g})\n")
        say(spread.told())
        at_once = _answered(crews, server, presses=2)
        say(f"in one moment, pressed twice: {_told(at_once.times)}\n{at_once.told()}")
        server.kill()
        wrong, stored = faults(crews), sum(len(crew.acknowledged) for crew in crews)
    say(f"{stored} answers acknowledged of {people * ROUNDS * 2}\n")
    sys.stdout.writelines(f"{each}\n" for each in wrong[:20])
    is_met = not wrong and stored == people * ROUNDS * 2 and _most(spread.times) <= MOST_S
    return 0 if is_met else 1


@dataclass
class Answers:
    """Seconds of every press, and of processor by who took it."""

    within_s: float
    times: list[float] = field(default_factory=list)
    spent: dict[str, float] = field(default_factory=lambda: dict.fromkeys(WHO, 0.0))

    def told(self) -> str:
        each = {who: spent * 1000 / len(self.times) for who, spent in self.spent.items()}
        cores = len(os.sched_getaffinity(0))
        presses = len(self.times) / ROUNDS
        # Who comes last but 5 % finds what the cores could not do while the others came.
        behind = 0.95 * (presses * sum(each.values()) / 1000 / cores - self.within_s)
        floor = max(behind, 0.0) + sum(each.values()) / 1000
        parts = ", ".join(f"{who} {ms:.1f} ms" for who, ms in each.items())
        return f"  processor a press: {parts}; on {cores} cores no less than {floor:.2f} s\n"


def _answered(
    crews: list[Crew], server: Server, *, within_s: float = 0.0, presses: int = 1
) -> Answers:
    found, database = Answers(within_s), database_process()

    def spent() -> tuple[float, ...]:
        # The workers have the master for their parent, and are of its group as it is itself.
        served = processor_s(lambda _, group: group == server.group)
        kept = processor_s(lambda parent, _: parent == database) if database else 0.0
        return served, kept, time.process_time()

    for _ in range(ROUNDS):
        ready = {crew.run: crew.ready() for crew in crews}
        before = spent()
        found.times += timed(
            crews,
            lambda crew: crew.deliver(*ready[crew.run]),  # noqa: B023  # called at once
            within_s=within_s,
            presses=presses,
        )
        for who, since, until in zip(WHO, before, spent(), strict=True):
            found.spent[who] += until - since
    return found


def timed(
    crews: list[Crew], act: Callable[[Crew], object], *, within_s: float = 1.0, presses: int = 1
) -> list[float]:
    """Seconds of all presses, begun evenly within so many; within none in the same moment."""
    start = threading.Barrier(len(crews) * presses, timeout=PATIENCE_S)

    def press(number: int) -> float:
        start.wait()
        time.sleep(within_s * number / (len(crews) * presses))
        began = time.perf_counter()
        act(crews[number % len(crews)])
        return time.perf_counter() - began

    with ThreadPoolExecutor(len(crews) * presses) as pool:
        return list(pool.map(press, range(len(crews) * presses)))


def _told(times: list[float]) -> str:
    return (
        f"half within {median(times):.2f} s, 95 % within {_most(times):.2f}, all {max(times):.2f}"
    )


def _most(times: list[float]) -> float:
    """Within which 95 % came."""
    return quantiles(times, n=20)[18]


if __name__ == "__main__":
    sys.exit(main())
