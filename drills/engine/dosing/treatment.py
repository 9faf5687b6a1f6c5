"""A rule worked out for one patient with what a rig carries: one derivation, from age to vial.

Every figure is worked out by the problem it is a figure of; here they are only put together.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from drills.engine.concentrations import Presentation
from drills.engine.devices import Device, syringes
from drills.engine.dosing.burn import DAY, FIRST_HALF_RATE, TOTAL, BurnProblem
from drills.engine.dosing.dose import DOSE as THE_DOSE
from drills.engine.dosing.dose import VOLUME, DoseProblem
from drills.engine.dosing.drip import DripProblem
from drills.engine.dosing.energy import EnergyProblem
from drills.engine.dosing.opening import (
    Opened,
    Stocked,
    Supplies,
    how_many,
    most_of,
    opened_of,
    taken_of,
)
from drills.engine.dosing.patient import Patient, Weighed, weigh
from drills.engine.dosing.repeating import Again, Course, what_follows, within_total
from drills.engine.dosing.results import (
    MEASURABLE_WITHIN,
    UNSAFE_FROM,
    Problem,
    ProblemError,
    Refusal,
    Result,
    Solution,
)
from drills.engine.dosing.running import Running, run
from drills.engine.medicines import BURN, DOSE, DRIP, ENERGY, FLUID, MedicineRule
from drills.engine.quantities import Quantity

ML = "mL"
ONE_KG = Quantity(Fraction(1), "kg")


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How a service works: pounds by 2.2 or exactly, a child's dose rounded half up or never up,
    and from which share off the dose nothing is drawn up (at most a tenth)."""

    is_exact_pounds: bool = False
    is_never_up_for_children: bool = False
    refused_from: Fraction = MEASURABLE_WITHIN


USUAL = Settings()
FIRST_DOSE = Course()


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """All that a rule comes to for a patient, `steps` its one derivation.

    `results` are those of its problem, `limit` which limit the dose met, `chosen` what it is drawn
    from and `others` what else is aboard of it. With a `refusal` nothing is drawn up as it stands;
    the arithmetic is there all the same. A `notice` asks for another look at the weight;
    `left_out` are syringes aboard whose marks nobody knows. `cut` says why a
    range ends where the most in all does.
    """

    rule: MedicineRule
    kg: Quantity | None
    results: dict[str, Result]
    steps: tuple[str, ...]
    limit: str = ""
    chosen: Stocked | None = None
    others: tuple[Stocked, ...] = ()
    device: Device | None = None
    opened: Opened | None = None
    running: Running | None = None
    again: Again = field(default_factory=Again)
    refusal: Refusal | None = None
    notice: str = ""
    left_out: tuple[str, ...] = ()
    cut: str = ""

    @property
    def volume(self) -> Result | None:
        """What is drawn up."""
        return self.results.get(VOLUME)

    @property
    def mixing(self) -> tuple[str, ...]:
        """How it is mixed; empty where it is not."""
        return self.rule.mixture.steps if self.rule.mixture else ()


def work_out(
    patient: Patient,
    rule: MedicineRule,
    carried: Supplies,
    settings: Settings = USUAL,
    *,
    course: Course = FIRST_DOSE,
) -> Worked:
    """Work a rule out for a patient with what is carried.

    Raises `ProblemError` naming what is missing or who the rule is for, and `NotThereError` where
    a formula has no weight for the age.
    """
    weighed = weigh(patient, rule, exactly=settings.is_exact_pounds)
    cut, why = within_total(rule, weighed.kg if weighed else None, course)
    making = _Making(patient, cut, carried, settings, weighed)
    chosen = _chosen(making)
    solution = chosen.solution
    running = _running(making, chosen)
    again = what_follows(rule, _dose_of(solution), making.kg, course)
    return Worked(
        rule=rule,
        kg=making.kg,
        results=dict(solution.results),
        steps=tuple(dict.fromkeys(_steps(making, why, chosen, running, again))),
        limit=solution.limit or solution.limit_high,
        chosen=chosen.stock,
        others=tuple(each for each in carried.all if each != chosen.stock),
        device=chosen.device,
        opened=chosen.opened,
        running=running,
        again=again,
        refusal=again.refusal or solution.refusal,
        notice=weighed.notice if weighed else "",
        left_out=carried.left_out,
        cut=why,
    )


