"""What the newest fit holds, and how good what was said proved to be."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from django.db import models

from drills.competency.fitted import FIT_NAME, standing_fit
from drills.competency.models import CALLS, Evidence, Fit, Modality
from drills.engine.memory import wilson
from drills.engine.scoring import PARTLY, RIGHT


@dataclass(frozen=True, slots=True)
class Beforehand:
    """First answers through one door whose chance a fit had thought before they came: how many,
    the mean of what was said, and the share that was right with its interval."""

    door: str
    count: int
    said: float
    came: float
    low: float
    high: float


_COUNTED = ("count", "said", "right")


def said_beforehand() -> list[Beforehand]:
    """What fits said before answers came beside what came, by door, in one query. What was partly
    right is left out: it is neither."""
    thought = Evidence.objects.standing().filter(
        is_first=True, prediction__isnull=False, predicted_by__startswith=FIT_NAME
    )
    told = thought.exclude(outcome=PARTLY).order_by().values("modality")
    read = told.annotate(
        count=models.Count("pk"),
        said=models.Avg("prediction"),
        right=models.Count("pk", filter=models.Q(outcome=RIGHT)),
    )
    by_door = {door: figures for door, *figures in read.values_list("modality", *_COUNTED)}
    found = []
    for door in Modality:
        count, said, right = by_door.get(door.value, (0, 0.0, 0))
        if count:
            found.append(Beforehand(door.label, count, said, right / count, *wilson(right, count)))
    return found


@dataclass(frozen=True, slots=True)
class FitTold:
    """The newest fit as a page tells it; `quality` has no figures of single answers where
    too little was held back. Of a fit that is not used nothing is told that it holds."""

    made_at: datetime
    answers: int
    people: int
    is_used: bool
    has_simulated: bool
    imported: int
    coefficients: Mapping[str, float] = field(default_factory=dict)
    variances: Mapping[str, float] = field(default_factory=dict)
    quality: Mapping[str, Any] = field(default_factory=dict)


def newest_fit() -> FitTold | None:
    """What the newest fit holds and how good it was found; None before the first. One that this
    release cannot read holds nothing that it could tell."""
    made = Fit.objects.first()
    if made is None:
        return None
    first = Evidence.objects.standing().filter(is_first=True)
    told = FitTold(
        made.made_at,
        made.answers,
        made.people,
        _is_used(),
        first.filter(is_simulated=True).exists(),
        first.filter(is_imported=True).count(),
    )
    if not told.is_used:
        return told
    figures = made.figures
    variances = {**figures["variances"], "one person on one thing": figures["pairs"]}
    return replace(
        told, coefficients=figures["coefficients"], variances=variances, quality=made.quality
    )


def kept_of_calls() -> Mapping[str, Any]:
    """What the newest refit kept of whole calls; nothing before the first, and of a fit that this
    release cannot read."""
    quality = Fit.objects.values_list("quality", flat=True).first()
    return quality.get(CALLS, {}) if quality and _is_used() else {}


def _is_used() -> bool:
    """Whether this release can read the newest fit, and so thinks by it."""
    try:
        return standing_fit() is not None
    except (KeyError, TypeError, ValueError):
        return False
