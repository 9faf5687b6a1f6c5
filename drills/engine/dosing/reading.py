"""A problem as plain data: what `manage.py solve` and `judge` read."""

from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Any

from drills.engine.concentrations import Presentation, read_strength
from drills.engine.devices import syringes
from drills.engine.dosing.burn import BurnProblem
from drills.engine.dosing.dilution import DilutionProblem
from drills.engine.dosing.dose import DoseProblem, DoseRule
from drills.engine.dosing.drip import DripProblem
from drills.engine.dosing.energy import EnergyProblem
from drills.engine.dosing.oxygen import OxygenProblem
from drills.engine.dosing.results import UNSAFE_FROM, Problem, ProblemError, Solution
from drills.engine.dosing.weight import WeightProblem
from drills.engine.quantities import DROPS, Quantity, QuantityError, exact_text, read_quantity
from drills.engine.tables import US_LETTERS, NotThereError, cylinder

LB_BY_TABLE, LB_EXACTLY = "2.2", "exact"
HALF_UP, NEVER_UP = "half up", "never up"
# What may stand beside any problem and is not read.
ASIDE = frozenset({"kind", "id", "note"})


class Fields:
    """The fields of one problem, each read once; what is left over at the end is refused."""

    def __init__(self, given: Mapping[str, Any]) -> None:
        self._left = {name: value for name, value in given.items() if value is not None}

    def amount(self, name: str, *units: str) -> Quantity | None:
        """An amount of one of the kinds that the units have; None where it is not there."""
        value = self._left.pop(name, None)
        return None if value is None else _amount(name, value, units)

    def amounts(self, name: str, *units: str) -> tuple[Quantity, ...]:
        """One amount or a list of them."""
        value = self._left.pop(name, None)
        many = value if isinstance(value, list) else [] if value is None else [value]
        return tuple(_amount(name, each, units) for each in many)

    def needed(self, name: str, *units: str) -> Quantity:
        """An amount that must be there."""
        found = self.amount(name, *units)
        if found is None:
            raise ProblemError(f"{name}: it is missing; it is told in {' or '.join(units)}.")
        return found

    def strength(self, name: str) -> Quantity | None:
        """A strength in any of its forms."""
        value = self._left.pop(name, None)
        return None if value is None else _read(name, value, read_strength)

    def presentation(self, name: str) -> Presentation | None:
        """A strength with the volume it comes in, where that is told."""
        value = self._left.pop(name, None)
        return None if value is None else _presentation(name, value)

    def presentations(self, name: str) -> tuple[Presentation, ...]:
        """A list of such."""
        value = self._left.pop(name, [])
        if not isinstance(value, list):
            raise ProblemError(f"{name}: {value!r} came in; a list of strengths is accepted.")
        return tuple(_presentation(name, each) for each in value)

    def sizes(self, name: str) -> list[int]:
        """Whole numbers, such as the sizes of the syringes aboard."""
        value = self._left.pop(name, [])
        if not isinstance(value, list) or not all(type(each) is int for each in value):
            raise ProblemError(f"{name}: {value!r} came in; whole numbers in a list are accepted.")
        return value

    def text(self, name: str) -> str:
        """A text; empty where it is not there."""
        value = self._left.pop(name, "")
        if not isinstance(value, str):
            raise ProblemError(f"{name}: {value!r} came in; a text is accepted.")
        return value.strip()

    def choice(self, name: str, *words: str) -> str:
        """One of some words; the first where it is not there."""
        value = self._left.pop(name, words[0])
        if value not in words:
            raise ProblemError(f"{name}: {value!r} is none of {', '.join(words)}.")
        return str(value)

    def limit(self) -> Fraction:
        """The share from which an answer is unsafe: a fifth, or a rule's tighter limit."""
        found = self.amount("error_limit", "%")
        if found is None:
            return UNSAFE_FROM
        if not 0 < found.amount <= UNSAFE_FROM * 100:
            raise ProblemError(f"error_limit: {found} came in; up to 20 % is accepted.")
        return found.amount / 100

    def refuse_others(self) -> None:
        """Raise for what nobody asked for: a field with a slip in its name must not be lost."""
        strange = sorted(self._left.keys() - ASIDE)
        if strange:
            raise ProblemError(f"{strange[0]}: no field of this kind of problem.")


def read_problem(given: Any) -> Problem:
    """A problem from its fields; raises `ProblemError` naming the field that does not do."""
    if not isinstance(given, Mapping):
        raise ProblemError(f"problem: {given!r} came in; an object with a kind is accepted.")
    kind = given.get("kind")
    reader = _READERS.get(kind) if isinstance(kind, str) else None
    if reader is None:
        raise ProblemError(f"kind: {kind!r} is none of {', '.join(_READERS)}.")
    fields = Fields(given)
    problem = reader(fields)
    fields.refuse_others()
    try:
        problem.solve()
    except QuantityError as error:
        raise ProblemError(f"{kind}: {error}") from error
    return problem


