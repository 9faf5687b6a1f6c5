"""The tests of the table of faults, timed: `python -m tests.bench.faults`.

Runs every test that `tests/runs/faults.py` names, in two processes, file by file. Ends with 1 when
one of them fails, or all together take more than three minutes.
"""

import subprocess
import sys
import time

from tests.house.measure import ROOT
from tests.runs.faults import FAULTS

MOST_S, PROCESSES = 180.0, 2


def main() -> int:
    named = {each for _, tests in FAULTS.values() for each in tests}
    paths = [str((ROOT / "tests" / "runs" / each).resolve()) for each in sorted(named)]
    command = [sys.executable, "-m", "pytest", "-q", "-n", str(PROCESSES), "--dist", "loadfile"]
    began = time.monotonic()
    ended = subprocess.run([*command, *paths], cwd=ROOT, check=False).returncode
    took = time.monotonic() - began
    sys.stdout.write(
        f"{len(FAULTS)} faults, {len(named)} tests and classes: {took:.0f} s (held to {MOST_S:g})\n"
    )
    return 1 if ended or took > MOST_S else 0


if __name__ == "__main__":
    sys.exit(main())
