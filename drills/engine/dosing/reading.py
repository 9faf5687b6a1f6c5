"""A problem as plain data: what `manage.py solve` and `judge` read."""

from collections.abc import Callable, Mapping
from typing import Any

from drills.engine.devices import SYRINGES, syringes
from drills.engine.door import shown
from drills.engine.dosing.burn import AT_ONCE, BurnProblem
from drills.engine.dosing.burned import read_burned
from drills.engine.dosing.containers import ContainersProblem
from drills.engine.dosing.cylinders import read_cylinders
from drills.engine.dosing.dilution import DilutionProblem
from drills.engine.dosing.dose import DoseProblem
from drills.engine.dosing.drip import DripProblem
from drills.engine.dosing.energy import EnergyProblem
from drills.engine.dosing.fields import READY, VIAL, Fields
from drills.engine.dosing.oxygen import OxygenProblem
from drills.engine.dosing.results import Problem, ProblemError, Result, Solution
from drills.engine.dosing.rule import DoseRule
from drills.engine.dosing.sums import SUMS
from drills.engine.dosing.weight import WeightProblem
from drills.engine.dosing.working import all_steps
from drills.engine.quantities import DROPS, VOLUME, Quantity, QuantityError, exact_text
from drills.engine.tables import US_LETTERS, NotThereError, cylinder

# Ours, no source: more doses than any protocol gives are a slip in the problem.
MOST_DOSES = 100


def read_problem(given: Any) -> Problem:
    """A problem from its fields; raises `ProblemError` naming the field that does not do."""
    return read_solved(given)[0]


def read_solved(given: Any) -> tuple[Problem, Solution]:
    """A problem as above, with its solution: it is worked out to see whether it can be."""
    if not isinstance(given, Mapping):
        raise ProblemError(f"problem: {shown(given)} came in; an object with a kind is accepted.")
    kind = given.get("kind")
    if kind is None:
        raise ProblemError(f"kind: it is missing; it is one of {', '.join(_READERS)}.")
    reader = _READERS.get(kind) if isinstance(kind, str) else None
    if reader is None:
        raise ProblemError(f"kind: {shown(kind)} is none of {', '.join(_READERS)}.")
    fields = Fields(given)
    try:
        problem = reader(fields)
    except ProblemError:
        fields.refuse_misspelt()
        raise
    fields.refuse_others()
    try:
        return problem, problem.solve()
    except QuantityError as error:
        raise ProblemError(f"{kind}: {error}") from error


def told_solution(solution: Solution) -> dict[str, Any]:
    """A solution as plain data."""
    refusal = solution.refusal
    told: dict[str, Any] = {
        "results": {name: _told_result(result) for name, result in solution.results.items()},
        **_told_limits(solution),
        "steps": list(all_steps(solution)),
    }
    if refusal:
        told["refused"] = {
            "of": solution.refused,
            "because": refusal.because,
            "instead": list(refusal.instead),
        }
    return told


def _told_limits(solution: Solution) -> dict[str, str | None]:
    """The limit that was met, and that of the high end; of one figure there is no high end."""
    is_range = any(each.high is not None for each in solution.results.values())
    high = solution.limit_high or None
    return {"limit": solution.limit or high, "limit_high": high if is_range else None}


def _told_result(result: Result) -> dict[str, str | None]:
    """One figure; with both ends of it where it is a range."""
    told = _told_end(result.exact, result.rounded)
    if result.high is not None:
        high = _told_end(result.high, result.rounded_high)
        told |= {f"{name}_high": figure for name, figure in high.items()}
    return {**told, "unit": result.exact.unit}


def _told_end(exact: Quantity, rounded: Quantity | None) -> dict[str, str | None]:
    return {
        "exact": exact_text(exact.amount),
        "rounded": exact_text(rounded.amount) if rounded else None,
    }