def told_solution(solution: Solution) -> dict[str, Any]:
    """A solution as plain data."""
    refusal = solution.refusal
    told: dict[str, Any] = {
        "results": {
            name: {
                "exact": exact_text(result.exact.amount),
                "rounded": exact_text(result.rounded.amount) if result.rounded else None,
                "unit": result.exact.unit,
            }
            for name, result in solution.results.items()
        },
        "limit": solution.limit or None,
        "steps": list(solution.steps),
    }
    if refusal:
        told["refused"] = {"because": refusal.because, "instead": list(refusal.instead)}
    return told


def _amount(name: str, value: Any, units: tuple[str, ...]) -> Quantity:
    found = _read(name, value, read_quantity)
    kinds = {Quantity(found.amount, unit).kind for unit in units}
    if found.kind not in kinds:
        raise ProblemError(f"{name}: {found} came in; it is told in {' or '.join(units)}.")
    return found


def _read(name: str, value: Any, reader: Callable[[Any], Quantity]) -> Quantity:
    if not isinstance(value, str | Mapping):
        raise ProblemError(f"{name}: {value!r} came in; a text such as '20 kg' is accepted.")
    try:
        return reader(value)
    except QuantityError as error:
        raise ProblemError(f"{name}: {error}") from error


def _presentation(name: str, value: Any) -> Presentation:
    strength = _read(name, value, read_strength)
    volume = Quantity(Fraction(1), strength.per[0])
    if isinstance(value, Mapping):
        volume = read_quantity(value["in"])
    return Presentation(strength.of(volume), volume)


_RATES = ("mL/h", "mL/min", "gtt/min", "gtt/h")
_DOSES = ("mg", "units", "mEq", "mmol", "mL", "tablet")
_PER_WEIGHT = ("mg/kg", "units/kg", "mEq/kg", "mmol/kg", "mL/kg")
_DOSE_RATES = tuple(
    f"{each}/{time}" for each in (*_DOSES[:4], *_PER_WEIGHT) for time in ("min", "h")
)


def _weight(fields: Fields) -> WeightProblem:
    return WeightProblem(
        weight=_positive("from", fields.needed("from", "kg", "lb")),
        graduation=fields.amount("graduation", "kg"),
        is_exact_pounds=_exact_pounds(fields),
    )


def _dose(fields: Fields) -> DoseProblem:
    rule = _rule(fields)
    weight = _none_or_positive("weight", fields.amount("weight", "kg", "lb"))
    if rule.is_per_kg and weight is None:
        raise ProblemError("weight: it is missing; a dose by weight needs one, such as 20 kg.")
    return DoseProblem(
        rule=rule,
        weight=weight,
        presentation=fields.presentation("concentration"),
        others=fields.presentations("others"),
        devices=syringes(fields.sizes("syringes")),
        graduation=_none_or_positive("graduation", fields.amount("graduation", *_DOSES)),
        unsafe_from=fields.limit(),
        is_never_up=fields.choice("rounding", HALF_UP, NEVER_UP) == NEVER_UP,
        is_exact_pounds=_exact_pounds(fields),
    )


def _rule(fields: Fields) -> DoseRule:
    by_weight, fixed = fields.amount("per_weight", *_PER_WEIGHT), fields.amount("fixed", *_DOSES)
    dose = by_weight or fixed
    if dose is None or (by_weight and fixed):
        raise ProblemError("per_weight: a dose has either a per_weight or a fixed, not both.")
    return DoseRule(
        _positive("per_weight" if by_weight else "fixed", dose),
        dose_high=fields.amount("high", *(_PER_WEIGHT if by_weight else _DOSES)),
        minimum=fields.amount("min", *_DOSES),
        maximum=_none_or_positive("max", fields.amount("max", *_DOSES)),
    )


def _drip(fields: Fields) -> DripProblem:
    problem = DripProblem(
        rate=fields.amount("rate", *_RATES),
        volume=fields.amount("volume", "mL"),
        over=fields.amount("over", "h"),
        dose_rate=fields.amount("dose_rate", *_DOSE_RATES),
        dose_rate_high=fields.amount("high", *_DOSE_RATES),
        maximum=fields.amount("max", *_DOSE_RATES),
        strength=fields.strength("concentration"),
        weight=fields.amount("weight", "kg", "lb"),
        drip_set=fields.amount("set", "gtt/mL"),
        others=fields.amounts("other_sets", "gtt/mL"),
        bag=fields.amount("bag", "mL"),
        graduation=fields.amount("graduation", *_RATES),
        unsafe_from=fields.limit(),
        is_exact_pounds=_exact_pounds(fields),
    )
    for name in ("rate", "volume", "over", "dose_rate", "weight", "drip_set"):
        _none_or_positive(name, getattr(problem, name))
    _refuse_drip(problem)
    return problem


