"""The solver beside a general-purpose library of units, which knows nothing of doses.

As `python -m tests.engine.test_units_against_pint` it compares 5,000 problems and says how far
apart the two were.
"""

import sys
from collections.abc import Callable, Iterator
from fractions import Fraction
from random import Random
from typing import Any

import pint
import pytest

from drills.engine.dosing import ProblemError
from drills.engine.dosing.reading import read_problem
from tests.engine.dosing_wide import NINES, wide_problem

# Not cast to `float` before the end: what is off is off by the formula.
UNITS: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)
for definition in (
    "bodykg = [bodyweight]",
    "bodylb = bodykg / 2.2",
    "exactlb = 0.45359237 bodykg",
    "drop = [drop]",
    "tablet = [piece]",
    "ieq = [equivalent]",
    "iunit = [biological]",
    "share = [share]",
    "container = [container]",
    "beat = [beat]",
    "index = [index]",
):
    UNITS.define(definition)
SPELT = {"mcg": "microgram", "kg": "bodykg", "lb": "bodylb", "gtt": "drop", "units": "iunit"}
SPELT |= {"containers": "container", "beats": "beat"}
SPELT |= {"mEq": "ieq", "%": "share", "h": "hour", "min": "minute", "s": "second"}
NEAR = Fraction(1, 10**9)
Amount = Any
# A figure, or both ends of its range.
Ends = list[Any]


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


def weighing(given: dict[str, Any], name: str = "weight") -> Amount:
    """A body weight, its pounds by 2.2 or as they are defined."""
    told = given[name]
    if told.endswith("lb") and given.get("pounds") == "exact":
        told = f"{told.removesuffix('lb')}exactlb"
    return amount(told)


def _capped(meant: Amount, given: dict[str, Any]) -> Amount:
    if "max" in given:
        most = amount(given["max"])
        # A maximum of a rate by weight is one of the patient.
        meant = min(meant, most * weighing(given) if "kg/" in given["max"] else most)
    return max(meant, amount(given["min"])) if "min" in given else meant


def _dose(given: dict[str, Any]) -> dict[str, Ends]:
    told = [given.get("per_weight") or given["fixed"], given.get("high")]
    meant = [amount(each) for each in told if each]
    if "per_weight" in given:
        meant = [each * weighing(given) for each in meant]
    doses = [_capped(each, given) for each in meant]
    if "concentration" not in given:
        return {"dose": doses}
    held = strength(given["concentration"])
    if doses[0].check("[volume]"):
        return {"dose": doses, "volume": doses, "amount": [each * held for each in doses]}
    found = {"dose": doses, "volume": [each / held for each in doses]}
    many = given.get("doses", 1)
    return found | ({"total": [each * many for each in doses]} if many > 1 else {})


def _drip(given: dict[str, Any]) -> dict[str, Ends]:
    drops = amount(given.get("set", "1 gtt/mL"))
    rates = list(_rates(given, drops))
    told = {"mL_per_h": rates, "mL_per_min": rates}
    if "set" in given:
        told["gtt_per_min"] = [each * drops for each in rates]
    if "bag" in given:
        told["minutes"] = [amount(given["bag"]) / rates[-1]]
    if "over" in given and "volume" not in given:
        told["volume"] = [rates[-1] * amount(given["over"])]
    if "rate" in given and "concentration" in given:
        dose = rates[0] * strength(given["concentration"])
        told["dose_rate"] = [dose / weighing(given) if "weight" in given else dose]
    return told


def _rates(given: dict[str, Any], drops: Amount) -> Iterator[Amount]:
    """The rate by volume, of a range both ends."""
    if "volume" in given:
        yield amount(given["volume"]) / amount(given["over"])
    for told in filter(None, (given.get("dose_rate"), given.get("high"))):
        meant = amount(told) * (weighing(given) if "kg" in told else 1)
        yield _capped(meant, given) / strength(given["concentration"])
    if told := given.get("rate"):
        rate = amount(told) * (weighing(given) if "kg" in told else 1)
        yield rate / drops if "gtt" in told else rate


def _dilution(given: dict[str, Any]) -> dict[str, Ends]:
    after = strength(given["concentration"]) * amount(given["volume"]) / amount(given["to"])
    a_percent = UNITS.Quantity(1, "gram") / UNITS.Quantity(100, "mL")
    if not after.check("[mass]/[volume]"):
        return {"concentration": [after]}
    percent = UNITS.Quantity((after / a_percent).to("").m, "share")
    return {"concentration": [after], "percent": [percent]}


def _oxygen(given: dict[str, Any]) -> dict[str, Ends]:
    used = amount(given["pressure"]) - amount(given["residual"])
    litres = used * amount(given["factor"])
    return {"litres": [litres], "minutes": [litres / _flows(given)]}


