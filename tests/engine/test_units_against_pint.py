"""The solver beside a general-purpose library of units, which knows nothing of doses."""

from fractions import Fraction
from random import Random

import pint

from drills.engine.dosing.reading import read_problem

UNITS: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)


def test_volumes_agree_with_a_library_of_units() -> None:
    """Weight times dose by strength, in whatever units each is told."""
    random = Random(20)  # noqa: S311 - cases, no secrets
    for _ in range(300):
        kg, per_kg, strength = (Fraction(random.randint(1, 9999), 100) for _ in range(3))
        mass, per_ml = random.choice(["mcg", "mg", "g"]), random.choice(["mcg", "mg", "g"])
        problem = read_problem(
            {
                "kind": "dose",
                "weight": f"{float(kg)} kg",
                "per_weight": f"{float(per_kg)} {mass}/kg",
                "concentration": f"{float(strength)} {per_ml}/mL",
            }
        )

        theirs = (
            UNITS.Quantity(kg, "kg")
            * UNITS.Quantity(per_kg, f"{mass.replace('mcg', 'microgram')}/kg")
            / UNITS.Quantity(strength, f"{per_ml.replace('mcg', 'microgram')}/mL")
        ).to("mL")

        assert problem.solve().results["volume"].exact.amount == theirs.magnitude
