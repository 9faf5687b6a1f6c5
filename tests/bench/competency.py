"""How near what is said of people comes to the truth: `python -m tests.bench.competency`.

Simulated services drill for a year, and the answers of the last third are forecast one by one by
the model and by plainer ways; what is said of calls, of things with their intervals, of what a
cohort misses, and what is asked next is measured beside the truth as well. Everything is synthetic.

`--quick` runs one seed, `--people 20` with fewer people, `--only WORDS` the parts with these words
in their name, and `--list` names them; `--json FILE` and `--svg FILE` write what the guide prints,
after each part anew. `--join FILE ...` runs nothing and puts together what was written so; with
`--keep FILE` what is in none of them is kept from an evaluation before, and marked as of an earlier
model. It ends with 1 where a bound is missed.
"""

import argparse
import json
import multiprocessing
import os
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from typing import Any

from drills.engine.knowing import CHANCES, DOUBT
from drills.engine.knowing.carrying import COEFFICIENTS
from tests.bench.competency_parts import parts_for
from tests.bench.jobs import Job, Part
from tests.bench.reliability_picture import drawn

SEEDS = (1, 2, 3, 4, 5)
WORKERS = 2
DIGITS = 5
Told = dict[str, Any]


def main() -> int:
    """Print the tables; 1 where a bound is missed."""
    given = _arguments()
    parts = [each for each in parts_for(given.people) if given.only in each.name]
    if given.list:
        sys.stdout.write("".join(f"{each.name}\n" for each in parts))
        return 0
    if given.join:
        whole = joined([_read(each) for each in given.join], _read(given.keep))
        _write(whole, given.json, given.svg)
        return _ended(whole)
    whole = blank()
    for part, told in _worked_out(parts, SEEDS[:1] if given.quick else SEEDS):
        whole = with_part(whole, part, {**told, "model": [CHANCES, DOUBT]})
        sys.stdout.write("\n".join(["", *part.lines(told), ""]))
        sys.stdout.flush()
        _write(joined([whole]), given.json, given.svg)
    return _ended(whole)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--list", action="store_true")
    parser.add_argument("--people", type=int)
    parser.add_argument("--only", default="")
    parser.add_argument("--join", type=Path, nargs="+")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--svg", type=Path)
    return parser.parse_args()


def _worked_out(parts: Sequence[Part], seeds: Sequence[int]) -> Iterator[tuple[Part, Told]]:
    """The parts as they are done, two jobs at a time in their order; progress goes to standard
    error."""
    # Small sums are quicker on one thread, and the workers are as many as there are processors.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    jobs: list[tuple[Part, Job]] = [(part, job) for part in parts for job in part.jobs(seeds)]
    came: dict[int, Any] = {}
    with ProcessPoolExecutor(WORKERS, multiprocessing.get_context("spawn")) as pool:
        begun = {pool.submit(timed, job): at for at, (_, job) in enumerate(jobs)}
        for done, each in enumerate(as_completed(begun), start=1):
            at = begun[each]
            came[at], took = each.result()
            part, job = jobs[at]
            name = f"{part.name}, {job.name}, {took:.0f} s"
            sys.stderr.write(f"{done} of {len(jobs)}: {name}\n")
            mine = [at for at, (of, _) in enumerate(jobs) if of is part]
            if all(at in came for at in mine):
                yield part, part.told([came.pop(at) for at in mine])


def timed(job: Job) -> tuple[Any, float]:
    """What comes of a job, and the seconds it took."""
    begun = time.perf_counter()
    return job.work(), time.perf_counter() - begun


def blank() -> Told:
    """What is kept of an evaluation, with nothing in it yet."""
    empty: Told = {"is": "simulated", "coefficients": list(COEFFICIENTS), "seeds": list(SEEDS)}
    return empty


def with_part(whole: Told, part: Part, told: Told) -> Told:
    """The same with one part more."""
    under = {**whole.get(part.heading, {}), part.key: told}
    return {**whole, part.heading: under}


def joined(several: Sequence[Told], kept: Told | None = None) -> Told:
    """Parts that were written apart, in the order of a whole evaluation; of two of one key the
    last. What is in none of them is taken from those that are `kept`, marked `is_earlier`.
    `ValueError` where they are not of this model."""
    whole = blank()
    for each in several:
        if each["coefficients"] != whole["coefficients"]:
            raise ValueError("these figures are of a model with other coefficients")
    for part in parts_for(None):
        if told := [found for each in several if (found := _found(each, part))]:
            whole = with_part(whole, part, told[-1])
        elif earlier := _found(kept or {}, part):
            whole = with_part(whole, part, {**earlier, "is_earlier": True})
    return whole


def _found(whole: Told, part: Part) -> Told | None:
    found: Told | None = whole.get(part.heading, {}).get(part.key)
    return found


def _read(path: Path | None) -> Told:
    found: Told = json.loads(path.read_text(encoding="utf-8")) if path else {}
    return found


def as_json(told: Told) -> str:
    """Figures as they are kept: to so many digits, and none that JSON does not know."""
    return json.dumps(_rounded(told), indent=1, allow_nan=False) + "\n"


def _rounded(told: Any) -> Any:
    if isinstance(told, Mapping):
        return {key: _rounded(each) for key, each in told.items()}
    if isinstance(told, list):
        return [_rounded(each) for each in told]
    return float(f"{told:.{DIGITS}g}") if isinstance(told, float) else told


def _write(whole: Told, to: Path | None, picture: Path | None) -> None:
    if to:
        to.write_text(as_json(whole), encoding="utf-8")
    if picture:
        held = [each for each in whole.get("cases", {}).values() if each["least_share"] is not None]
        picture.write_text(drawn(held), encoding="utf-8")


def _ended(whole: Told) -> int:
    parts = [part for told in whole.values() if isinstance(told, dict) for part in told.values()]
    missed = [words for part in parts for words in part["missed"]]
    sys.stdout.write("\n".join(["", *missed, f"{len(missed)} bounds missed"]) + "\n")
    return int(bool(missed))


if __name__ == "__main__":
    sys.exit(main())
