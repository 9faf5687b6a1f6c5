"""What the evaluation hands to its workers, and what it does with what comes back."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import Any


@dataclass(frozen=True, slots=True)
class Job:
    """One thing to work out in a process of its own: its name for the progress, and how."""

    name: str
    work: Callable[[], Any]


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the evaluation: its name; the heading in the JSON that it stands under, and its key
    there; the jobs of some seeds; what is told of what came of them, in the order of the jobs; and
    that in words. What is told has `missed`, the bounds it missed in words."""

    name: str
    heading: str
    key: str
    jobs: Callable[[Sequence[int]], Sequence[Job]]
    told: Callable[[Sequence[Any]], dict[str, Any]]
    lines: Callable[[dict[str, Any]], Iterator[str]]


def spread(values: Sequence[float]) -> dict[str, float | None]:
    """The mean of several seeds, their standard deviation, the least and the most; nothing where
    one has none, such as the slope of one chance for all."""
    if any(math.isnan(each) for each in values):
        return dict.fromkeys(("mean", "sd", "least", "most"))
    return {
        "mean": fmean(values),
        "sd": stdev(values) if len(values) > 1 else 0.0,
        "least": min(values),
        "most": max(values),
    }
