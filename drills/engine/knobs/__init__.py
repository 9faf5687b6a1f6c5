"""Difficulty, 1 to 5, by named knobs: what each is set to at each, and what it moves.

Patients to be sorted have knobs of their own, in `incidents/levels.csv`; `knobs.page` tells both.
What a recipe says itself is no knob: the depth asked for, whether the rule is shown (from memory is
another skill, not the same one harder), what it looks to, such as what moved (there is as much of
that as the change has), its kinds.
"""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from random import Random

from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file

EASIEST, HARDEST = 1, 5
DEEP, BESIDE, FEWEST, MOST, LURES, GRADE = "deep", "beside", "fewest", "most", "lures", "grade"


@dataclass(frozen=True, slots=True, kw_only=True)
class Knob(Sourced):
    """A knob: the kinds of prompt it is for, what it moves in words, and its value at each level.

    `unit` says what a value is: times as often, a share from 0 to 1, calls, or a grade.
    """

    knob: str
    kinds: str
    moves: str
    unit: str
    at_1: Fraction
    at_2: Fraction
    at_3: Fraction
    at_4: Fraction
    at_5: Fraction

    @property
    def values(self) -> tuple[Fraction, ...]:
        return (self.at_1, self.at_2, self.at_3, self.at_4, self.at_5)

    def is_for(self, kind: str) -> bool:
        """Whether it moves anything of a kind of prompt."""
        return kind in self.kinds.split(";")


ALL_KNOBS = read_file(Path(__file__).parent / "knobs.csv", Knob)
_BY_NAME = {row.knob: row for row in ALL_KNOBS}
_VALUES = {row.knob: tuple(map(float, row.values)) for row in ALL_KNOBS}


def lawful(difficulty: int) -> int:
    """A difficulty from 1 to 5; what is kept below or above counts as the nearest."""
    return min(max(difficulty, EASIEST), HARDEST)


def setting(knob: str, difficulty: int) -> float:
    """What a knob is set to at a difficulty; `KeyError` for one that is none."""
    return _VALUES[knob][lawful(difficulty) - 1]


def patients_share(difficulty: int) -> tuple[float, float]:
    """From where to where a call has patients, on the way from the least to the most it may."""
    return setting(FEWEST, difficulty), setting(MOST, difficulty)


def number_within(low: int, high: int, share: tuple[float, float], random: Random) -> int:
    """A whole number from low to high, both included, drawn evenly from a share of the way."""
    at = share[0] + random.random() * (share[1] - share[0])
    return low + min(int(at * (high - low + 1)), high - low)
