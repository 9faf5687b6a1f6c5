"""The server killed under load, again and again: `python -m tests.bench.killed [--kills 20]`.

Whoever gets no answer sends the same one again, as a person does. Ends with 1 when something that
was acknowledged is lost, anything is doubled, or a server was killed that nobody was asking.
On PostgreSQL: `DURABLE=1 .ci/with-postgres .venv/bin/python -m tests.bench.killed`.
"""

import argparse
import http.client
import sys
import threading
import time
from random import Random

from tests.bench.service import PROMPTS, Crew, database, faults, service

PEOPLE, PAUSE_S = 12, 0.1


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--people", type=int, default=PEOPLE)
    arguments = parser.parse_args()
    random, stop = Random(arguments.kills), threading.Event()  # noqa: S311  # when to kill
    with service(arguments.people) as (server, crews):
        for crew in crews:
            crew.begin()
        threads = [threading.Thread(target=answer_all, args=(crew, stop)) for crew in crews]
        for thread in threads:
            thread.start()
        idle, before = 0, 0
        for _ in range(arguments.kills):
            time.sleep(0.5 + random.random())
            now = sum(len(crew.acknowledged) for crew in crews)
            idle, before = idle + (now == before), now
            server.kill()
            server.start()
        stop.set()
        for thread in threads:
            thread.join()
        server.kill()
        wrong = faults(crews) + ["killed with no answer since the last time"] * idle
        stored = sum(len(crew.acknowledged) for crew in crews)
        again = sum(len(crew.sent) for crew in crews) - stored
        sys.stdout.write(
            f"{database()}: killed {arguments.kills} times under {arguments.people} people: "
            f"{stored} answers acknowledged, {again} sent and not; {len(wrong)} faults.\n"
        )
    sys.stdout.writelines(f"{each}\n" for each in wrong[:20])
    return 1 if wrong or not stored else 0


def answer_all(crew: Crew, stop: threading.Event) -> None:
    """Answer prompt after prompt, sending again what got no answer, until told to stop."""
    for _ in range(PROMPTS):
        asked = _insist(crew.read, stop)
        if stop.is_set() or not asked:
            return
        token, place = asked
        _insist(lambda: crew.answer(token, place) < 500, stop)  # noqa: B023  # called at once


def _insist(act, stop: threading.Event):
    """What an act gives once it comes through; nothing when it is time to stop."""
    while not stop.is_set():
        try:
            found = act()
        except (OSError, http.client.HTTPException):
            found = None
        if found:
            return found
        time.sleep(PAUSE_S)
    return None


if __name__ == "__main__":
    sys.exit(main())