_RATES = ("mL/h", "mL/min", "gtt/min", "gtt/h")
_FLUID_RATES = ("mL/kg/h", "mL/kg/min")
_ONE_WAY = "rate: a drip has one of a rate, a volume with over, and a dose_rate."
_DOSES = ("mg", "units", "mEq", "mmol", "mL", "tablet")
_PER_WEIGHT = ("mg/kg", "units/kg", "mEq/kg", "mmol/kg", "mL/kg")
# The first few are told where another came in.
_DOSE_RATES = tuple(
    dict.fromkeys(
        (
            *("mg/min", "mg/kg/min", "units/kg/h", "mL/kg/h"),
            *(f"{each}/{time}" for each in (*_DOSES[:4], *_PER_WEIGHT) for time in ("min", "h")),
        )
    )
)


def _weight(fields: Fields) -> WeightProblem:
    return WeightProblem(
        weight=fields.weighed("from"),
        graduation=fields.positive("graduation", "kg"),
        is_exact_pounds=fields.has_exact_pounds(),
    )


def _dose(fields: Fields) -> DoseProblem:
    rule = _rule(fields)
    weight = fields.weight()
    if rule.is_per_kg and weight is None:
        raise ProblemError("weight: it is missing; a dose by weight needs one, such as 20 kg.")
    problem = DoseProblem(
        rule=rule,
        weight=weight,
        presentation=fields.presentation("concentration"),
        others=fields.presentations("others"),
        doses=fields.whole("doses", MOST_DOSES),
        devices=syringes(fields.sizes("syringes", SYRINGES)),
        per_site=fields.positive("per_site", "mL"),
        is_ready=fields.choice("container", VIAL, READY) == READY,
        graduation=fields.positive("graduation", *_DOSES),
        unsafe_from=fields.limit(),
        refused_from=fields.refused_from(),
        is_never_up=fields.is_never_up(),
        is_exact_pounds=fields.has_exact_pounds(),
    )
    _refuse_dose_marks(problem)
    aboard = [("concentration", problem.presentation), *(("others", e) for e in problem.others)]
    for name, each in aboard:
        if each and rule.dose.family not in (each.amount.family, each.volume.family):
            raise ProblemError(f"{name}: {each.strength} holds no dose in {rule.dose.unit}.")
    return problem


def _refuse_dose_marks(problem: DoseProblem) -> None:
    """Raise for marks that neither the dose is set by nor what it is drawn from."""
    packed = problem.presentation
    _refuse_marks(
        problem.graduation,
        problem.rule.dose.unit.partition("/")[0],
        *([packed.volume.unit] if packed else []),
    )


def _refuse_marks(marks: Quantity | None, *units: str) -> None:
    """Raise for marks of another kind than what is measured: none may be lost."""
    if marks and marks.kind not in {Quantity(marks.amount, each).kind for each in units}:
        there = " or ".join(dict.fromkeys(units))
        raise ProblemError(f"graduation: {marks} came in; what is set here is told in {there}.")


def _rule(fields: Fields) -> DoseRule:
    by_weight = fields.positive("per_weight", *_PER_WEIGHT)
    fixed = fields.positive("fixed", *_DOSES)
    dose = by_weight or fixed
    if dose is None:
        raise ProblemError(
            "per_weight: no dose came in; it is told by weight, such as 0.1 mg/kg, or as fixed, "
            "such as 1 mg."
        )
    if by_weight and fixed:
        raise ProblemError("per_weight: a dose has either a per_weight or a fixed, not both.")
    whole = dose.unit.partition("/")[0]
    low, high = fields.positive("min", whole), fields.positive("max", whole)
    _refuse_reversed("min", low, "max", high)
    top = fields.positive("high", dose.unit)
    _refuse_reversed("per_weight" if by_weight else "fixed", dose, "high", top)
    return DoseRule(dose, dose_high=top, minimum=low, maximum=high)


def _refuse_reversed(name: str, low: Quantity | None, other: str, high: Quantity | None) -> None:
    """Raise for a low end that is above the high one."""
    if low is not None and high is not None and low.ratio_to(high) > 1:
        raise ProblemError(f"{name}: {low} is more than the {other}, {high}.")


