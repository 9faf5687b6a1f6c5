"""So many people answering in the same second: `python -m tests.bench.load [--people 60]`.

First spread evenly over a second, each pressing Send once; then all in the same moment, each
pressing twice, as one does who doubts the first press. Ends with 1 when an answer is lost, doubled
or refused. On PostgreSQL: `DURABLE=1 .ci/with-postgres .venv/bin/python -m tests.bench.load`.
"""

import argparse
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from statistics import quantiles

from tests.bench.service import PATIENCE_S, Crew, database, faults, service

ROUNDS, PRESSES = 5, 2


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--people", type=int, default=60)
    people = parser.parse_args().people
    with service(people) as (server, crews):
        say = sys.stdout.write
        say(f"{database()}: {people} people, {ROUNDS} times\n")
        floor = timed(crews, lambda crew: crew.get("/people/sign-in/")[0])
        say(f"the page to sign in, over a second: {_told(floor)}\n")
        for crew in crews:
            crew.begin()
        say(f"answers over a second: {_told(_answered(crews, within_s=1.0))}\n")
        say(f"in one moment, pressed twice: {_told(_answered(crews, presses=2))}\n")
        server.kill()
        wrong, stored = faults(crews), sum(len(crew.acknowledged) for crew in crews)
    say(f"{stored} answers acknowledged of {people * ROUNDS * 2}\n")
    sys.stdout.writelines(f"{each}\n" for each in wrong[:20])
    return 1 if wrong or stored != people * ROUNDS * 2 else 0


def _answered(crews: list[Crew], *, within_s: float = 0.0, presses: int = 1) -> list[float]:
    times: list[float] = []
    for _ in range(ROUNDS):
        asked = {crew.run: crew.read() for crew in crews}
        times += timed(
            crews,
            lambda crew: crew.answer(*asked[crew.run]),  # type: ignore[misc]  # noqa: B023  # every prompt is open
            within_s=within_s,
            presses=presses,
        )
    return times


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
    cuts = quantiles(times, n=20)
    return f"half within {cuts[9]:.2f} s, 95 % within {cuts[18]:.2f}, all {max(times):.2f}"


if __name__ == "__main__":
    sys.exit(main())
