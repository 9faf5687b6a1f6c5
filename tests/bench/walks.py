"""Long random walks over the moves of runs: `python -m tests.bench.walks [--steps 10000]`.

The walks of `tests/runs/walks.py`, more of them than every run of the tests takes. Prints the steps
and the answers that were taken and refused; ends with 1 when what is stored is not what was taken.
"""

import argparse
import os
import subprocess
import sys

STEPS = 10_000


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--steps", type=int, default=STEPS)
    steps = str(parser.parse_args().steps)
    command = [sys.executable, "-m", "pytest", "-q", "tests/runs/test_walks.py"]
    return subprocess.run(command, env=os.environ | {"WALK_STEPS": steps}, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
