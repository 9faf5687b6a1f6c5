"""Answers in columns, the oldest first: what the model reads, whichever door they came through."""

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

SCREEN, SCAN, HANDS_ON = 0, 1, 2
MODALITIES = ("screen", "scan", "hands-on")
# Whoever first answers so many days after anybody did came lately; who answered before may have
# been there for years. Ours, no source.
THERE_FROM_THE_FIRST = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """One row for each outcome on one fact, in the order they came.

    `time` is in days from any day. `person`, `fact`, `need` (what the thing is, on any layout),
    `place` (the step's place), `spot` (what counts as the same place on another layout), `slot`
    (that thing on that layout, wherever it lay), `category` and `kind` are numbers from 0.
    `right` is 1, 0 or what lies between; `seconds` is not a number where no time is known, and the
    time given where it ran out (`ran_out`); `guess` is the chance of being right by chance alone;
    `moved` is the day the thing came to this place, not a number where it always lay there.
    `came` is the day the person first answered, not a number of whom it is not known that they came
    lately.
    `skill` says whether it is of no place but of how something is worked out or done.
    `counts` says whether the row is a part of the past (a question not answered yet is none),
    `scored` whether the model is fitted to it (a retry after the answer was shown is none).
    """

    time: Floats
    person: Ints
    fact: Ints
    need: Ints
    place: Ints
    spot: Ints
    slot: Ints
    category: Ints
    kind: Ints
    modality: Ints
    right: Floats
    seconds: Floats
    ran_out: Bools
    guess: Floats
    moved: Floats
    came: Floats
    skill: Bools
    counts: Bools
    scored: Bools

    def __len__(self) -> int:
        return len(self.time)

    def take(self, rows: Ints | slice) -> "Answers":
        """Some of the rows, in the order given."""
        return Answers(**{each.name: getattr(self, each.name)[rows] for each in fields(self)})

    def then(self, other: "Answers") -> "Answers":
        """These rows, then others."""
        both = {
            each.name: np.concatenate([getattr(self, each.name), getattr(other, each.name)])
            for each in fields(self)
        }
        return Answers(**both)


def numbered(words: Sequence[Hashable]) -> Ints:
    """A number for each word, the same for the same word, in the order they first come."""
    known: dict[Hashable, int] = {}
    return np.array([known.setdefault(each, len(known)) for each in words], dtype=np.int64)


def came_to_place(time: Floats, fact: Ints, slot: Ints, edition: Ints) -> Floats:
    """For each row the day its thing came to its place; not a number where it lay there first.

    A slot's new place is one that is met in a later edition of the layout than all its others were.
    The first row of a place tells, so that none is told of a later one; where one of the others is
    met again in a later edition still, it lies in both and has moved to neither from then on. Times
    must not fall.
    """
    newest: dict[int, dict[int, int]] = {}
    came: dict[int, float] = {}
    first: dict[int, int] = {}
    found = np.full(len(time), np.nan)
    rows = zip(time.tolist(), fact.tolist(), slot.tolist(), edition.tolist(), strict=True)
    for at, (day, here, thing, in_edition) in enumerate(rows):
        places = newest.setdefault(thing, {})
        if here not in places:
            is_new = bool(places) and max(places.values()) < in_edition
            came[here], first[here] = (day if is_new else np.nan), in_edition
        elif in_edition > max(first[other] for other in places):
            came.update({other: np.nan for other in places if first[other] > first[here]})
        places[here] = max(places.get(here, in_edition), in_edition)
        found[at] = came[here]
    return found


def late_or_none(came: float, first: float) -> float:
    """A day that is late, where somebody answered at all on a first; not a number of one that is
    not."""
    return came if came > first + THERE_FROM_THE_FIRST else math.nan


def came_lately(time: Floats, person: Ints) -> Floats:
    """For each row the day its person first answered; not a number where they answered within the
    first days of all. Times must not fall."""
    if not len(time):
        return np.zeros(0)
    people, first = np.unique(person, return_index=True)
    began = time[first]
    lately = np.array([late_or_none(each, time[0]) for each in began.tolist()])
    return np.asarray(lately[np.searchsorted(people, person)])
