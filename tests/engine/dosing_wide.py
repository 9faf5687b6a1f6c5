"""Problems with every field that their kind takes: ranges, limits of both ends, exact pounds."""

from random import Random
from typing import Any

from tests.engine.dosing_problems import any_problem, weighed

POUNDS = (None, "2.2", "exact")
_AMOUNTS = {
    "mg": ("3 mg/mL", "62.5 mg/mL", "10 %", "1:1,000", {"amount": "1 g", "in": "0.25 L"}),
    "mcg": ("50 mcg/mL", "1 mg/mL", "1:10,000"),
    "units": ("100 units/mL", {"amount": "20 units", "in": "1 mL"}),
    "mEq": ("1 mEq/mL", {"amount": "20 mEq", "in": "10 mL"}),
    "mmol": ("0.5 mmol/mL",),
}
# One part of the body, and its percent of a grown person by the rule of nines.
NINES = {"head": 9, "left arm": 9, "front of the trunk": 18, "right leg": 18, "perineum": 1}


def wide_problem(random: Random) -> dict[str, Any]:
    """One problem of any kind that has units to reckon with."""
    return random.choice(
        (any_problem, dose, dose, fixed, drip, flow, energy, weight, burn, burned, containers,
         cylinders, mixing, mean_pressure, shock_index)
    )(random)  # fmt: skip


def _often(random: Random, problem: dict[str, Any], **fields: Any) -> dict[str, Any]:
    """The problem with each field half of the time."""
    return problem | {name: told for name, told in fields.items() if random.random() < 0.5}


def _limits(random: Random, unit: str, high: int) -> dict[str, str]:
    low, most = sorted(random.sample(range(1, high), 2))
    return {"min": f"{low} {unit}", "max": f"{most} {unit}"}


def weight(random: Random) -> dict[str, Any]:
    return _often(
        random,
        {"kind": "weight", "from": weighed(random)},
        pounds=random.choice(POUNDS),
        graduation="0.5 kg",
    )


def dose(random: Random) -> dict[str, Any]:
    """By weight, often a range between two limits, and more than one of them."""
    unit = random.choice(list(_AMOUNTS))
    per = random.randint(1, 40)
    return _often(
        random,
        {
            "kind": "dose",
            "weight": weighed(random),
            "per_weight": f"{per / 10:g} {unit}/kg",
            "concentration": random.choice(_AMOUNTS[unit]),
        },
        **_limits(random, unit, 300),
        high=f"{per / 10 * random.choice((1.5, 2, 5)):g} {unit}/kg",
        doses=random.randint(2, 5),
        pounds=random.choice(POUNDS),
        rounding="never up",
        syringes=[1, 5, 20],
    )


def fixed(random: Random) -> dict[str, Any]:
    unit = random.choice(list(_AMOUNTS))
    low = random.randint(1, 50)
    return _often(
        random,
        {"kind": "dose", "fixed": f"{low} {unit}", "concentration": random.choice(_AMOUNTS[unit])},
        **_limits(random, unit, 80),
        high=f"{low * 2} {unit}",
        doses=random.randint(2, 5),
    )


def drip(random: Random) -> dict[str, Any]:
    """By a dose rate of a strength, often a range, with a maximum by weight or of the patient."""
    per = random.choice(("/kg", ""))
    rate = random.randint(1, 20)
    most = random.choice(
        (f"{random.randint(2, 30)} mcg{per}/min", f"{random.randint(50, 900)} mcg/min")
    )
    return _often(
        random,
        {
            "kind": "drip",
            "weight": weighed(random),
            "dose_rate": f"{rate} mcg{per}/min",
            "concentration": random.choice(
                ("1600 mcg/mL", "0.4 mg/mL", {"amount": "1 g", "in": "1 L"})
            ),
            "set": f"{random.choice((10, 15, 20, 60))} gtt/mL",
        },
        high=f"{rate + random.randint(0, 20)} mcg{per}/min",
        max=most,
        bag=random.choice(("250 mL", "1 L")),
        over=random.choice(("2 h", "45 min")),
        pounds=random.choice(POUNDS),
    )