def _drip(fields: Fields) -> DripProblem:
    rate, dose_rate = _told_rate(fields)
    per_dose = (dose_rate.unit,) if dose_rate else _DOSE_RATES
    problem = DripProblem(
        rate=rate,
        volume=fields.positive("volume", "mL"),
        over=fields.positive("over", "h"),
        dose_rate=dose_rate,
        dose_rate_high=fields.positive("high", *per_dose),
        maximum=fields.positive("max", *_most_of(dose_rate)),
        strength=fields.strength("concentration"),
        weight=fields.weight(),
        drip_set=fields.positive("set", "gtt/mL"),
        other_sets=fields.amounts("other_sets", "gtt/mL"),
        others=tuple(each.strength for each in fields.presentations("others")),
        bag=fields.positive("bag", "mL"),
        graduation=fields.positive("graduation", *_RATES),
        unsafe_from=fields.limit(),
        refused_from=fields.refused_from(),
        is_never_up=fields.is_never_up(),
        is_exact_pounds=fields.has_exact_pounds(),
    )
    _refuse_drip(problem)
    _refuse_marks(problem.graduation, *_RATES[: 3 if problem.drip_set else 2])
    _refuse_others(problem)
    _refuse_reversed("dose_rate", problem.dose_rate, "high", problem.dose_rate_high)
    return problem


def _told_rate(fields: Fields) -> tuple[Quantity | None, Quantity | None]:
    """The rate and the dose rate; a rate of fluid by weight is a dose rate, wherever it is told."""
    rate = fields.positive("rate", *_RATES, *_FLUID_RATES)
    dose_rate = fields.positive("dose_rate", *_DOSE_RATES)
    if rate is None or "kg" not in rate.per:
        return rate, dose_rate
    if dose_rate is not None:
        raise ProblemError(_ONE_WAY)
    return None, rate


def _most_of(dose_rate: Quantity | None) -> tuple[str, ...]:
    """What a maximum of a rate is told in: as the rate is, or for the whole patient."""
    if dose_rate is None:
        return _DOSE_RATES
    return dose_rate.unit, dose_rate.unit.replace("/kg", "")


def _refuse_drip(problem: DripProblem) -> None:
    """Raise for a drip that lacks what it is worked out from, or has it twice."""
    ways = [problem.rate, problem.volume, problem.dose_rate]
    if ways.count(None) != len(ways) - 1:
        raise ProblemError(_ONE_WAY)
    if problem.volume and not problem.over:
        raise ProblemError("over: it is missing; it is such as 8 h.")
    if problem.rate and problem.rate.family == DROPS and not problem.drip_set:
        raise ProblemError("set: it is missing; it is such as 60 gtt/mL.")
    if problem.dose_rate:
        _refuse_dose_rate(problem, problem.dose_rate)
    else:
        _refuse_limits(problem)


def _refuse_limits(problem: DripProblem) -> None:
    for name, there in (("high", problem.dose_rate_high), ("max", problem.maximum)):
        if there:
            raise ProblemError(f"{name}: it goes with a dose_rate, and there is none.")


def _refuse_dose_rate(problem: DripProblem, dose_rate: Quantity) -> None:
    """Raise for a dose rate that lacks the strength, or the weight, that it is worked out with."""
    if problem.weight is None and "kg" in dose_rate.per:
        raise ProblemError("weight: it is missing; it is such as 70 kg.")
    if dose_rate.family == VOLUME:
        if problem.strength:
            raise ProblemError(f"concentration: {dose_rate} is a volume, whatever is in it.")
    elif problem.strength is None:
        raise ProblemError("concentration: it is missing; it is such as 4 mcg/mL.")
    else:
        _refuse_strength(problem.strength, dose_rate)


def _refuse_strength(strength: Quantity, dose: Quantity, name: str = "concentration") -> None:
    if strength.family != dose.family or strength.per != ("mL",):
        raise ProblemError(f"{name}: {strength} goes with no dose in {dose.unit}.")


