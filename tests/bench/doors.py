"""Seconds from the start of a command to its answer: `python -m tests.bench.doors [--runs 7]`.

Beside each stands how many times as long it takes as Django alone, started in the same run with
its own applications and none of ours. Ends with 1 when a command needs two seconds or more.
"""

import argparse
import json
import os
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
MOST_S = 2
WEIGHT = {"kind": "weight", "from": "44 lb"}
DOORS = {
    "solve": WEIGHT,
    "judge": {"problem": WEIGHT, "asked": "kg", "entered": "20 kg"},
    "triage": {"scheme": "start", "walks": False, "breathes": True, "rate": 31},
    "fit_items": {"patterns": {"01": 4, "10": 3, "11": 9, "00": 5}, "model": "one_slope"},
}
BARE = (
    "import django; from django.conf import settings; settings.configure(INSTALLED_APPS=["
    "'django.contrib.auth', 'django.contrib.contenttypes', 'django.contrib.sessions']); "
    "django.setup()"
)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=7)
    runs = parser.parse_args().runs
    bare = _seconds(["-c", BARE], "", runs)
    sys.stdout.write(f"Django alone: {bare:.2f} s (medians of {runs})\n")
    late = False
    for door, given in DOORS.items():
        took = _seconds(["manage.py", door], json.dumps(given), runs)
        late = late or took >= MOST_S
        sys.stdout.write(f"{door}: {took:.2f} s, {took / bare:.1f} times Django alone\n")
    return int(late)


def _seconds(command: list[str], given: str, runs: int) -> float:
    outside = {
        **os.environ,
        "DJANGO_DEBUG": "1",
        "DATABASE_URL": "postgres://nobody@127.0.0.1:1/no",
    }
    took = []
    for _ in range(runs):
        begun = time.perf_counter()
        subprocess.run(
            [sys.executable, *command],
            input=given.encode(),
            capture_output=True,
            cwd=ROOT,
            env=outside,
            check=True,
        )
        took.append(time.perf_counter() - begun)
    return median(took)


if __name__ == "__main__":
    raise SystemExit(main())
