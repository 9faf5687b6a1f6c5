"""How well patients were put into categories: over-triage, under-triage and critical errors.

The two ways of counting that are published do not have the same patients beneath the line, so both
are here, each under a name of its own. What each is, and whose, is in `measures.csv`.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file
from drills.engine.triage import category
from drills.engine.triage.charts import FOLDER

RIGHT, OVER, UNDER = "right", "over-triage", "under-triage"
_MOST_URGENT, _LEAST_TREATED = 1, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure(Sourced):
    """What a measure counts, by the name of its field in `Measured`."""

    key: str
    words: str


MEASURES = read_file(FOLDER / "measures.csv", Measure)


@dataclass(frozen=True, slots=True)
class Share:
    """So many patients of so many."""

    count: int
    of: int

    @property
    def fraction(self) -> Fraction | None:
        """From 0 to 1; None of nobody."""
        return Fraction(self.count, self.of) if self.of else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """The measures of some patients, each with whom it is counted of."""

    right: Share
    over: Share
    under: Share
    critical: Share
    serious_missed: Share
    others_called_serious: Share


def judged(family: str, *, right: str, given: str) -> str:
    """Whether a category is right, over-triage or under-triage, by the order of urgency.

    Both categories are keys of that family of schemes; `KeyError` for one that is none.
    """
    at_right, at_given = _urgency(family, right), _urgency(family, given)
    if at_given == at_right:
        return RIGHT
    return OVER if at_given < at_right else UNDER


def is_critical(family: str, *, right: str, given: str) -> bool:
    """Whether it is an error that may cost a life (ours: no published definition was readable).

    Somebody to be treated is called dead, deceased or expectant; or somebody immediate is called
    minor or minimal. Both are keys of the family; `KeyError` for one that is none.
    """
    is_called_dead = category(family, given).called_dead
    if is_called_dead:
        return not category(family, right).called_dead
    is_most_urgent = _urgency(family, right) == _MOST_URGENT
    return is_most_urgent and _urgency(family, given) == _LEAST_TREATED


def measured(family: str, answers: Iterable[tuple[str, str]]) -> Measured:
    """The measures of patients, each told as the category that is right and the one given."""
    pairs = list(answers)
    verdicts = [judged(family, right=right, given=given) for right, given in pairs]
    is_serious = [_urgency(family, right) == _MOST_URGENT for right, _ in pairs]
    called_so = [_urgency(family, given) == _MOST_URGENT for _, given in pairs]
    critical = [is_critical(family, right=right, given=given) for right, given in pairs]
    both = list(zip(is_serious, called_so, strict=True))
    everybody, serious = len(pairs), sum(is_serious)
    return Measured(
        right=Share(verdicts.count(RIGHT), everybody),
        over=Share(verdicts.count(OVER), everybody),
        under=Share(verdicts.count(UNDER), everybody),
        critical=Share(sum(critical), everybody),
        serious_missed=Share(both.count((True, False)), serious),
        others_called_serious=Share(both.count((False, True)), everybody - serious),
    )


def _urgency(family: str, key: str) -> int:
    return category(family, key).urgency
