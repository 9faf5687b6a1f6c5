"""The fit that stands, as the engine's model, and what it thinks of one person now."""

import math
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from typing import Any

import numpy as np

from drills.competency.gathering import (
    Moment,
    Numbering,
    Seen,
    Since,
    asked_at,
    columns_of,
    day_of,
)
from drills.competency.models import Fit, PersonOffset
from drills.engine.facts import Fact
from drills.engine.knowing.carrying import COEFFICIENTS
from drills.engine.knowing.columns import Answers, late_or_none
from drills.engine.knowing.history import unusual_time
from drills.engine.knowing.model import (
    FACT,
    FORGETTING,
    OWN,
    PERSON,
    SHARED,
    Model,
    Offsets,
)
from drills.engine.knowing.thinking import fluent_facts
from drills.engine.knowing.times import Times
from drills.engine.readying import Known, known_of
from drills.people.prepared import Prepared

FIT_NAME = "fit "
# What fits of before this release lack, which cannot be thought by.
NEWEST_KEYS = {"began", "doubt", "levels"}
NOBODYS = Offsets(0.0, np.zeros(0), np.zeros(0))
_NEWEST = Prepared(lambda: Fit.objects.order_by("-pk").values_list("pk", "made_at")[:1])
_OWN = Prepared(lambda person, fit: PersonOffset.objects.filter(person=person, fit=fit).order_by())


@dataclass(frozen=True, slots=True)
class Fitted:
    """A fit, read: the model without anybody's own offsets, its times, and its names.

    `alike` has by item those that serve the same need, `places` says of each fact it knows since
    when it is its thing's place, and `came` when somebody came whom it does not know.
    """

    number: int
    model: Model
    times: Times
    names: Mapping[str, tuple[str, ...]]
    things: Mapping[str, tuple[str, str]]
    alike: Mapping[str, frozenset[str]]
    places: Mapping[str, float]
    came: float

    @property
    def name(self) -> str:
        """What predictions say they were thought by."""
        return f"{FIT_NAME}{self.number}"

    def numbering(self) -> Numbering:
        """A numbering that knows this fit's levels, to be grown by what is new."""
        levels: dict[str, dict[Any, int]] = {
            name: {key: at for at, key in enumerate(keys)} for name, keys in self.names.items()
        }
        return Numbering(levels, dict(self.things))


def figures_of(
    model: Model, times: Times, numbering: Numbering, answers: Answers
) -> dict[str, Any]:
    """What people share of a model, as plain data by name."""
    since = zip(answers.fact.tolist(), answers.moved.tolist(), strict=True)
    moved = {fact: day for fact, day in since if not math.isnan(day)}
    shared = {}
    for name in SHARED:
        offsets = model.offsets[name]
        levels = np.arange(len(offsets.means))
        told = np.stack([offsets.means, offsets.spreads, offsets.common_of(levels)], axis=1)
        named = zip(numbering.names(name), told.tolist(), strict=False)
        shared[name] = {str(key): figures for key, figures in named}
    return {
        "coefficients": dict(zip(COEFFICIENTS, map(float, model.coefficients), strict=True)),
        "variances": {name: each.variance for name, each in model.offsets.items()},
        "pairs": model.pair_variance,
        "past": model.past_variance,
        "doubt": model.covariance.tolist(),
        "offsets": shared,
        # A database may keep names in an order of its own; what goes by number needs this one.
        "levels": {name: list(named) for name, named in shared.items()},
        "things": numbering.things,
        "moved": {
            str(name): moved[fact]
            for fact, name in enumerate(numbering.names(FACT))
            if fact in moved
        },
        "began": float(answers.time[0]),
        "times": {
            "usual": times.usual.tolist(),
            "facts": times.facts.tolist(),
            "spread": times.spread,
        },
    }


def standing_fit() -> Fitted | None:
    """The newest fit; None before the first, and where a release of other columns made it."""
    newest = _NEWEST()
    return _read(*newest[0]) if newest else None