def _refuse_drip(problem: DripProblem) -> None:
    """Raise for a drip that lacks what it is worked out from, or has it twice."""
    ways = [problem.rate, problem.volume, problem.dose_rate]
    if sum(each is not None for each in ways) != 1:
        raise ProblemError("rate: a drip has one of a rate, a volume with over, and a dose_rate.")
    by_drops = problem.rate is not None and problem.rate.family == DROPS
    by_weight = problem.dose_rate is not None and "kg" in problem.dose_rate.per
    for name, is_needed, there, example in (
        ("over", problem.volume, problem.over, "8 h"),
        ("concentration", problem.dose_rate, problem.strength, "4 mcg/mL"),
        ("weight", by_weight, problem.weight, "70 kg"),
        ("set", by_drops, problem.drip_set, "60 gtt/mL"),
    ):
        if is_needed and not there:
            raise ProblemError(f"{name}: it is missing; it is such as {example}.")


def _dilution(fields: Fields) -> DilutionProblem:
    strength = fields.strength("concentration")
    if strength is None:
        raise ProblemError("concentration: it is missing; it is such as 0.1 mg/mL.")
    problem = DilutionProblem(
        strength=strength,
        volume=_positive("volume", fields.needed("volume", "mL")),
        to=_positive("to", fields.needed("to", "mL")),
    )
    if problem.volume.ratio_to(problem.to) > 1:
        raise ProblemError(f"to: {problem.to} is less than the volume, {problem.volume}.")
    return problem


def _oxygen(fields: Fields) -> OxygenProblem:
    letter, factor = fields.text("cylinder"), fields.amount("factor", "L/psi")
    among = fields.text("list") or US_LETTERS
    if bool(letter) == (factor is not None):
        raise ProblemError("cylinder: either the letter of a cylinder, or a factor in L/psi.")
    flows = fields.amounts("flow", "L/min")
    if not flows:
        raise ProblemError("flow: it is missing; it is such as 10 L/min.")
    return OxygenProblem(
        factor=_positive("factor", factor) if factor else _factor_of(letter, among),
        pressure=fields.needed("pressure", "psi"),
        residual=fields.needed("residual", "psi"),
        flows=tuple(_positive("flow", each) for each in flows),
    )


def _factor_of(letter: str, among: str) -> Quantity:
    """The factor of a size of cylinder; letters mean something only within their list."""
    try:
        return Quantity(cylinder(letter, among).litres_per_psi, "L/psi")
    except NotThereError as error:
        raise ProblemError(f"cylinder: {error}") from error


def _burn(fields: Fields) -> BurnProblem:
    area = _positive("area", fields.needed("area", "%"))
    if area.amount > 100:
        raise ProblemError(f"area: {area} came in; up to 100 % is accepted.")
    return BurnProblem(
        weight=_positive("weight", fields.needed("weight", "kg", "lb")),
        area=area,
        per=_positive("per", fields.needed("per", "mL/kg/%")),
        since_injury=fields.amount("since_injury", "h") or Quantity(Fraction(0), "h"),
        graduation=fields.amount("graduation", "mL", "mL/h"),
        unsafe_from=fields.limit(),
        is_exact_pounds=_exact_pounds(fields),
    )


def _energy(fields: Fields) -> EnergyProblem:
    return EnergyProblem(
        weight=_positive("weight", fields.needed("weight", "kg", "lb")),
        per_weight=_positive("per_weight", fields.needed("per_weight", "J/kg")),
        high=fields.amount("high", "J/kg"),
        maximum=fields.amount("max", "J"),
        graduation=fields.amount("graduation", "J"),
        unsafe_from=fields.limit(),
        is_exact_pounds=_exact_pounds(fields),
    )


def _exact_pounds(fields: Fields) -> bool:
    return fields.choice("pounds", LB_BY_TABLE, LB_EXACTLY) == LB_EXACTLY


def _positive(name: str, amount: Quantity) -> Quantity:
    if not amount.amount:
        raise ProblemError(f"{name}: {amount} came in; it is more than nothing.")
    return amount


def _none_or_positive(name: str, amount: Quantity | None) -> Quantity | None:
    return None if amount is None else _positive(name, amount)


_READERS: dict[str, Callable[[Fields], Problem]] = {
    "weight": _weight,
    "dose": _dose,
    "drip": _drip,
    "dilution": _dilution,
    "oxygen": _oxygen,
    "burn": _burn,
    "energy": _energy,
}
