"""What it takes to refuse each hostile workbook: `python -m tests.bench.hostile`.

Each is read in a process of its own. The table tells the seconds of a processor that reading takes,
the greatest memory of the whole process in megabytes, and what is said; above it stands what a
process takes that has only loaded the reader. Ends with 1 where one is above the bounds.
"""

import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.engine.test_workbook_refused import REFUSED
from tests.engine.workbook_files import csv_zip
from tests.engine.workbook_hostile import CORPUS

MOST_MB, MOST_S = 256, 6
# Not ru_maxrss, which a process takes over from the one that started it. Linux alone tells this.
READ = """
import json, re, sys, time
from pathlib import Path
from drills.engine.workbook import read_workbook
data = Path(sys.argv[1]).read_bytes()
status = Path("/proc/self/status")
peak = lambda: int(re.search(r"VmHWM:\\s+(\\d+)", status.read_text())[1]) / 1024
base, began = peak(), time.process_time()
parsed = read_workbook(data, name=sys.argv[2])
taken = time.process_time() - began
json.dump([base, peak(), taken, [str(each) for each in parsed.problems[:3]]], sys.stdout)
"""


@dataclass(frozen=True, slots=True)
class Measured:
    """Memory of the whole process before and at its greatest, and the time of reading."""

    base_mb: float
    peak_mb: float
    seconds: float
    problems: tuple[str, ...]


def measured(data: bytes, name: str) -> Measured:
    """Read a workbook in a process of its own."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "workbook"
        path.write_bytes(data)
        command = [sys.executable, "-c", READ, str(path), name]
        done = subprocess.run(command, capture_output=True, check=True, timeout=300)
    base, peak, taken, problems = json.loads(done.stdout)
    return Measured(base, peak, taken, tuple(problems))


def corpus() -> Iterator[tuple[str, Measured]]:
    """Every file that is refused, by name, one after another; the plain mistakes as well."""
    for name, (source, *named, _, _, _) in REFUSED.items():
        data = csv_zip(source) if isinstance(source, dict) else source
        yield name, measured(data, "".join(named))
    for name, each in CORPUS.items():
        yield name, measured(each.make(), each.name)


def main() -> int:
    found = dict(corpus())
    base = max(each.base_mb for each in found.values())
    sys.stdout.write(f"{len(found)} files; a process that has read nothing takes {base:.0f} MB\n")
    sys.stdout.writelines(
        f"{name:45} {each.seconds:6.2f} s {each.peak_mb:4.0f} MB  {each.problems[0]}\n"
        for name, each in sorted(found.items(), key=lambda item: -item[1].peak_mb)
    )
    over = [each for each in found.values() if each.peak_mb >= MOST_MB or each.seconds >= MOST_S]
    return 1 if over or not all(each.problems for each in found.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
