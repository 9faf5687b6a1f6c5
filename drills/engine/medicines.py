"""A medicine's rule as drills ask about it: who it is for, its dose, and how it is packed."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from drills.engine.ages import MONTHS, Age
from drills.engine.concentrations import Presentation
from drills.engine.dosing import DoseRule
from drills.engine.dosing.burn import FIRST_HALF_RATE, TOTAL
from drills.engine.dosing.dose import DOSE as THE_DOSE
from drills.engine.dosing.dose import VOLUME
from drills.engine.dosing.drip import GTT_PER_MIN, ML_PER_H
from drills.engine.dosing.energy import ENERGY as THE_ENERGY
from drills.engine.dosing.fields import READY
from drills.engine.mixtures import Container, Mixture
from drills.engine.quantities import Quantity, family_of
from drills.engine.tables import INJECTION_SITES, at_age

SAFETY_WORDS = (
    "Training only. Follow your local protocols and medical direction; "
    "check every dose with your partner."
)

# What a rule is about: an amount drawn up, a rate, a fluid by volume, a burn, a shock.
DOSE, DRIP, FLUID, BURN, ENERGY = "dose", "drip", "fluid", "burn", "energy"

# How the one route is written that is into a muscle and nowhere else.
MUSCLE = ("im", "intramuscular")
GROWN_MONTHS = 18 * MONTHS

Number = Fraction | float
Bounds = tuple[Fraction | None, Fraction | None]


@dataclass(frozen=True, slots=True)
class ProblemOf:
    """A problem that a rule is for, and the severities it is for; none named is any."""

    problem: str
    severities: tuple[int, ...] = ()

    def is_of(self, problem: str, severity: int) -> bool:
        """Whether a patient with that problem, of that severity, is meant."""
        return problem == self.problem and (not self.severities or severity in self.severities)


@dataclass(frozen=True, slots=True, kw_only=True)
class MedicineRule:
    """One rule that can be drilled, with everything a page must say beside it.

    `ages` in years and `weights` in kg are from the first figure to below the second; None is no
    bound. `printed` is the dose as a person reads it, `level` the key of the certification level
    and `need` the key of what the dose is drawn from, empty where that is not said.

    `topic` says what it is about, and `rule` has its figures in the units of that: `5 mcg/kg/min`
    of a drip, `20 mL/kg` of a fluid, `2 mL/kg/%` of a burn, `4 J/kg` of a shock. `presentation` is
    what is measured, which is the mixture where it is mixed first; None of a plain fluid and of a
    shock. `mixture` is also there where a dose that was drawn up is then run in. `comes_as` are the
    containers it may be drawn from, `error_limit` the percentage from which an answer is unsafe,
    where that is less than 20. `repeat_min` are the least minutes between two doses,
    `repeat_times` how many more there may be, `max_total` what all together may come to.
    """

    code: str
    medicine: str
    indication: str
    route: str
    level: str
    need: str
    problems: tuple[ProblemOf, ...]
    ages: Bounds
    weights: Bounds
    rule: DoseRule
    presentation: Presentation | None
    printed: str
    source: str
    version: str
    status: str
    notice: str
    topic: str = DOSE
    medicine_key: str = ""
    comes_as: tuple[Container, ...] = ()
    mixture: Mixture | None = None
    dilution: str = ""
    error_limit: int | None = None
    repeat_min: int | None = None
    repeat_times: int | None = None
    repeat_note: str = ""
    max_total: Quantity | None = None
    over_min: int | None = None
    over_note: str = ""

    @property
    def is_by_weight(self) -> bool:
        """Whether a weight is needed."""
        return self.rule.is_per_kg

    @property
    def is_drawn_up(self) -> bool:
        """Whether it is a dose of so many mL; not of tablets."""
        return (
            self.topic == DOSE
            and self.presentation is not None
            and self.presentation.volume.family == family_of("mL")
        )

    @property
    def is_of_pieces(self) -> bool:
        """Whether it is a dose of so many tablets."""
        return (
            self.topic == DOSE
            and self.presentation is not None
            and self.presentation.volume.family == family_of("tablet")
        )

    def per_site(self, age: Age | None = None) -> Quantity | None:
        """The most that goes into one site where the route is a muscle alone: at an age, else at
        the first that the rule is for, and of a grown-up where it names none."""
        if self.route.strip().casefold() not in MUSCLE:
            return None
        start = self.ages[0]
        months = int(start * MONTHS) if start is not None else GROWN_MONTHS
        row = at_age("Injection sites", age or Age(months), INJECTION_SITES)
        return Quantity(row.ml, "mL")

    def is_ready(self, held: Container | None = None) -> bool:
        """Whether a container, else the first it may be drawn from, is a syringe given as it is;
        never of what is mixed first."""
        of = held or next(iter(self.comes_as), None)
        return of is not None and of.is_ready and self.mixture is None

    @property
    def is_rate_of_fluid(self) -> bool:
        """Whether it is a drip that is told by volume, such as 125 mL/h."""
        return self.topic == DRIP and self.rule.dose.family == family_of("mL")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What beside its rule a problem is made from; amounts as texts, as they were told.

    `others` are further presentations aboard, `drip_set` is such as `60 gtt/mL`, `bag` such as
    `250 mL`; `area` (`20 %`) and `since_injury` (`1 h`) are of a burn. `pounds` is
    the word of that setting, as a problem in plain data has it.
    """

    weight: str = ""
    syringes: Sequence[int] = ()
    others: Sequence[Presentation] = ()
    drip_set: str = ""
    other_sets: Sequence[str] = ()
    bag: str = ""
    age: Age | None = None
    area: str = ""
    since_injury: str = ""
    pounds: str = ""


