"""How much a rule gives: its basis, its dose and the limits of it, each in the units they need."""

from dataclasses import dataclass

from drills.engine.formulary_workbook.amounts import BASES, Counted, amount, choice
from drills.engine.quantities import TIME, WEIGHT, Quantity, family_of
from drills.engine.workbook.cells import Row
from drills.engine.workbook.problems import quote

LIMITS = ("minimum", "maximum")


@dataclass(frozen=True, slots=True)
class Dose:
    """The figures of a rule as read; None where a cell is empty or refused."""

    basis: str
    low: Quantity | None
    high: Quantity | None
    minimum: Quantity | None
    maximum: Quantity | None
    total: Quantity | None


def read_dose(row: Row) -> Dose:
    """The basis and the amounts of a rule, each refused where its unit does not go with the basis,
    and then held against each other."""
    basis = choice(row, "basis", BASES, required=True)
    counted = BASES.get(basis)
    example = counted.example if counted else "0.1 mg/kg"
    low, high = (_dose(row, column, basis, counted, example) for column in ("dose", "dose_high"))
    if counted and counted.is_range and not row.given("dose_high"):
        row.refuse("dose_high", "no value", f"the other end of the range, as in {example}")
    low, high = _alike(row, low, high)
    minimum, maximum = (_limit(row, column, counted, low) for column in LIMITS)
    dose = Dose(basis, low, high, minimum, maximum, _total(row, counted, low))
    _refuse_order(row, dose)
    return dose


def _dose(
    row: Row, column: str, basis: str, counted: Counted | None, example: str
) -> Quantity | None:
    accepted = f"an amount with its unit, such as {example}"
    found = amount(row, column, accepted, required=column == "dose")
    if found is None or counted is None or counted.takes(found):
        return found
    accepted = f"what is counted {basis}, such as {example}, or another basis"
    row.refuse(column, quote(row.text(column)), accepted)
    return None


def _alike(
    row: Row, low: Quantity | None, high: Quantity | None
) -> tuple[Quantity | None, Quantity | None]:
    if low and high and low.kind != high.kind:
        row.refuse("dose_high", quote(str(high)), f"an amount of the same kind as {low}")
        return low, None
    return low, high


def _limit(row: Row, column: str, counted: Counted | None, low: Quantity | None) -> Quantity | None:
    """A minimum or maximum: of one whole dose; of a rate by weight also by weight."""
    found = amount(row, column, "an amount with its unit, such as 10 mg")
    if found is None or counted is None or low is None:
        return found
    kinds = [counted.whole(low)]
    if any(family_of(each) == TIME for each in low.per):
        kinds.append(low.kind)
    if found.kind in kinds:
        return found
    row.refuse(column, quote(str(found)), f"an amount of one whole dose, in {_unit(kinds[0], low)}")
    return None


def _unit(kind: tuple[str, ...], low: Quantity) -> str:
    """The unit of a dose without what it is counted per, such as mcg/min of mcg/kg/min."""
    above = low.unit.partition("/")[0]
    return "/".join((above, *(each for each in kind[1:])))


def _total(row: Row, counted: Counted | None, low: Quantity | None) -> Quantity | None:
    """A most of all doses together: an amount, or for what goes by weight one per kg."""
    found = amount(row, "max_total", "an amount with its unit, such as 30 mg")
    if found is None or counted is None or low is None:
        return found
    kinds = [(low.family,)] + ([(low.family, WEIGHT)] if WEIGHT in counted.per else [])
    if found.kind in kinds:
        return found
    above = low.unit.partition("/")[0]
    accepted = f"an amount of all doses together, in {above}"
    by_weight = f" or {above}/kg" if len(kinds) > 1 else ""
    row.refuse("max_total", quote(str(found)), accepted + by_weight)
    return None


def _refuse_order(row: Row, dose: Dose) -> None:
    """Refuse amounts that run the wrong way: of one kind they are compared, of two they cannot."""
    if _is_above(dose.low, dose.high, or_same=True):
        row.refuse("dose_high", quote(str(dose.high)), f"more than the dose, {dose.low}")
    if _is_above(dose.minimum, dose.maximum):
        got = f"{quote(str(dose.maximum))}, which is less than the minimum {dose.minimum},"
        row.refuse("maximum", got, "at least the minimum")
    if _is_above(dose.minimum, dose.low):
        row.refuse("minimum", quote(str(dose.minimum)), f"at most the dose, {dose.low}")
    most = dose.high or dose.low
    if _is_above(most, dose.maximum):
        row.refuse("maximum", quote(str(dose.maximum)), f"at least the dose, {most}")
    if _is_above(dose.low, dose.total):
        row.refuse("max_total", quote(str(dose.total)), f"at least one dose, {dose.low}")


def _is_above(one: Quantity | None, other: Quantity | None, *, or_same: bool = False) -> bool:
    if one is None or other is None or one.kind != other.kind:
        return False
    ratio = one.ratio_to(other)
    return ratio > 1 or (or_same and ratio == 1)
