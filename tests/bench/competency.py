"""How near what is said of people comes to the truth: `python -m tests.bench.competency`.

Simulated services drill for a year, and the answers of the last third are forecast one by one by
the model and by plainer ways. Everything is synthetic. `--quick` runs one seed, `--people 20` with
fewer people, `--only WORDS` the cases with these words in their name; `--json FILE` and
`--svg FILE` write what the guide prints. It ends with 1 where a bound is missed.
"""

import argparse
import json
import math
import multiprocessing
import os
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor, as_completed
from dataclasses import replace
from pathlib import Path
from statistics import fmean, stdev
from typing import Any

from drills.engine.knowing.carrying import COEFFICIENTS
from drills.engine.measures import measure
from drills.engine.simulated.scenario import LAWS
from tests.bench.competency_cases import (
    CASES,
    ITEM_MEAN,
    ORACLE,
    READINESS,
    Case,
    Ran,
    Thought,
    loss_against,
    run,
)
from tests.bench.forecasts import Forecast
from tests.bench.moved_elsewhere import MOST_CHANGE, MOVED, change_elsewhere
from tests.bench.readiness import readiness
from tests.bench.reliability_picture import drawn

SEEDS = (1, 2, 3, 4, 5)
WORKERS = 2
FORECASTS: dict[str, Forecast] = {READINESS: readiness}
FIGURES = ("log_loss", "gap", "slope", "intercept", "auc")
MOST_GAP, LEAST_SLOPE, MOST_SLOPE, MOST_GAP_MOVED = 0.02, 0.90, 1.10, 0.03
# Fewer answers than these have a gap of their own, which no forecast escapes.
ENOUGH = 5_000
DIGITS = 5


def main() -> int:
    """Print the tables; 1 where a bound is missed."""
    given = _arguments()
    cases = [each for each in CASES if given.only in each.name]
    seeds = SEEDS[:1] if given.quick else SEEDS
    # Small sums are quicker on one thread, and the workers are as many as there are processors.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    with ProcessPoolExecutor(WORKERS, multiprocessing.get_context("spawn")) as pool:
        ran = _run_all(pool, cases, seeds, given.people)
        changes = dict(zip(LAWS, pool.map(_changes, LAWS), strict=True))
    told = [_case_told(case, ran[case.name]) for case in cases]
    sys.stdout.write("\n".join(_lines(told)) + "\n")
    elsewhere = {law: {"elsewhere": most, "moved": mean} for law, (most, mean) in changes.items()}
    sys.stdout.write(f"\nWhat a move changes of what is thought: {json.dumps(elsewhere)}\n")
    if given.json:
        whole = {
            "is": "simulated",
            "coefficients": list(COEFFICIENTS),
            "seeds": len(seeds),
            "cases": told,
            "changes": elsewhere,
        }
        given.json.write_text(as_json(whole), encoding="utf-8")
    if given.svg:
        held = [each for each in told if each["least_share"] is not None]
        given.svg.write_text(drawn(held), encoding="utf-8")
    missed = [words for each in told for words in each["missed"]]
    missed += [
        f"a move changes what is thought of other things by {most:.1e}, law {law}"
        for law, (most, _) in changes.items()
        if most > MOST_CHANGE
    ]
    sys.stdout.write("\n".join(["", *missed, f"{len(missed)} bounds missed"]) + "\n")
    return int(bool(missed))


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--people", type=int)
    parser.add_argument("--only", default="")
    parser.add_argument("--json", type=Path)
    parser.add_argument("--svg", type=Path)
    return parser.parse_args()


def as_json(told: dict[str, Any]) -> str:
    """Figures as they are kept: to so many digits, and none that JSON does not know."""
    return json.dumps(_rounded(told), indent=1, allow_nan=False) + "\n"


def _rounded(told: Any) -> Any:
    if isinstance(told, dict):
        return {key: _rounded(each) for key, each in told.items()}
    if isinstance(told, list):
        return [_rounded(each) for each in told]
    return float(f"{told:.{DIGITS}g}") if isinstance(told, float) else told


def _changes(law: str) -> tuple[float, float]:
    return change_elsewhere(replace(MOVED, law=law), seed=SEEDS[0])


def _run_all(
    pool: Executor, cases: Sequence[Case], seeds: Sequence[int], people: int | None
) -> dict[str, list[Ran]]:
    """Every case with every seed, two at a time; progress goes to standard error."""
    found: dict[str, list[Ran]] = {case.name: [] for case in cases}
    waiting = {
        pool.submit(run, case, seed, FORECASTS, people=people): (case.name, seed)
        for case in cases
        for seed in seeds
    }
    for done, each in enumerate(as_completed(waiting), start=1):
        name, seed = waiting[each]
        found[name].append(each.result())
        took = sum(found[name][-1].seconds.values())
        sys.stderr.write(f"{done} of {len(waiting)}: {name}, seed {seed}, {took:.0f} s\n")
    return found