def fits(rule: MedicineRule, problem: str, severity: int, age_y: Number, weight_kg: Number) -> bool:
    """Whether a rule is for such a patient; one that names no problem fits nobody."""
    return (
        any(each.is_of(problem, severity) for each in rule.problems)
        and _within(rule.ages, age_y)
        and _within(rule.weights, weight_kg)
    )


def is_any_for(rules: Iterable[MedicineRule], patients: Collection[tuple[str, int]]) -> bool:
    """Whether any rule is for any of these problems at the severity beside it, at any age."""
    return any(
        each.is_of(*patient) for rule in rules for each in rule.problems for patient in patients
    )


def problem_asked(rule: MedicineRule, asked: Asked) -> dict[str, Any]:
    """The problem that a rule is, in plain data: `dosing.reading.read_problem` reads it.

    Raises `QuantityError` for a figure that is no decimal that ends.
    """
    made = _MAKERS[rule.topic](rule, asked)
    made |= limits_of(rule, is_dose=not (rule.topic == BURN or rule.is_rate_of_fluid))
    if rule.is_by_weight:
        made |= {"weight": asked.weight, "pounds": asked.pounds}
    return {name: value for name, value in made.items() if value not in ("", None)}


def limits_of(rule: MedicineRule, *, is_dose: bool = True) -> dict[str, str]:
    """The limits of a rule as every problem that is made from it has them: from which share off an
    answer is unsafe, and, of what is a dose of it, the least and the most."""
    figures = rule.rule
    whole = {"min": figures.minimum, "max": figures.maximum} if is_dose else {}
    limits = {name: amount.exactly() for name, amount in whole.items() if amount}
    if rule.error_limit is not None:
        limits["error_limit"] = f"{rule.error_limit} %"
    return limits


def results_asked(rule: MedicineRule, asked: Asked) -> tuple[str, ...]:
    """The names of the results that are worth asking for; of a rate by volume, drops alone."""
    if rule.topic == DRIP:
        drops = (GTT_PER_MIN,) if asked.drip_set else ()
        return drops if rule.is_rate_of_fluid else (ML_PER_H, *drops)
    if rule.topic == DOSE:
        return (VOLUME, THE_DOSE) if rule.is_by_weight else (VOLUME,)
    return {FLUID: (THE_DOSE,), BURN: (TOTAL, FIRST_HALF_RATE), ENERGY: (THE_ENERGY,)}[rule.topic]


def plain_data(packed: Presentation) -> dict[str, str]:
    """A presentation as a problem in plain data has it."""
    return {"amount": packed.amount.exactly(), "in": packed.volume.exactly()}


def _dose(rule: MedicineRule, asked: Asked) -> dict[str, Any]:
    figures = rule.rule
    drawn = {}
    if rule.presentation:
        drawn = {
            "concentration": plain_data(rule.presentation),
            "syringes": list(asked.syringes),
            "others": [plain_data(each) for each in asked.others] or None,
            "container": READY if rule.is_ready() else None,
            "per_site": most.exactly() if (most := rule.per_site(asked.age)) else None,
        }
    return {
        "kind": "dose",
        "per_weight" if figures.is_per_kg else "fixed": figures.dose.exactly(),
        "high": figures.dose_high and figures.dose_high.exactly(),
        **drawn,
    }


def _drip(rule: MedicineRule, asked: Asked) -> dict[str, Any]:
    figures = rule.rule
    running = {
        "kind": "drip",
        "set": asked.drip_set,
        "other_sets": list(asked.other_sets) or None,
        "bag": asked.bag,
    }
    if rule.is_rate_of_fluid or rule.presentation is None:
        return running | {"rate": figures.dose.exactly()}
    return running | {
        "dose_rate": figures.dose.exactly(),
        "high": figures.dose_high and figures.dose_high.exactly(),
        "concentration": plain_data(rule.presentation),
        "others": [plain_data(each) for each in asked.others] or None,
    }


def _burn(rule: MedicineRule, asked: Asked) -> dict[str, Any]:
    return {
        "kind": "burn",
        "per": rule.rule.dose.exactly(),
        "area": asked.area,
        "since_injury": asked.since_injury,
    }


def _energy(rule: MedicineRule, asked: Asked) -> dict[str, Any]:
    figures = rule.rule
    return {
        "kind": "energy",
        "per_weight": figures.dose.exactly(),
        "high": figures.dose_high and figures.dose_high.exactly(),
    }


_MAKERS = {DOSE: _dose, FLUID: _dose, DRIP: _drip, BURN: _burn, ENERGY: _energy}


def _within(bounds: Bounds, value: Number) -> bool:
    start, below = bounds
    return (start is None or value >= start) and (below is None or value < below)


def printed_dose(dose: str, *, high: str = "", minimum: str = "", maximum: str = "") -> str:
    """A dose in words, such as `0.2 mg/kg, at most 10 mg`.

    A limit that is the dose itself, or the end of its range, says nothing and is left out.
    """
    said = [f"{dose} to {high}" if high else dose]
    if minimum and minimum != dose:
        said.append(f"at least {minimum}")
    if maximum and maximum not in (dose, high):
        said.append(f"at most {maximum}")
    return ", ".join(said)
