"""Problems of every kind made at random, in plain data, with units of every size."""

from random import Random
from typing import Any

_PER_KG = ["0.01", "0.02", "0.05", "0.1", "0.15", "0.3", "0.5", "1", "2", "2.5", "10", "100"]
_STRENGTHS = ("0.1 mg/mL", "1 mg/mL", "3 mg/mL", "62.5 mg/mL", "50 mcg/mL", "10 %", "1:10,000")


def any_problem(random: Random) -> dict[str, Any]:
    """One problem of any kind."""
    return random.choice(
        (_weight, _dose, _fluid, _drip, _rate, _bag, _dilution, _oxygen, _burn, _energy)
    )(random)


def weighed(random: Random) -> str:
    """A body weight, in whole kg or lb."""
    return random.choice((f"{random.randint(2, 120)} kg", f"{random.randint(5, 260)} lb"))


def _weight(random: Random) -> dict[str, Any]:
    return {"kind": "weight", "from": f"{random.randint(5, 260)} lb"}


def _dose(random: Random) -> dict[str, Any]:
    unit = random.choice(("mcg", "mg"))
    per = random.choice(_PER_KG)
    problem: dict[str, Any] = {
        "kind": "dose",
        "weight": weighed(random),
        "per_weight": f"{per} {unit}/kg",
        "concentration": random.choice(
            (*_STRENGTHS, {"amount": "1 g", "in": "0.25 L"}, {"amount": "5 mg", "in": "3 mL"})
        ),
    }
    if random.random() < 0.4:
        problem["max"] = f"{random.randint(1, 400)} mg"
    elif random.random() < 0.3:
        problem["min"] = "0.1 mg"
    if random.random() < 0.3:
        problem["high"] = f"{float(per) * 2:g} {unit}/kg"
    if random.random() < 0.3:
        problem["doses"] = random.randint(2, 4)
    if random.random() < 0.3:
        problem["graduation"] = random.choice(("0.01 mL", "0.1 mL", "0.5 mL"))
    if random.random() < 0.3:
        problem["syringes"] = [1, 3, 10, 60]
    if random.random() < 0.3:
        problem["rounding"] = "never up"
    return problem


def _fluid(random: Random) -> dict[str, Any]:
    return {
        "kind": "dose",
        "weight": weighed(random),
        "per_weight": f"{random.choice((3, 5, 10, 20))} mL/kg",
        "concentration": random.choice(("10 %", "8.4 %", "1 mEq/mL")),
    }


def _drip(random: Random) -> dict[str, Any]:
    by_weight = random.random() < 0.6
    problem = {
        "kind": "drip",
        "dose_rate": f"{random.randint(1, 20)} mcg{'/kg' if by_weight else ''}/min",
        "concentration": random.choice(("4 mcg/mL", "1600 mcg/mL", {"amount": "1 g", "in": "1 L"})),
        "set": f"{random.choice((10, 15, 20, 60))} gtt/mL",
    }
    if by_weight:
        problem["weight"] = weighed(random)
    if random.random() < 0.3:
        problem["bag"] = random.choice(("250 mL", "1 L"))
    return problem


def _rate(random: Random) -> dict[str, Any]:
    problem = {
        "kind": "drip",
        "rate": random.choice(
            (f"{random.randint(5, 900)} mL/h", f"{random.randint(5, 90)} gtt/min")
        ),
        "set": f"{random.choice((10, 15, 20, 60))} gtt/mL",
    }
    if random.random() < 0.5:
        problem["over"] = random.choice(("2 h", "45 min"))
    if random.random() < 0.5:
        problem["concentration"] = "4 mcg/mL"
    return problem


def _bag(random: Random) -> dict[str, Any]:
    return {
        "kind": "drip",
        "volume": random.choice(("100 mL", "1 L", "1.5 L")),
        "over": random.choice(("10 min", "45 min", "3 h", "8 h", "900 s")),
        "set": f"{random.choice((10, 15, 20, 60))} gtt/mL",
    }


def _dilution(random: Random) -> dict[str, Any]:
    volume = random.randint(1, 10)
    return {
        "kind": "dilution",
        "concentration": random.choice((*_STRENGTHS, "1 mEq/mL", "100 units/mL")),
        "volume": f"{volume} mL",
        "to": random.choice((f"{volume + random.randint(0, 90)} mL", "0.25 L")),
    }


def _oxygen(random: Random) -> dict[str, Any]:
    return {
        "kind": "oxygen",
        "factor": f"{random.choice(('0.16', '0.28', '1.56', '3.14'))} L/psi",
        "pressure": f"{random.randrange(500, 2300, 50):,} psi",
        "residual": f"{random.choice((0, 200, 500))} psi",
        "flow": [f"{random.choice((2, 4, 10, 15))} L/min" for _ in range(random.randint(1, 3))],
    }


def _burn(random: Random) -> dict[str, Any]:
    return {
        "kind": "burn",
        "weight": weighed(random),
        "area": f"{random.randint(1, 100)} %",
        "per": f"{random.choice((2, 3, 4))} mL/kg/%",
        "since_injury": random.choice(("0 h", "1 h", "150 min", "7 h")),
    }


def _energy(random: Random) -> dict[str, Any]:
    problem = {
        "kind": "energy",
        "weight": weighed(random),
        "per_weight": f"{random.choice(('0.5', '1', '2', '4'))} J/kg",
    }
    if random.random() < 0.5:
        problem["max"] = f"{random.choice((200, 360))} J"
    return problem


_KINDS = (_weight, _dose, _fluid, _drip, _rate, _bag, _dilution, _oxygen, _burn, _energy)