@dataclass(frozen=True, slots=True)
class _Making:
    patient: Patient
    rule: MedicineRule
    carried: Supplies
    settings: Settings
    weighed: Weighed | None

    @property
    def weight(self) -> Quantity | None:
        return self.weighed.told if self.weighed else None

    @property
    def kg(self) -> Quantity | None:
        return self.weighed.kg if self.weighed else None

    @property
    def is_of_mixture(self) -> bool:
        """Whether what is measured is the mixture, and no container as it comes."""
        mixture = self.rule.mixture
        return mixture is not None and mixture.presentation == self.rule.presentation

    @property
    def is_never_up(self) -> bool:
        return self.settings.is_never_up_for_children and self.patient.is_child

    @property
    def limit(self) -> Fraction:
        own = self.rule.error_limit
        return Fraction(own, 100) if own else UNSAFE_FROM

    @property
    def measuring(self) -> dict[str, Any]:
        """How what is drawn up or set is measured, as its problems take it."""
        return {
            "unsafe_from": self.limit,
            "refused_from": self.settings.refused_from,
            "is_never_up": self.is_never_up,
            "is_exact_pounds": self.settings.is_exact_pounds,
        }

    @property
    def running(self) -> dict[str, Any]:
        """How what runs in is measured, and what decides how it is run where no pump does."""
        return self.measuring | {
            "is_medicine": any(each.amount for each in self.rule.comes_as),
            "devices": syringes(self.carried.syringes),
        }


@dataclass(frozen=True, slots=True)
class _Choice:
    """One container aboard with what the rule comes to when it is taken."""

    stock: Stocked | None
    solution: Solution
    device: Device | None
    opened: Opened | None

    @property
    def rank(self) -> tuple[bool, bool, int]:
        """What can be measured goes first, then what is aboard in the number that is needed, then
        the fewest to open."""
        is_short = self.opened is None or not self.opened.is_enough
        needed = self.opened.needed if self.opened else 0
        return (self.solution.refusal is not None, is_short, needed)


def _steps(
    making: _Making, cut: str, chosen: _Choice, running: Running | None, again: Again
) -> Iterator[str]:
    """The derivation: weight, mixture, dose, containers, rate, and what may follow."""
    mixing = making.rule.mixture.steps if making.rule.mixture else ()
    yield from making.weighed.steps if making.weighed else ()
    yield from mixing if making.is_of_mixture else ()
    yield from [cut] if cut else ()
    yield from chosen.solution.steps
    yield from [chosen.opened.step] if chosen.opened else ()
    if running:
        yield from mixing
        yield from running.steps
        yield from [f"Steps: {making.rule.repeat_note}"] if _is_titrated(making.rule) else ()
    yield from again.steps


def _is_titrated(rule: MedicineRule) -> bool:
    """Whether it is a drip of a range, and the rule says in words how far each step goes."""
    return bool(rule.topic == DRIP and rule.rule.dose_high and rule.repeat_note)


def _chosen(making: _Making) -> _Choice:
    stocks = making.carried.containers or (None,)
    return min((_choice(making, stock) for stock in stocks), key=lambda each: each.rank)


def _choice(making: _Making, stock: Stocked | None) -> _Choice:
    problem = _problem(making, stock)
    solution = problem.solve()
    drawn = solution.results.get(VOLUME)
    device = None
    if isinstance(problem, DoseProblem) and drawn:
        device = problem.device_at(drawn.ends[-1])  # it holds the whole of a range
    return _Choice(stock, solution, device, _opened(making, stock, solution))


def _problem(making: _Making, stock: Stocked | None) -> Problem:
    """The problem that the rule is for the patient, with one container."""
    if making.rule.topic == ENERGY:
        return _energy(making)
    if making.rule.topic == BURN:
        return _burn(making)
    if making.rule.topic == DRIP:
        return _drip(making, stock)
    return _dose(making, stock)


def _energy(making: _Making) -> EnergyProblem:
    figures = making.rule.rule
    return EnergyProblem(
        weight=making.weight or ONE_KG,
        per_weight=figures.dose,
        high=figures.dose_high,
        maximum=figures.maximum,
        is_never_up=making.is_never_up,
        is_exact_pounds=making.settings.is_exact_pounds,
        unsafe_from=making.limit,
    )


def _burn(making: _Making) -> BurnProblem:
    area = making.patient.area
    if area is None or not 0 < area.amount <= 100:
        raise ProblemError(f"area: {area or 'nothing'} came in; up to 100 % is accepted.")
    return BurnProblem(
        weight=making.weight or ONE_KG,
        area=area,
        per=making.rule.rule.dose,
        since_injury=making.patient.since_injury,
        **making.measuring,
    )


def _drip(making: _Making, stock: Stocked | None) -> DripProblem:
    rule, figures = making.rule, making.rule.rule
    if rule.is_rate_of_fluid and not rule.is_by_weight:
        return DripProblem(rate=figures.dose, weight=making.weight, **making.running)
    return DripProblem(
        dose_rate=figures.dose,
        dose_rate_high=figures.dose_high,
        maximum=figures.maximum,
        strength=None if rule.is_rate_of_fluid else _strength(making, stock),
        weight=making.weight,
        **making.running,
    )


