"""What injured patients are drawn from: criteria, happenings, details, usual signs and levels.

No row names a category: that is worked out from the findings by the published table.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file
from drills.engine.triage.charts import OTHERWISE, Branch
from drills.engine.triage.field import CRITERIA as CHART

FOLDER = Path(__file__).parent
NONE, ANY, AGE = "none", "any", "age_y"
MET, DECOY, USUAL = "met", "decoy", "usual"
# Beyond every limit of the published table, whichever figure is looked at.
_BEYOND = 231
_PLAIN = {"yes": True, "no": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion(Sourced):
    """A published criterion, by its condition in `triage/field.csv`, as a page offers it:
    by its label, in a part of the list.

    `sets` is the finding that a happening or a detail brings about; else `edge` names the figure,
    or the age, that it has a limit of. Away from the limit that is `far_from` to `far_to` beyond
    it. It is drawn of ages in whole years, both included.
    """

    key: str
    when: str
    label: str
    part: str
    sets: str
    edge: str
    far_from: int
    far_to: int
    from_y: int
    to_y: int

    @property
    def branch(self) -> Branch:
        """The published row."""
        return _BRANCHES[self.when]

    @property
    def brings(self) -> tuple[str, ...]:
        return _parts(self.sets)

    @property
    def has_limit(self) -> bool:
        return self.edge != NONE


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening(Sourced):
    """How somebody was hurt: the words, and the findings that it brings about, or none.

    A decoy looks grave and meets no criterion. Ages are in whole years, both included.
    """

    kind: str
    sets: str
    is_decoy: bool
    from_y: int
    to_y: int
    words: str

    @property
    def brings(self) -> tuple[str, ...]:
        return _parts(self.sets)


@dataclass(frozen=True, slots=True, kw_only=True)
class Detail(Sourced):
    """What is found or told of somebody, with the kinds of happening that it goes with.

    One at most is told about the same part. Its use is met, decoy or usual; `sex` is any or female.
    """

    about: str
    sets: str
    use: str
    goes_with: str
    from_y: int
    to_y: int
    sex: str
    words: str

    @property
    def brings(self) -> tuple[str, ...]:
        return _parts(self.sets)

    def fits(self, kind: str) -> bool:
        """Whether it goes with a kind of happening."""
        return self.goes_with == ANY or kind in self.goes_with.split(";")

    def is_of(self, kind: str, age_y: int, *, is_female: bool) -> bool:
        """Whether it may be told of somebody after a kind of happening."""
        is_of_sex = is_female or self.sex == ANY
        return is_of_sex and self.fits(kind) and self.from_y <= age_y <= self.to_y


@dataclass(frozen=True, slots=True, kw_only=True)
class UsualSigns(Sourced):
    """Signs of somebody hurt and not badly so, at ages in whole years, both included."""

    from_y: int
    to_y: int
    rate_low: int
    rate_high: int
    pulse_low: int
    pulse_high: int
    systolic_low: int
    systolic_high: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Level(Sourced):
    """The knobs of a difficulty from 1 to 5.

    `near`: the share of patients who are drawn at a limit, on either side of it. `decoys`: how many
    things are told that look grave and meet nothing. `also`: the share of those of high risk who
    meet a criterion of moderate risk as well. `red`, `yellow` and `neither` are the shares of the
    categories.
    """

    level: int
    near: Fraction
    decoys: int
    also: Fraction
    red: Fraction
    yellow: Fraction
    neither: Fraction


def _parts(sets: str) -> tuple[str, ...]:
    return () if sets == NONE else tuple(sets.split(";"))


_BRANCHES: Mapping[str, Branch] = {
    each.when: each for each in CHART.branches if each.when != OTHERWISE
}
CRITERIA = read_file(FOLDER / "criteria.csv", Criterion)
BY_KEY: Mapping[str, Criterion] = {each.key: each for each in CRITERIA}
KEY_OF: Mapping[str, str] = {each.when: each.key for each in CRITERIA}
HAPPENINGS = read_file(FOLDER / "happenings.csv", Happening)
DETAILS = read_file(FOLDER / "details.csv", Detail)
USUAL_SIGNS = read_file(FOLDER / "usual.csv", UsualSigns)
LEVELS: Mapping[int, Level] = {row.level: row for row in read_file(FOLDER / "levels.csv", Level)}


def findings_of(parts: Iterable[str]) -> dict[str, Any]:
    """What is brought about as findings by name: `crash ejection` is one of a list, `distress yes`
    a yes or no."""
    found: dict[str, Any] = {}
    lists: defaultdict[str, list[str]] = defaultdict(list)
    for name, _, value in (part.partition(" ") for part in parts):
        if value in _PLAIN:
            found[name] = _PLAIN[value]
        else:
            lists[name].append(value)
    return found | lists


@lru_cache(maxsize=4096)
def limit_of(key: str, age_y: int, systolic: int = 0) -> tuple[int, int]:
    """The value that just meets a criterion with a limit, and the one beside it that does not.

    Both are found by trying the published table, in its units; `systolic` counts for the pulse.
    """
    criterion = BY_KEY[key]
    told = {AGE: float(age_y), "systolic": float(systolic), **findings_of(criterion.brings)}

    def is_met(value: int) -> bool:
        return CHART.is_met(criterion.branch, told | {criterion.edge: float(value)})

    for value in range(_BEYOND):
        if is_met(value) != is_met(value + 1):
            return (value, value + 1) if is_met(value) else (value + 1, value)
    raise ValueError(f"{key}: it has no limit of {criterion.edge} at {age_y} years.")
