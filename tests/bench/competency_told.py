"""What is told of a simulated service: its figures over the seeds, and the bounds it missed."""

import math
from collections.abc import Iterator, Sequence
from statistics import fmean
from typing import Any

from drills.engine.measures import measure
from tests.bench.competency_cases import (
    ITEM_MEAN,
    ORACLE,
    READINESS,
    Case,
    Ran,
    Thought,
    loss_against,
)
from tests.bench.jobs import spread

FIGURES = ("log_loss", "gap", "slope", "intercept", "auc")
MOST_GAP, LEAST_SLOPE, MOST_SLOPE, MOST_GAP_MOVED = 0.02, 0.90, 1.10, 0.03
# Fewer answers than these have a gap of their own, which no forecast escapes.
ENOUGH = 5_000


def case_told(case: Case, ran: Sequence[Ran]) -> dict[str, Any]:
    """Means and spreads of a case over its seeds, and which bounds it missed."""
    names = list(ran[0].figures)
    told: dict[str, Any] = {
        "name": case.name,
        "seeds": len(ran),
        "answers": round(fmean(each.figures[ORACLE].count for each in ran)),
        "least_share": case.least_share,
        "forecasts": {
            name: {
                "share": spread([each.shares[name] for each in ran]),
                **{
                    figure: spread([getattr(each.figures[name], figure) for each in ran])
                    for figure in FIGURES
                },
            }
            for name in names
        },
        "parts": {part: _part_told(part, ran) for part in ran[0].thought if part != "period"},
        "reliability": _bins(ran),
    }
    return {**told, "missed": list(_missed(told))}


def _part_told(part: str, ran: Sequence[Ran]) -> dict[str, Any]:
    """A part of the period, the seeds together; each gap by itself as well, and how it stands
    beside the mean of each thing."""
    some = [each for each in ran if part in each.thought]
    told: dict[str, Any] = {}
    for name in some[0].thought[part]:
        apart = [each.thought[part][name] for each in some]
        whole = Thought.joined(apart)
        found = measure(whole.right, whole.chance)
        told[name] = {
            "answers": found.count,
            "right": found.right,
            "thought": float(whole.chance.mean()),
            "gap": found.gap,
            "gaps": spread([measure(each.right, each.chance).gap for each in apart]),
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
        gap = each[READINESS]["gaps"]["mean"]
        if part.startswith("move ") and gap > MOST_GAP_MOVED:
            yield f"{name}, {part}: gap {gap:.3f} of a seed, held to {MOST_GAP_MOVED}"


def _missed_calibration(name: str, ours: dict[str, dict[str, float]]) -> Iterator[str]:
    if ours["gap"]["mean"] > MOST_GAP:
        yield f"{name}: gap {ours['gap']['mean']:.4f}, held to {MOST_GAP}"
    if not LEAST_SLOPE <= ours["slope"]["mean"] <= MOST_SLOPE:
        yield f"{name}: slope {ours['slope']['mean']:.3f}, held to {LEAST_SLOPE} to {MOST_SLOPE}"


def lines(case: dict[str, Any]) -> Iterator[str]:
    """The table of a case."""
    yield f"{case['name']}: {case['answers']} answers forecast a seed (simulated)"
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


def _part_line(part: str, name: str, told: dict[str, Any]) -> str:
    return (
        f"  {part}, {name}: n {told['answers']}, right {told['right']:.3f}, thought "
        f"{told['thought']:.3f}, gap {told['gap']:.4f}, of a seed {told['gaps']['mean']:.4f}, "
        f"log loss {told['beside_item_mean']:.3f} of the item mean's"
    )