def _strength(making: _Making, stock: Stocked | None) -> Quantity | None:
    """Of what is run in."""
    aboard = stock.container.presentation if stock and not making.is_of_mixture else None
    packed = aboard or making.rule.presentation
    return packed.strength if packed else None


def _dose(making: _Making, stock: Stocked | None) -> DoseProblem:
    rule = making.rule
    packed = rule.presentation
    if packed and stock and not making.is_of_mixture:
        packed = stock.container.presentation or packed
    return DoseProblem(
        rule=rule.rule,
        weight=making.weight,
        presentation=packed,
        devices=syringes(making.carried.syringes),
        others=tuple(_others(making, packed)),
        per_site=rule.per_site(making.patient.age),
        is_ready=rule.is_ready(stock.container if stock else None),
        **making.measuring,
    )


def _others(making: _Making, packed: Presentation | None) -> Iterator[Presentation]:
    """The other strengths aboard that the rule names; of what is mixed first none stands for it."""
    if packed and not making.is_of_mixture:
        for each in making.carried.containers:
            other = each.container.presentation
            if other and other.strength != packed.strength:
                yield other


def _dose_of(solution: Solution) -> tuple[Quantity, ...]:
    """The whole dose, or both ends of a range; nothing of what runs or is a shock."""
    found = solution.results.get(THE_DOSE)
    return found.ends if found else ()


def _opened(making: _Making, stock: Stocked | None, solution: Solution) -> Opened | None:
    """How many containers hold what is needed."""
    needed, named = _needed(making, solution), making.rule.comes_as
    if needed is None or _is_day_over(making):
        return None
    if stock:
        return opened_of(stock.container, needed, stock.par)
    return opened_of(named[0], needed, None) if named else None


def _is_day_over(making: _Making) -> bool:
    """Whether the day that the fluid of a burn is worked out for is over."""
    return making.rule.topic == BURN and making.patient.since_injury.ratio_to(DAY) >= 1


def _needed(making: _Making, solution: Solution) -> Quantity | None:
    """The most that is taken out of containers: a volume, pieces, or an amount to be mixed."""
    rule, results = making.rule, solution.results
    if making.is_of_mixture and rule.mixture:
        mixed = rule.mixture
        of_it = taken_of(results[VOLUME]) if VOLUME in results else mixed.volume
        return mixed.amount.times(how_many(of_it, mixed.volume))
    name = {DOSE: VOLUME, FLUID: THE_DOSE, BURN: TOTAL}.get(rule.topic, "")
    if name in results:
        return taken_of(results[name])
    return rule.comes_as[0].volume if rule.topic == DRIP and rule.comes_as else None


def _running(making: _Making, chosen: _Choice) -> Running | None:
    """How it is run in, where it is, by the pump and by each set."""
    problem = _run(making, chosen)
    bag = _bag(making, chosen) if making.rule.topic == DRIP else None
    return run(problem, making.carried.drip_sets, bag=bag) if problem else None


def _run(making: _Making, chosen: _Choice) -> DripProblem | None:
    """By a rate, or a volume over the time that the rule says; a rate that is refused is none."""
    rule = making.rule
    if rule.topic == DRIP:
        return _drip(making, chosen.stock)
    if rule.topic == BURN:
        rate = chosen.solution.results.get(FIRST_HALF_RATE)
        if rate is None or rate.rounded is None:
            return None
        return DripProblem(rate=rate.exact, weight=making.weight, **making.running)
    volume = _run_in(making, chosen.solution)
    if volume is None or not rule.over_min:
        return None
    over = Quantity(Fraction(rule.over_min), "min")
    return DripProblem(volume=volume, over=over, weight=making.weight, **making.running)


def _bag(making: _Making, chosen: _Choice) -> Quantity | None:
    if making.is_of_mixture and making.rule.mixture:
        return making.rule.mixture.volume
    return chosen.opened.holds if chosen.opened else None


def _run_in(making: _Making, solution: Solution) -> Quantity | None:
    """The volume that runs in over a time; None where nobody says what it is mixed with."""
    rule, results = making.rule, solution.results
    if rule.topic == FLUID:
        return results[THE_DOSE].ends[-1]
    if rule.topic != DOSE or solution.refusal:
        return None
    if rule.mixture:
        return rule.mixture.presentation.volume_of(results[THE_DOSE].ends[-1])
    drawn = results[VOLUME]
    return None if rule.dilution or drawn.exact.unit != ML else most_of(drawn)