@lru_cache(maxsize=4)
def _read(number: int, made_at: datetime) -> Fitted | None:
    """A fit never changes; with the moment it was made, its number stands for no other."""
    fit = Fit.objects.get(pk=number, made_at=made_at)
    figures = fit.figures
    if set(figures["coefficients"]) != set(COEFFICIENTS) or not figures.keys() >= NEWEST_KEYS:
        return None
    offsets = dict.fromkeys(OWN, NOBODYS)
    offsets |= {name: _offsets_of(figures, name) for name in SHARED}
    offsets = {
        name: replace(each, variance=figures["variances"][name]) for name, each in offsets.items()
    }
    coefficients = np.array([figures["coefficients"][name] for name in COEFFICIENTS])
    told = figures["times"]
    return Fitted(
        number,
        Model(
            coefficients,
            offsets,
            figures["pairs"],
            fit.answers,
            figures["past"],
            np.array(figures["doubt"]),
        ),
        Times(np.array(told["usual"]), np.zeros(0), np.array(told["facts"]), told["spread"]),
        {name: tuple(figures["levels"][name]) for name in SHARED},
        {thing: (need, category) for thing, (need, category) in figures["things"].items()},
        _alike(figures["things"]),
        {**dict.fromkeys(figures["offsets"][FACT], math.nan), **figures["moved"]},
        late_or_none(day_of(made_at), figures["began"]),
    )


def _offsets_of(figures: Mapping[str, Any], name: str) -> Offsets:
    """Those that people share, in the order of their numbers."""
    named = figures["offsets"][name]
    levels = np.array([named[key] for key in figures["levels"][name]]).reshape(-1, 3)
    return Offsets(0.0, *levels.T)


def _alike(things: Mapping[str, Sequence[str]]) -> dict[str, frozenset[str]]:
    """By item those that serve the same need, itself among them; of each that serves one."""
    serving: dict[str, set[str]] = defaultdict(set)
    for thing, (need, _) in things.items():
        serving[need].add(thing)
    return {thing: frozenset(serving[need]) for thing, (need, _) in things.items() if need}


def forget_fits() -> None:
    """Drop what is kept in memory; for tests, whose databases come and go."""
    _read.cache_clear()


@dataclass(frozen=True, slots=True)
class Thinker:
    """A fit that is asked about one person: `rows` are all that was seen of them which touches what
    is asked, the oldest first."""

    fitted: Fitted
    own: PersonOffset | None
    rows: Sequence[Seen]

    @classmethod
    def of(cls, fitted: Fitted, person: int, rows: Sequence[Seen]) -> "Thinker":
        """With what the fit holds of the person alone, read."""
        return cls(fitted, next(iter(_OWN(person=person, fit=fitted.number)), None), rows)

    @property
    def pace(self) -> Times:
        """How long things take this person, whose number is 0."""
        times = self.fitted.times
        speed = np.array([self.own.speed if self.own else 0.0])
        return Times(times.usual, speed, times.facts, times.spread)

    def _columns(self, rows: Sequence[Seen]) -> Answers:
        """The rows of the person, whose number is 0; whom the fit does not know came since."""
        came = day_of(self.own.came_at) if self.own else self.fitted.came
        since = Since({row.person: came for row in rows}, self.fitted.places)
        return columns_of(rows, self.fitted.numbering(), since)

    def thinks(self, facts: Collection[Fact], at: Moment) -> Known:
        """What it thinks of some facts at a moment; not before the newest of what was seen, where
        a clock was put back."""
        newest = max((row.at for row in self.rows), default=at.now)
        asked = asked_at(facts, replace(at, now=max(at.now, newest)))
        answers = self._columns([*self.rows, *asked])
        here = np.arange(len(self.rows), len(answers))
        model = _of_one(self.fitted.model, self.own)
        return known_of(model, self.pace, answers, here, facts)

    def fluent(self) -> frozenset[Fact]:
        """The facts that are known without a search."""
        if not self.rows:
            return frozenset()
        answers = self._columns(self.rows)
        facts = {int(number): row.fact for number, row in zip(answers.fact, self.rows, strict=True)}
        found = fluent_facts(answers, unusual_time(answers, self.pace))
        return frozenset(facts[number] for number in found)


def _of_one(model: Model, own: PersonOffset | None) -> Model:
    """The model of one person, whose number is 0; of somebody new nothing but how people differ."""
    if own is None:
        return model
    figures = {
        PERSON: (own.mean, own.variance),
        FORGETTING: (own.forgetting, own.forgetting_variance),
    }
    mine = {
        name: Offsets(model.offsets[name].variance, np.array([mean]), np.array([variance]))
        for name, (mean, variance) in figures.items()
    }
    return replace(model, offsets={**model.offsets, **mine})
