"""So many people answering in the same second: `python -m tests.bench.load [--people 60]`.

Each presses Send twice at once, as one does who doubts the first press. Ends with 1 when an
answer is lost, doubled or refused. On PostgreSQL:
`DURABLE=1 .ci/with-postgres .venv/bin/python -m tests.bench.load`.
"""

import argparse
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from statistics import quantiles

from tests.bench.service import PATIENCE_S, Crew, database, faults, service

ROUNDS, PRESSES = 5, 2


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--people", type=int, default=60)
    people = parser.parse_args().people
    with service(people) as (server, crews):
        floor = timed(crews, lambda crew: crew.get("/people/sign-in/")[0], presses=1)
        for crew in crews:
            crew.begin()
        times: list[float] = []
        for _ in range(ROUNDS):
            asked = {crew.run: crew.read() for crew in crews}
            found = timed(crews, lambda crew: crew.answer(*asked[crew.run]), presses=PRESSES)  # type: ignore[misc]  # noqa: B023  # every prompt is open
            times += [seconds for seconds, _ in found]
        server.kill()
        wrong = faults(crews)
        stored = sum(len(crew.acknowledged) for crew in crews)
        _tell(people, stored, times, [seconds for seconds, _ in floor])
    sys.stdout.writelines(f"{each}\n" for each in wrong[:20])
    return 1 if wrong or stored != people * ROUNDS else 0


def timed(crews: list[Crew], act, *, presses: int) -> list[tuple[float, int]]:
    """What each of all presses took and got, all begun in the same moment."""
    start = threading.Barrier(len(crews) * presses, timeout=PATIENCE_S)

    def press(crew: Crew) -> tuple[float, int]:
        start.wait()
        began = time.perf_counter()
        status: int = act(crew)
        return time.perf_counter() - began, status

    with ThreadPoolExecutor(len(crews) * presses) as pool:
        return list(pool.map(press, [crew for crew in crews for _ in range(presses)]))


def _tell(people: int, stored: int, times: list[float], floor: list[float]) -> None:
    cuts, low = quantiles(times, n=20), quantiles(floor, n=20)
    sys.stdout.write(
        f"{database()}: {people} people at once, {ROUNDS} times, Send pressed twice: "
        f"{stored} answers acknowledged of {people * ROUNDS}.\n"
        f"seconds: half within {cuts[9]:.2f}, 95 % within {cuts[18]:.2f}, all {max(times):.2f}; "
        f"the page to sign in, asked for by as many: half {low[9]:.2f}, 95 % {low[18]:.2f}: "
        f"ratio of halves {cuts[9] / low[9]:.1f}\n"
    )


if __name__ == "__main__":
    sys.exit(main())
