"""The solver beside a general-purpose library of units, which knows nothing of doses.

As `python -m tests.engine.test_units_against_pint` it compares 5,000 problems and says how far
apart the two were.
"""

import sys
from fractions import Fraction
from random import Random
from typing import Any

import pint

from drills.engine.dosing.reading import read_problem
from tests.engine.dosing_problems import any_problem

# Not cast to `float` before the end: what is off is off by the formula.
UNITS: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)
for definition in (
    "bodykg = [bodyweight]",
    "bodylb = bodykg / 2.2",
    "drop = [drop]",
    "tablet = [piece]",
    "ieq = [equivalent]",
    "iunit = [biological]",
    "share = [share]",
):
    UNITS.define(definition)
SPELT = {"mcg": "microgram", "kg": "bodykg", "lb": "bodylb", "gtt": "drop", "units": "iunit"}
SPELT |= {"mEq": "ieq", "%": "share", "h": "hour", "min": "minute", "s": "second"}
NEAR = Fraction(1, 10**9)
Amount = Any


def amount(text: str) -> Amount:
    """A text such as 5 mcg/kg/min as the library's own quantity."""
    number, unit = text.replace(",", "").split(" ", 1)
    above, *below = (SPELT.get(each, each) for each in unit.split("/"))
    return UNITS.Quantity(Fraction(number), above + "".join(f" / {each}" for each in below))


def strength(told: Any) -> Amount:
    """A strength in any of its forms."""
    if isinstance(told, dict):
        return amount(told["amount"]) / amount(told["in"])
    if told.endswith("%"):
        return UNITS.Quantity(Fraction(told.split(" ")[0]), "gram") / UNITS.Quantity(100, "mL")
    if told.startswith("1:"):
        return UNITS.Quantity(1, "gram") / UNITS.Quantity(int(told[2:].replace(",", "")), "mL")
    return amount(told)


def _dose(given: dict[str, Any]) -> dict[str, Amount]:
    dose = amount(given["weight"]) * amount(given["per_weight"])
    if "max" in given:
        dose = min(dose, amount(given["max"]))
    if "min" in given:
        dose = max(dose, amount(given["min"]))
    held = strength(given["concentration"])
    if dose.check("[volume]"):
        return {"dose": dose, "volume": dose, "amount": dose * held}
    told = {"dose": dose, "volume": dose / held}
    return told | ({"total": dose * given["doses"]} if "doses" in given else {})


def _drip(given: dict[str, Any]) -> dict[str, Amount]:
    drops = amount(given["set"])
    if "dose_rate" in given:
        rate = amount(given["dose_rate"]) / strength(given["concentration"])
        rate = rate * amount(given["weight"]) if "weight" in given else rate
    elif "volume" in given:
        rate = amount(given["volume"]) / amount(given["over"])
    else:
        rate = amount(given["rate"])
        rate = rate / drops if "gtt" in given["rate"] else rate
    told = {"mL_per_h": rate, "mL_per_min": rate, "gtt_per_min": rate * drops}
    if "bag" in given:
        told["minutes"] = amount(given["bag"]) / rate
    if "rate" in given and "over" in given:
        told["volume"] = rate * amount(given["over"])
    if "rate" in given and "concentration" in given:
        told["dose_rate"] = rate * strength(given["concentration"])
    return told


def _dilution(given: dict[str, Any]) -> dict[str, Amount]:
    after = strength(given["concentration"]) * amount(given["volume"]) / amount(given["to"])
    a_percent = UNITS.Quantity(1, "gram") / UNITS.Quantity(100, "mL")
    if not after.check("[mass]/[volume]"):
        return {"concentration": after}
    return {
        "concentration": after,
        "percent": UNITS.Quantity((after / a_percent).to("").m, "share"),
    }


def _oxygen(given: dict[str, Any]) -> dict[str, Amount]:
    used = amount(given["pressure"]) - amount(given["residual"])
    litres = used * amount(given["factor"])
    return {"litres": litres, "minutes": litres / sum(amount(each) for each in given["flow"])}


def _burn(given: dict[str, Any]) -> dict[str, Amount]:
    total = amount(given["weight"]) * amount(given["area"]) * amount(given["per"])
    left = UNITS.Quantity(8, "hour") - amount(given["since_injury"])
    return {"total": total, "first_half_rate": total / 2 / left}


def _energy(given: dict[str, Any]) -> dict[str, Amount]:
    energy = amount(given["weight"]) * amount(given["per_weight"])
    return {"energy": min(energy, amount(given["max"])) if "max" in given else energy}


_BY_KIND = {
    "weight": lambda given: {"kg": amount(given["from"])},
    "dose": _dose,
    "drip": _drip,
    "dilution": _dilution,
    "oxygen": _oxygen,
    "burn": _burn,
    "energy": _energy,
}


def furthest_apart(many: int, seed: int) -> Fraction:
    """How far the two are apart at most, as a share, over all figures of so many problems."""
    random, furthest = Random(seed), Fraction(0)  # noqa: S311 - cases, no secrets
    for _ in range(many):
        problem = any_problem(random)
        ours, theirs = read_problem(problem).solve().results, _BY_KIND[problem["kind"]](problem)
        assert ours.keys() == theirs.keys(), problem
        for name, result in ours.items():
            unit = amount(f"1 {result.exact.unit}").units
            other = theirs[name].to(unit).magnitude
            furthest = max(furthest, abs(result.exact.amount - other) / (other or 1))
    return furthest


def test_every_figure_agrees_with_a_library_of_units() -> None:
    """Doses, drips, dilutions, oxygen, burns and shocks, in whatever units each is told."""
    assert furthest_apart(500, seed=20) <= NEAR


if __name__ == "__main__":
    apart = furthest_apart(5000, seed=21)
    sys.stdout.write(f"5,000 problems: at most {float(apart):.1e} apart (1e-9)\n")
    sys.exit(apart > NEAR)