def _refuse_others(problem: DripProblem) -> None:
    """Raise for a further strength that is none of what runs in."""
    if problem.others and problem.strength is None:
        raise ProblemError("others: they go with a concentration, and there is none.")
    for each in problem.others:
        _refuse_strength(each, problem.strength or each, "others")


def _dilution(fields: Fields) -> DilutionProblem:
    strength = fields.strength("concentration")
    if strength is None:
        raise ProblemError("concentration: it is missing; it is such as 0.1 mg/mL.")
    if strength.per != ("mL",):
        raise ProblemError(f"concentration: {strength} came in; it is told by volume.")
    volume, to = fields.needed("volume", "mL"), fields.needed("to", "mL")
    if volume.ratio_to(to) > 1:
        raise ProblemError(f"to: {to} is less than the volume, {volume}.")
    limit = fields.limit()
    return DilutionProblem(strength=strength, volume=volume, to=to, unsafe_from=limit)


def _oxygen(fields: Fields) -> OxygenProblem:
    letter, factor = fields.text("cylinder"), fields.positive("factor", "L/psi")
    among = fields.text("list") or US_LETTERS
    if bool(letter) == (factor is not None):
        raise ProblemError("cylinder: either the letter of a cylinder, or a factor in L/psi.")
    flows = fields.amounts("flow", "L/min")
    if not flows:
        raise ProblemError("flow: it is missing; it is such as 10 L/min.")
    return OxygenProblem(
        factor=factor or _factor_of(letter, among),
        pressure=fields.gauge("pressure"),
        residual=fields.residual(),
        flows=flows,
        other_factors=fields.amounts("other_factors", "L/psi"),
    )


def _factor_of(letter: str, among: str) -> Quantity:
    """The factor of a size of cylinder; letters mean something only within their list."""
    try:
        return Quantity(cylinder(letter, among).litres_per_psi, "L/psi")
    except NotThereError as error:
        raise ProblemError(f"cylinder: {error}") from error


def _burn(fields: Fields) -> BurnProblem:
    area = fields.needed("area", "%")
    if area.amount > 100:
        raise ProblemError(f"area: {area} came in; up to 100 % is accepted.")
    return BurnProblem(
        weight=fields.weighed(),
        area=area,
        per=fields.needed("per", "mL/kg/%"),
        since_injury=fields.amount("since_injury", "h") or AT_ONCE,
        graduation=fields.positive("graduation", "mL", "mL/h"),
        unsafe_from=fields.limit(),
        refused_from=fields.refused_from(),
        is_never_up=fields.is_never_up(),
        is_exact_pounds=fields.has_exact_pounds(),
    )


def _energy(fields: Fields) -> EnergyProblem:
    per_weight, high = fields.needed("per_weight", "J/kg"), fields.positive("high", "J/kg")
    _refuse_reversed("per_weight", per_weight, "high", high)
    return EnergyProblem(
        weight=fields.weighed(),
        per_weight=per_weight,
        high=high,
        maximum=fields.positive("max", "J"),
        graduation=fields.positive("graduation", "J"),
        unsafe_from=fields.limit(),
        is_never_up=fields.is_never_up(),
        is_exact_pounds=fields.has_exact_pounds(),
    )


def _containers(fields: Fields) -> ContainersProblem:
    fields.refuse_uncontained("concentration")
    dose = _dose(fields)
    if dose.presentation is None:
        raise ProblemError("concentration: it is missing; it is such as 10 mg / 2 mL.")
    return ContainersProblem(dose=dose, unsafe_from=dose.unsafe_from)


_READERS: dict[str, Callable[[Fields], Problem]] = {
    "weight": _weight,
    "dose": _dose,
    "drip": _drip,
    "dilution": _dilution,
    "oxygen": _oxygen,
    "burn": _burn,
    "energy": _energy,
    "burned": read_burned,
    "containers": _containers,
    "cylinders": read_cylinders,
    **SUMS,
}
