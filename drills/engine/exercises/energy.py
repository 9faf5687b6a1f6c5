"""The energy of a shock for a child: by the approved rules, and by the table where none speaks.

A rule speaks for the one step (first, second, later) that its indication ends with, after a comma;
where it does not, for every step, so that the table never stands beside a rule that may differ. It
speaks of cardioversion where its indication says so, else of defibrillation.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from random import Random
from typing import Any

from drills.engine import tables
from drills.engine.ages import Age
from drills.engine.calls import Patient
from drills.engine.chance import drawn_evenly, mixed
from drills.engine.dosing.energy import ENERGY
from drills.engine.exercises.exercise import Exercise, Told, Topic
from drills.engine.exercises.paper import needed, settled
from drills.engine.exercises.people import (
    age_drawn,
    age_of,
    is_for,
    told_age,
    told_weight,
    weight_for,
    weight_in,
)
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import ENERGY as BY_ENERGY
from drills.engine.medicines import Asked, MedicineRule, problem_asked
from drills.engine.quantities import plain
from drills.engine.recipes import SUPPLY
from drills.engine.tables.kinds import Energy

TOPIC = Topic(SUPPLY, "energy", ("J", "J/kg"))
GROWN_FROM_Y = 14
CAP, RANGE = "a maximum", "a range"
_YEARS, _NEARLY_GROWN = range(1, 12), range(11, GROWN_FROM_Y)
_CARDIOVERSION = "cardioversion"
_STEPS = "|".join(dict.fromkeys(row.step for row in tables.ENERGIES))
_STEP = re.compile(rf"(?:^|, )({_STEPS})(?: shocks?)?$")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shock:
    """One shock that can be asked: its words, the figures, and where they are from."""

    words: str
    figures: dict[str, Any]
    rule: str
    source: str = ""
    medicine: MedicineRule | None = None
    also: Sequence[MedicineRule] = ()


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """The joules of one shock of a sequence, for the patient where there is one.

    The weight is in kg at grade 1 and in lb above.
    """
    if stores.patient is None:
        return settled(TOPIC.name, lambda: _draft(grade, stores, random))
    whose, shocks = _of_patient(grade, stores.patient), _shocks_of(stores)
    needed(shocks, TOPIC.name, "no rule is for a shock of this patient")
    drafts = (partial(_of_shock, grade, stores, each, *whose) for each in mixed(shocks, random))
    return settled(TOPIC.name, *drafts, tries=1)


def _of_patient(grade: int, patient: Patient) -> tuple[Age, str, str]:
    return age_of(patient), weight_in(patient, pounds=grade > 1), patient.who


def _draft(grade: int, stores: Stores, random: Random) -> Exercise | None:
    wants_cap = grade == 3 and random.random() < 0.5
    shock = drawn_evenly(_shocks(stores), random)
    age = age_drawn(random, _NEARLY_GROWN if wants_cap else _YEARS)
    weight = weight_for(age, random, pounds=grade > 1)
    return _of_shock(grade, stores, shock, age, weight, f"{told_age(age)} child")


def _of_shock(
    grade: int, stores: Stores, shock: _Shock, age: Age, weight: str, who: str
) -> Exercise | None:
    """Without a limit or a range below grade 3; there with either."""
    if shock.medicine and not is_for(
        shock.medicine, age, weight, exactly=stores.settings.is_exact_pounds
    ):
        return None
    made = TOPIC.exercise(
        grade,
        stores,
        question="How many joules does the shock take?",
        facts=(
            Told("Shock", shock.words),
            Told("Patient", who),
            told_weight(weight, stores.pounds_of(weight)),
        ),
        given=shock.figures | {"kind": "energy"} | stores.weighing(weight),
        asked=ENERGY,
        fineness="Whole joules.",
        rule=shock.rule,
        source=shock.source,
        medicine=shock.medicine,
        also=shock.also,
        weight=weight,
        age=age,
    )
    solution = made.problem.solve()
    is_capped = bool(solution.limit or solution.limit_high)
    trap = CAP if is_capped else RANGE if solution.results[ENERGY].is_range else ""
    return replace(made, trap=trap) if bool(trap) == (grade == 3) else None


def _shocks(stores: Stores) -> list[_Shock]:
    """What the rules speak for by them, the rest by the table."""
    rules = [rule for rule in stores.rules_of(BY_ENERGY) if (rule.ages[0] or 0) < GROWN_FROM_Y]
    left = [row for row in tables.ENERGIES if not any(speaks_for(rule, row) for rule in rules)]
    return [*(_by_rule(rule, rules) for rule in rules), *(_by_table(row, left) for row in left)]


def _shocks_of(stores: Stores) -> list[_Shock]:
    """For a patient who is a child, where rules are for one: theirs, and of their use what they
    leave to the table."""
    if stores.patient is None or stores.patient.age_y >= GROWN_FROM_Y:
        return []
    uses = {_is_cardioversion(rule.indication) for rule in stores.rules_of(BY_ENERGY)}
    return [each for each in _shocks(stores) if _is_cardioversion(each.words) in uses]


def _is_cardioversion(said: str) -> bool:
    return _CARDIOVERSION in said.lower()


def speaks_for(rule: MedicineRule, row: Energy) -> bool:
    """Whether a rule says what this step of the table says."""
    is_of_use = _is_cardioversion(rule.indication) == (row.use == _CARDIOVERSION)
    step = _STEP.search(rule.indication.lower())
    return is_of_use and (step is None or step[1] == row.step)


def _by_rule(rule: MedicineRule, rules: Sequence[MedicineRule]) -> _Shock:
    """By one of the rules, of which all are told, so that the right one must be chosen."""
    return _Shock(
        words=rule.indication,
        figures=problem_asked(rule, Asked()),
        rule="; ".join(f"{each.indication}: {each.printed}" for each in rules),
        medicine=rule,
        also=rules,
    )


def _by_table(row: Energy, left: Sequence[Energy]) -> _Shock:
    figures = {
        "per_weight": f"{plain(row.low)} J/kg",
        **({"high": f"{plain(row.high)} J/kg"} if row.high != row.low else {}),
        **({"max": f"{plain(row.most_j)} J"} if row.most_j else {}),
    }
    lines = [_line(each) for each in left if each.use == row.use]
    return _Shock(
        words=_words(row),
        figures=figures,
        rule="; ".join(lines),
        source=f"{row.source} ({row.status})",
    )


def _words(row: Energy) -> str:
    return f"{row.step} shock" if row.use == "defibrillation" else f"{row.step} {row.use}"


def _line(row: Energy) -> str:
    high = f" to {plain(row.high)}" if row.high != row.low else ""
    most = f", at most {plain(row.most_j)} J" if row.most_j else ""
    return f"{_words(row)} {plain(row.low)}{high} J/kg{most}"