def _cylinders(given: dict[str, Any]) -> dict[str, Ends]:
    used = sum(amount(each) - amount(given["residual"]) for each in given["pressures"])
    return {"minutes": [used * amount(given["factor"]) / _flows(given)]}


def _flows(given: dict[str, Any]) -> Amount:
    return sum(amount(each) for each in given["flow"])


def _burn(given: dict[str, Any]) -> dict[str, Ends]:
    total = weighing(given) * amount(given["area"]) * amount(given["per"])
    left = UNITS.Quantity(8, "hour") - amount(given.get("since_injury", "0 h"))
    return {"total": [total], "first_half_rate": [total / 2 / left]}


def _burned(given: dict[str, Any]) -> dict[str, Ends]:
    """By the percents of a grown person, added up."""
    area = f"{sum(NINES[each] for each in given['regions'].split('; '))} %"
    return {"area": [amount(area)], **_burn(given | {"area": area})}


def _energy(given: dict[str, Any]) -> dict[str, Ends]:
    per = [amount(each) for each in (given["per_weight"], given.get("high")) if each]
    return {"energy": [_capped(each * weighing(given), given) for each in per]}


def _containers(given: dict[str, Any]) -> dict[str, Ends]:
    """What is drawn up, half up to tenths of a mL from 1 mL on, out of whole containers."""
    found = _dose(given)
    drawn = (found["volume"][0].to("mL").magnitude * 10 + Fraction(1, 2)).__floor__()
    holds = amount(given["concentration"]["in"]).to("mL").magnitude
    return found | {"open": [amount(f"{-(-Fraction(drawn, 10) // holds)} containers")]}


def _mean_pressure(given: dict[str, Any]) -> dict[str, Ends]:
    return {"mean": [(amount(given["systolic"]) + 2 * amount(given["diastolic"])) / 3]}


def _shock_index(given: dict[str, Any]) -> dict[str, Ends]:
    index = amount(given["pulse"]) / amount(given["systolic"])
    return {"index": [amount(f"{index.to('beat / minute / mmHg').magnitude} index")]}


# All kinds but those that only look something up: a tube, a score, a weight or a rate by age.
BY_KIND: dict[str, Callable[[dict[str, Any]], dict[str, Ends]]] = {
    "weight": lambda given: {"kg": [weighing(given, "from")]},
    "dose": _dose,
    "drip": _drip,
    "dilution": _dilution,
    "oxygen": _oxygen,
    "cylinders": _cylinders,
    "burn": _burn,
    "burned": _burned,
    "energy": _energy,
    "containers": _containers,
    "mixing": lambda given: {"concentration": [amount(given["amount"]) / amount(given["in"])]},
    "mean_pressure": _mean_pressure,
    "shock_index": _shock_index,
}


def apart(problem: dict[str, Any], *asked: str) -> Fraction:
    """How far the two are apart at most, as a share, over both ends of the figures asked, or of
    all."""
    ours, theirs = read_problem(problem).solve().results, BY_KIND[problem["kind"]](problem)
    assert ours.keys() == theirs.keys(), problem
    furthest = Fraction(0)
    for name in asked or ours:
        result = ours[name]
        unit = amount(f"1 {result.exact.unit}").units
        # Both ends of a range at one limit are no range.
        ends = list(dict.fromkeys(each.to(unit).magnitude for each in theirs[name]))
        assert len(ends) == len(result.ends), (problem, name)
        for mine, other in zip(result.ends, ends, strict=True):
            furthest = max(furthest, abs(mine.amount - other) / (other or 1))
    return furthest


def furthest_apart(many: int, seed: int) -> Fraction:
    """How far the two are apart at most over so many problems."""
    random = Random(seed)  # noqa: S311 - cases, no secrets
    given = (wide_problem(random) for _ in range(many))
    told = ({name: each for name, each in problem.items() if each is not None} for problem in given)
    return max(apart(each) for each in told)


def test_every_figure_agrees_with_a_library_of_units() -> None:
    """Whatever has units to reckon with, in whatever units it is told, at both ends of a range."""
    assert furthest_apart(300, seed=20) <= NEAR


def test_no_kind_is_left_out_but_those_that_are_looked_up() -> None:
    """A tube, a score, a pressure, a weight and a rate by age stand in tables."""
    with pytest.raises(ProblemError) as refused:
        read_problem({"kind": "?"})
    kinds = set(str(refused.value).partition("none of ")[2].rstrip(".").split(", "))
    random = Random(1)  # noqa: S311 - cases, no secrets

    assert kinds - set(BY_KIND) == {
        *("tube", "least_systolic", "coma_score", "weight_by_age", "start_rate")
    }
    assert {wide_problem(random)["kind"] for _ in range(400)} == set(BY_KIND)


if __name__ == "__main__":
    found = furthest_apart(5000, seed=21)
    sys.stdout.write(f"5,000 problems: at most {float(found):.1e} apart (1e-9)\n")
    sys.exit(found > NEAR)
