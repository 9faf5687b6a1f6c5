"""An exercise: one figure to be worked out, from what is told alone."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from drills.engine.ages import Age
from drills.engine.dosing import Problem, Solution
from drills.engine.dosing.fields import LB_BY_TABLE
from drills.engine.dosing.reading import read_problem, read_solved
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import MedicineRule, limits_of

SHOWN, FROM_MEMORY = "rule shown", "from memory"
# The syringes aboard in words, for where they are not drawn.
SYRINGES_TOLD = "Syringes aboard"
# What no rule orders, or a rule leaves open.
MADE_UP, MADE_UP_INSIDE = "made up for practice", "made up for practice, inside the rule"
UNROUNDED = "Do not round it."
DOSE_UNITS = ("mL", "mg", "mcg", "g", "mEq", "units", "tablets", "containers")
# The kinds of problem that a device is set or drawn up by; and the topics that are of a patient
# where no weight is told either.
ROUNDED = ("dose", "containers", "drip", "burn", "burned", "energy")
DRAWN = tuple(each for each in ROUNDED if each != "energy")
FOR_SOMEBODY = ("dose", "drip")


@dataclass(frozen=True, slots=True)
class Told:
    """One thing that is told: what it is, its words, and what is said beside it."""

    label: str
    words: str
    note: str = ""


NEVER_ROUNDED_UP = Told("A child's dose", "never rounded up")


@dataclass(frozen=True, slots=True, kw_only=True)
class Exercise:
    """One figure to be worked out.

    `kind` is the kind of prompt, `topic` what it is about (dose, oxygen and so on), `grade` 1 for
    one step, 2 for several, 3 for several with a `trap`, which is named. `facts` are all that is
    told; every figure of a table and every formula stands in `rule` instead, so that without it
    the exercise is from memory. `given` is the problem as JSON text and `asked` the figure wanted
    of it; `units` are offered for the answer, the same for every exercise of a topic, and
    `fineness` says how finely it is answered where no device that is told has marks.
    `medicine` is set where a rule of the formulary is asked, and `weight` is as it was told there.
    """

    kind: str
    topic: str
    grade: int
    question: str
    facts: tuple[Told, ...]
    given: str
    asked: str
    units: tuple[str, ...]
    rule: str
    source: str
    subject: str
    fineness: str = ""
    notice: str = ""
    trap: str = ""
    is_rule_shown: bool = True
    medicine: MedicineRule | None = None
    weight: str = ""

    @property
    def problem(self) -> Problem:
        """What is to be worked out."""
        return _solved(self.given)[0]

    @property
    def solution(self) -> Solution:
        """What it comes to, with the working."""
        return _solved(self.given)[1]

    @property
    def has_exact_pounds(self) -> bool:
        """Whether a weight in pounds is taken exactly, as a service may choose."""
        return "pounds" in json.loads(self.given)

    @property
    def by_table(self) -> Problem:
        """The same problem with pounds by 2.2, which is worked out on paper."""
        return read_problem(json.loads(self.given) | {"pounds": LB_BY_TABLE})

    @property
    def figures(self) -> tuple[str, str, str]:
        """What makes it this exercise and no other; none is asked twice in a drill."""
        return self.topic, self.given, self.asked


# A draft is read when it is tried, and again when it is judged, told and kept.
@lru_cache(maxsize=256)
def _solved(given: str) -> tuple[Problem, Solution]:
    return read_solved(json.loads(given))


@dataclass(frozen=True, slots=True)
class Topic:
    """What exercises are about: the kind of prompt, its name, the units offered for the answer."""

    kind: str
    name: str
    units: tuple[str, ...]

    def exercise(
        self,
        grade: int,
        stores: Stores,
        *,
        question: str,
        facts: Iterable[Told],
        given: Mapping[str, Any],
        asked: str,
        rule: str,
        source: str = "",
        fineness: str = "",
        trap: str = "",
        about: str = "",
        medicine: MedicineRule | None = None,
        also: Iterable[MedicineRule] = (),
        weight: str = "",
        age: Age | None = None,
        is_dose: bool = False,
    ) -> Exercise:
        """One of the topic; its source is that of the rule of the formulary and of those that are
        told `also`, then what is named.

        The limits of `medicine` stand in what is given, those of a dose where `is_dose`. `about` is
        what it is counted as where that is not the topic alone. Where the service never rounds up
        for a child, of somebody of that `age` or whom the rule is for, it is given, and told.
        """
        sources = dict.fromkeys(map(source_of, (*([medicine] if medicine else []), *also)))
        given = (limits_of(medicine, is_dose=is_dose) if medicine else {}) | dict(given)
        way = way_of(is_rule_shown=stores.is_rule_shown)
        rounding = stores.rounding_of(medicine, age) if self._is_for_somebody(given, age) else ""
        return Exercise(
            kind=self.kind,
            topic=self.name,
            grade=grade,
            question=question,
            facts=(*facts, *([NEVER_ROUNDED_UP] if rounding else [])),
            given=_as_worked(given, stores, rounding),
            asked=asked,
            units=self.units,
            rule=rule.rstrip("."),
            source="; ".join(filter(None, (*sources, source))),
            subject=f"{about or self.name}, {way}",
            fineness=fineness,
            notice=medicine.notice if medicine else "",
            trap=trap,
            is_rule_shown=stores.is_rule_shown,
            medicine=medicine,
            weight=weight,
        )

    def _is_for_somebody(self, given: Mapping[str, Any], age: Age | None) -> bool:
        """Whether it is set or drawn up for a patient, and not an order that names none."""
        names_somebody = "weight" in given or age is not None or self.name in FOR_SOMEBODY
        return given["kind"] in ROUNDED and names_somebody


def _as_worked(given: Mapping[str, Any], stores: Stores, rounding: str) -> str:
    """What is given, with how the service works it out, as JSON text."""
    measuring = stores.measuring if given["kind"] in DRAWN else {}
    return json.dumps({**given, **measuring, **({"rounding": rounding} if rounding else {})})


def source_of(rule: MedicineRule) -> str:
    """Where a rule is from, as it is named beside it."""
    return f"{rule.source}, {rule.version} ({rule.status})"


def way_of(*, is_rule_shown: bool) -> str:
    """How it is asked, in words; from memory is another skill."""
    return SHOWN if is_rule_shown else FROM_MEMORY