def flow(random: Random) -> dict[str, Any]:
    """Fluid by weight and time; and what a rate brings in, by weight."""
    if random.random() < 0.5:
        return _often(
            random,
            {
                "kind": "drip",
                "weight": weighed(random),
                "rate": f"{random.randint(1, 40)} mL/kg/{random.choice(('h', 'min'))}",
            },
            set="15 gtt/mL",
            bag="500 mL",
            pounds=random.choice(POUNDS),
        )
    return {
        "kind": "drip",
        "weight": weighed(random),
        "rate": f"{random.randint(1, 90)} mL/h",
        "concentration": random.choice(("4 mcg/mL", "2 mg/mL")),
    }


def energy(random: Random) -> dict[str, Any]:
    per = random.choice((1, 2, 4))
    return _often(
        random,
        {"kind": "energy", "weight": weighed(random), "per_weight": f"{per} J/kg"},
        high=f"{per * 2} J/kg",
        max=f"{random.randint(50, 360)} J",
        pounds=random.choice(POUNDS),
        graduation="10 J",
    )


def burn(random: Random) -> dict[str, Any]:
    return _often(
        random,
        {
            "kind": "burn",
            "weight": weighed(random),
            "area": f"{random.randint(1, 100)} %",
            "per": f"{random.choice((2, 3, 4))} mL/kg/%",
        },
        since_injury=random.choice(("0 h", "1 h", "150 min", "7 h")),
        pounds=random.choice(POUNDS),
    )


def burned(random: Random) -> dict[str, Any]:
    regions = random.sample(list(NINES), random.randint(1, len(NINES)))
    return {
        "kind": "burned",
        "chart": "rule of nines",
        "age": "30 years",
        "regions": "; ".join(regions),
        "weight": weighed(random),
        "per": f"{random.choice((2, 3, 4))} mL/kg/%",
        "since_injury": random.choice(("0 h", "90 min", "5 h")),
        "pounds": random.choice(POUNDS),
    }


def containers(random: Random) -> dict[str, Any]:
    """Of one dose by the published marks, which are far finer than it."""
    return {
        "kind": "containers",
        "weight": weighed(random),
        "per_weight": f"{random.randint(10, 90)} mg/kg",
        "concentration": {"amount": "50 mg", "in": random.choice(("1 mL", "2 mL", "5 mL"))},
        "pounds": random.choice(POUNDS),
    }


def cylinders(random: Random) -> dict[str, Any]:
    return {
        "kind": "cylinders",
        "factor": f"{random.choice(('0.16', '0.28', '3.14'))} L/psi",
        "pressures": [
            f"{random.randrange(600, 2300, 50):,} psi" for _ in range(random.randint(1, 4))
        ],
        "residual": f"{random.choice((0, 200, 500))} psi",
        "flow": [f"{random.choice((2, 10, 15))} L/min" for _ in range(random.randint(1, 3))],
    }


def mixing(random: Random) -> dict[str, Any]:
    unit = random.choice(("mg", "g", "units", "mEq"))
    return {
        "kind": "mixing",
        "amount": f"{random.randint(1, 900)} {unit}",
        "in": random.choice(("10 mL", "7 mL", "0.25 L")),
    }


def mean_pressure(random: Random) -> dict[str, Any]:
    return {
        "kind": "mean_pressure",
        "systolic": f"{random.randint(90, 220)} mmHg",
        "diastolic": f"{random.randint(30, 89)} mmHg",
    }


def shock_index(random: Random) -> dict[str, Any]:
    return {
        "kind": "shock_index",
        "pulse": f"{random.randint(30, 200)} beats/min",
        "systolic": f"{random.randint(50, 220)} mmHg",
    }