def _case_told(case: Case, ran: Sequence[Ran]) -> dict[str, Any]:
    """Means and spreads of a case over its seeds, and which bounds it missed."""
    names = list(ran[0].figures)
    told: dict[str, Any] = {
        "name": case.name,
        "seeds": len(ran),
        "answers": round(fmean(each.figures[ORACLE].count for each in ran)),
        "least_share": case.least_share,
        "forecasts": {
            name: {
                "share": _spread([each.shares[name] for each in ran]),
                **{
                    figure: _spread([getattr(each.figures[name], figure) for each in ran])
                    for figure in FIGURES
                },
            }
            for name in names
        },
        "parts": {part: _part_told(part, ran) for part in ran[0].thought if part != "period"},
        "reliability": _bins(ran),
    }
    return {**told, "missed": list(_missed(told))}


def _spread(values: Sequence[float]) -> dict[str, float | None]:
    """Of several seeds; nothing where one has none, such as the slope of one chance for all."""
    if any(math.isnan(each) for each in values):
        return dict.fromkeys(("mean", "sd", "least", "most"))
    return {
        "mean": fmean(values),
        "sd": stdev(values) if len(values) > 1 else 0.0,
        "least": min(values),
        "most": max(values),
    }


def _part_told(part: str, ran: Sequence[Ran]) -> dict[str, Any]:
    """A part of the period, the seeds together; how it stands beside the mean of each thing."""
    some = [each for each in ran if part in each.thought]
    told: dict[str, Any] = {}
    for name in some[0].thought[part]:
        whole = Thought.joined([each.thought[part][name] for each in some])
        found = measure(whole.right, whole.chance)
        told[name] = {
            "answers": found.count,
            "right": found.right,
            "thought": float(whole.chance.mean()),
            "gap": found.gap,
            "log_loss": found.log_loss,
            "beside_item_mean": fmean(loss_against(each, part, name, ITEM_MEAN) for each in some),
        }
    return told


def _bins(ran: Sequence[Ran]) -> dict[str, list[dict[str, float]]]:
    """The bins of a reliability diagram, the seeds together."""
    told = {}
    for name in ran[0].thought["period"]:
        whole = Thought.joined([each.thought["period"][name] for each in ran])
        told[name] = [
            {key: getattr(each, key) for key in ("count", "chance", "share", "low", "high")}
            for each in measure(whole.right, whole.chance).bins
        ]
    return told


def _missed(told: dict[str, Any]) -> Iterator[str]:
    """The bounds that the model missed in a case, in words."""
    ours, name = told["forecasts"].get(READINESS), told["name"]
    if ours is None:
        return
    least = told["least_share"]
    if least is not None and ours["share"]["mean"] < least:
        yield f"{name}: share of the gain {ours['share']['mean']:.3f}, held to {least}"
    if least is not None and told["answers"] >= ENOUGH:
        yield from _missed_calibration(name, ours)
    for part, each in told["parts"].items():
        if part.startswith("move ") and each[READINESS]["gap"] > MOST_GAP_MOVED:
            yield f"{name}, {part}: gap {each[READINESS]['gap']:.3f}, held to {MOST_GAP_MOVED}"


def _missed_calibration(name: str, ours: dict[str, dict[str, float]]) -> Iterator[str]:
    if ours["gap"]["mean"] > MOST_GAP:
        yield f"{name}: gap {ours['gap']['mean']:.4f}, held to {MOST_GAP}"
    if not LEAST_SLOPE <= ours["slope"]["mean"] <= MOST_SLOPE:
        yield f"{name}: slope {ours['slope']['mean']:.3f}, held to {LEAST_SLOPE} to {MOST_SLOPE}"


def _lines(cases: Sequence[dict[str, Any]]) -> Iterator[str]:
    for case in cases:
        yield f"\n{case['name']}: {case['answers']} answers forecast a seed (simulated)"
        yield f"{'':14} {'log loss':>9} {'share of gain':>21} {'gap':>7} {'slope':>6} {'auc':>6}"
        yield from (_line(name, each) for name, each in case["forecasts"].items())
        for part, forecasts in case["parts"].items():
            yield from (_part_line(part, name, each) for name, each in forecasts.items())


def _line(name: str, told: dict[str, dict[str, float | None]]) -> str:
    share = told["share"]
    means = {figure: told[figure]["mean"] for figure in FIGURES}
    mean = {figure: math.nan if each is None else each for figure, each in means.items()}
    spread = f"{share['mean']:.3f} ({share['least']:.3f} to {share['most']:.3f})"
    return (
        f"{name:14} {mean['log_loss']:9.4f} {spread:>21} {mean['gap']:7.4f} {mean['slope']:6.2f} "
        f"{mean['auc']:6.3f}"
    )


def _part_line(part: str, name: str, told: dict[str, float]) -> str:
    return (
        f"  {part}, {name}: n {told['answers']}, right {told['right']:.3f}, thought "
        f"{told['thought']:.3f}, gap {told['gap']:.4f}, log loss {told['beside_item_mean']:.3f} of "
        "the item mean's"
    )


if __name__ == "__main__":
    sys.exit(main())
