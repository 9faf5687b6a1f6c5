"""What every slip would have given, worked out by hand for each kind of problem."""

from collections import defaultdict
from fractions import Fraction
from typing import Any

import pytest

from drills.engine.dosing import judge
from drills.engine.dosing.reading import read_problem

POUNDS = {"kind": "weight", "from": "44 lb"}
# 20 kg: 2 mg, 0.5 mL, three doses 6 mg.
DOSE = {
    "kind": "dose",
    "weight": "20 kg",
    "per_weight": "0.1 mg/kg",
    "concentration": "4 mg/mL",
    "doses": 3,
}
# 2 mg, from 1 to 3 mg of it: 2 mL. What a wrong weight gives past a limit is the limit alone.
LIMITED = {
    "kind": "dose",
    "weight": "44 lb",
    "per_weight": "0.1 mg/kg",
    "min": "1 mg",
    "max": "3 mg",
    "concentration": "1 mg/mL",
    "others": ["2 mg/mL"],
}
RANGE = {
    "kind": "dose",
    "weight": "22 kg",
    "per_weight": "0.1 mg/kg",
    "high": "0.2 mg/kg",
    "concentration": "1 mg/mL",
}
FLUID = {"kind": "dose", "weight": "11 kg", "per_weight": "5 mL/kg", "concentration": "10 %"}
# 80 kg: 400 mcg/min, 0.25 mL/min, 15 mL/h and as many drops a minute.
DRIP = {
    "kind": "drip",
    "dose_rate": "5 mcg/kg/min",
    "weight": "176 lb",
    "concentration": "1.6 mg/mL",
    "max": "500 mcg/min",
    "set": "60 gtt/mL",
    "other_sets": ["10 gtt/mL"],
}
# 1,000 psi: 160 L, at 16 L/min 10 minutes.
OXYGEN = {
    "kind": "oxygen",
    "factor": "0.16 L/psi",
    "other_factors": ["0.28 L/psi"],
    "pressure": "1,200 psi",
    "residual": "200 psi",
    "flow": ["4 L/min", "12 L/min"],
}
ALONE = {**OXYGEN, "residual": "0 psi", "flow": "16 L/min", "other_factors": None}
# 3,000 psi: 480 L, 48 minutes.
CYLINDERS = {
    "kind": "cylinders",
    "factor": "0.16 L/psi",
    "pressures": ["1,200 psi", "2,200 psi"],
    "flow": ["6 L/min", "4 L/min"],
    "residual": "200 psi",
}
# 5,280 mL; half of it in the five hours left: 528 mL/h.
BURN = {
    "kind": "burn",
    "weight": "88 kg",
    "area": "30 %",
    "per": "2 mL/kg/%",
    "since_injury": "3 h",
}
BURNED = {
    "kind": "burned",
    "chart": "rule of nines",
    "age": "30 years",
    "regions": "front of the trunk; left arm",
    "weight": "88 kg",
    "per": "2 mL/kg/%",
    "since_injury": "3 h",
}
SHOCK = {"kind": "energy", "weight": "66 kg", "per_weight": "2 J/kg", "max": "100 J"}
DILUTION = {"kind": "dilution", "concentration": "1 mg/mL", "volume": "1 mL", "to": "10 mL"}
# 5 mL out of ampoules of 2 mL: three.
CONTAINERS = {
    "kind": "containers",
    "fixed": "25 mg",
    "concentration": "10 mg / 2 mL",
    "others": ["50 mg / 1 mL"],
}

# A third of a mL.
THIRD = {"kind": "dose", "fixed": "6.6 mg", "concentration": "19.8 mg/mL"}

OTHER = ("other-presentation",)
Slips = dict[str, tuple[str, ...]]
ROWS: list[tuple[dict[str, Any], str, Slips]] = [
    (
        POUNDS,
        "kg",
        {
            "pounds-as-kg": ("44",),
            "pounds-multiplied": ("96.8",),
            "pounds-divided-twice": ("20/2.2",),
        },
    ),
    (
        {**POUNDS, "from": "22 kg"},
        "kg",
        {"kg-as-pounds": ("10",), "kg-to-pounds": ("48.4",)},
    ),
    (
        DOSE,
        "dose",
        {
            "kg-as-pounds": ("2/2.2",),
            "kg-to-pounds": ("4.4",),
            "no-weight": ("0.1",),
            "total-for-each": ("6",),
        },
    ),
    (
        DOSE,
        "volume",
        {
            "kg-as-pounds": ("0.5/2.2",),
            "kg-to-pounds": ("1.1",),
            "no-weight": ("0.025",),
            "dose-as-volume": ("2",),
            "strength-multiplied": ("8",),
            "total-for-each": ("1.5",),
        },
    ),
    (
        DOSE,
        "total",
        {
            "kg-as-pounds": ("6/2.2",),
            "kg-to-pounds": ("13.2",),
            "no-weight": ("0.3",),
            "each-for-total": ("2",),
        },
    ),
    (
        LIMITED,
        "volume",
        {
            "no-maximum": ("2",),
            "no-minimum": ("2",),
            "other-presentation": ("1",),
            "dose-as-volume": ("2",),
        },
    ),
    (
        {**LIMITED, "doses": 1},
        "dose",
        {
            "no-maximum": ("2",),
            "no-minimum": ("2",),
        },
    ),
    (
        RANGE,
        "volume",
        {
            "kg-as-pounds": ("1", "2"),
            "kg-to-pounds": ("4.84", "9.68"),
            "no-weight": ("0.1", "0.2"),
            "dose-as-volume": ("2.2", "4.4"),
        },
    ),
    (
        {**RANGE, "per_weight": None, "fixed": "1 mg", "high": "2 mg"},
        "volume",
        {"dose-as-volume": ("1", "2")},
    ),
    (
        FLUID,
        "volume",
        {"kg-as-pounds": ("25",), "kg-to-pounds": ("121",), "no-weight": ("5",)},
    ),
    (
        DRIP,
        "mL_per_h",
        {
            "no-weight": ("0.1875",),
            "pounds-divided-twice": ("15/2.2",),
            "no-maximum": ("15",),
            "minute-for-hour": ("0.25",),
            "hour-for-minute": ("900",),
        },
    ),
    (
        DRIP,
        "gtt_per_min",
        {
            "no-weight": ("0.1875",),
            "pounds-divided-twice": ("15/2.2",),
            "no-maximum": ("15",),
            "other-set": ("2.5",),
            "minute-for-hour": ("0.25",),
            "hour-for-minute": ("900",),
            "drops-as-ml": ("0.25",),
            "hourly-as-drops": ("15",),
        },
    ),
    (
        DRIP,
        "mL_per_min",
        {
            "no-weight": ("0.003125",),
            "pounds-divided-twice": ("0.25/2.2",),
            "no-maximum": ("0.25",),
            "minute-for-hour": ("1/240",),
            "hour-for-minute": ("15",),
            "drops-as-ml": ("15",),
        },
    ),
    # The dose is of nobody's weight: a weight that is told changes nothing.
    (
        {"kind": "drip", "dose_rate": "2 mg/min", "weight": "70 kg", "concentration": "4 mg/mL"},
        "mL_per_h",
        {"minute-for-hour": ("0.5",), "hour-for-minute": ("1,800",)},
    ),
    (
        {"kind": "drip", "volume": "100 mL", "over": "20 min"},
        "mL_per_min",
        {"minute-for-hour": ("1/12",), "hour-for-minute": ("300",)},
    ),
    (
        OXYGEN,
        "minutes",
        {
            "no-residual": ("12",),
            "other-cylinder": ("17.5",),
            "one-patient": ("40", "40/3"),
            "hours-as-minutes": ("1/6",),
            "seconds-as-minutes": ("600",),
        },
    ),
    (
        OXYGEN,
        "litres",
        {
            "no-residual": ("192",),
            "other-cylinder": ("280",),
            "one-patient": ("160", "160"),
        },
    ),
    (ALONE, "minutes", {"hours-as-minutes": ("0.2",), "seconds-as-minutes": ("720",)}),
    (ALONE, "litres", {}),
    (
        CYLINDERS,
        "minutes",
        {
            "no-residual": ("54.4",),
            "one-patient": ("80", "120"),
            "hours-as-minutes": ("0.8",),
            "seconds-as-minutes": ("2,880",),
        },
    ),
    (
        {**CYLINDERS, "flow": ["10 L/min"]},
        "minutes",
        {"no-residual": ("54.4",), "hours-as-minutes": ("0.8",), "seconds-as-minutes": ("2,880",)},
    ),
    (
        BURN,
        "first_half_rate",
        {
            "kg-as-pounds": ("240",),
            "kg-to-pounds": ("1,161.6",),
            "no-weight": ("6",),
            "from-arrival": ("330",),
            "whole-from-arrival": ("660",),
            "minute-for-hour": ("8.8",),
            "hour-for-minute": ("31,680",),
            "burn-doubled": ("1,056",),
            "burn-halved": ("264",),
        },
    ),
    (
        BURN,
        "total",
        {
            "kg-as-pounds": ("2,400",),
            "kg-to-pounds": ("11,616",),
            "no-weight": ("60",),
            "burn-doubled": ("10,560",),
            "burn-halved": ("2,640",),
        },
    ),
    (
        {**BURN, "since_injury": "0 h"},
        "first_half_rate",
        {
            "kg-as-pounds": ("150",),
            "kg-to-pounds": ("726",),
            "no-weight": ("3.75",),
            "minute-for-hour": ("5.5",),
            "hour-for-minute": ("19,800",),
            "burn-doubled": ("660",),
            "burn-halved": ("165",),
        },
    ),
    # 27 %: 4,752 mL.
    (BURNED, "area", {}),
    (
        BURNED,
        "total",
        {
            "kg-as-pounds": ("2,160",),
            "kg-to-pounds": ("10,454.4",),
            "no-weight": ("54",),
            "burn-doubled": ("9,504",),
            "burn-halved": ("2,376",),
        },
    ),
    ({**BURNED, "weight": None, "per": None, "since_injury": None}, "area", {}),
    (
        SHOCK,
        "energy",
        {
            "kg-as-pounds": ("60",),
            "no-weight": ("2",),
            "no-maximum": ("132",),
        },
    ),
    (
        {**SHOCK, "max": None, "high": "4 J/kg"},
        "energy",
        {
            "kg-as-pounds": ("60", "120"),
            "kg-to-pounds": ("290.4", "580.8"),
            "no-weight": ("2", "4"),
        },
    ),
    (DILUTION, "concentration", {"diluent-for-total": ("1/9",)}),
    (DILUTION, "percent", {"diluent-for-total": ("1/90",)}),
    ({**DILUTION, "to": "1 mL"}, "concentration", {}),
    # 25 mL are thirteen ampoules; of the strong one 0.5 mL is needed: one.
    (
        CONTAINERS,
        "open",
        {
            "other-presentation": ("1",),
            "dose-as-volume": ("13",),
            "strength-multiplied": ("63",),
        },
    ),
    (
        CONTAINERS,
        "volume",
        {
            "other-presentation": ("0.5",),
            "dose-as-volume": ("25",),
            "strength-multiplied": ("125",),
        },
    ),
    # 5,500 mg of 100 mg/mL.
    (
        FLUID,
        "amount",
        {
            "kg-as-pounds": ("2,500",),
            "kg-to-pounds": ("12,100",),
            "no-weight": ("500",),
            "strength-divided": ("0.55",),
        },
    ),
    (CONTAINERS, "dose", {}),
]


def figure(written: str) -> Fraction:
    above, _, below = written.replace(",", "").partition("/")
    return Fraction(above) / Fraction(below or 1)


@pytest.mark.parametrize(
    ("given", "asked", "slips"), ROWS, ids=[f"{row[0]['kind']} {row[1]}" for row in ROWS]
)
def test_each_slip_gives_what_it_would_give_on_paper(
    given: dict[str, Any], asked: str, slips: Slips
) -> None:
    """Every slip that the problem allows, and no other."""
    found: dict[str, list[Fraction]] = defaultdict(list)
    for made in read_problem(given).slips(asked):
        found[made.slip.key].append(made.value.amount)

    assert found == {key: list(map(figure, values)) for key, values in slips.items()}


@pytest.mark.parametrize(
    ("given", "asked", "entered", "slips"),
    [
        # 0.2 and 0.4 mL are what ten times too little comes to, of the one end and the other.
        (RANGE, "volume", "0.22 mL", ("tenfold-under",)),
        (RANGE, "volume", "0.44 mL", ("tenfold-under",)),
        (RANGE, "volume", "44 mL", ("tenfold-over",)),
        (OXYGEN, "minutes", "100 min", ("tenfold-over",)),
        (OXYGEN, "minutes", "12 min", ("no-residual",)),
        (BURN, "first_half_rate", "1,056 mL/h", ("burn-doubled",)),
        (CYLINDERS, "minutes", "54 min", ("no-residual",)),
        (SHOCK, "energy", "132 J", ("no-maximum",)),
        (CONTAINERS, "open", "13 containers", ("dose-as-volume",)),
        (DOSE, "volume", "8 mL", ("strength-multiplied",)),
        # Of 10 mg/mL and of 0.1 mg/mL a moved point gives the same, and is what is named.
        ({**DOSE, "concentration": "10 mg/mL"}, "volume", "20 mL", ("hundredfold-over",)),
        ({**DOSE, "concentration": "0.1 mg/mL"}, "volume", "0.2 mL", ("hundredfold-under",)),
        # A strength ten times or a hundred times as strong lay there to be taken.
        ({**DOSE, "others": ["40 mg/mL"]}, "volume", "0.05 mL", OTHER),
        ({**DOSE, "others": ["0.4 mg/mL"]}, "volume", "5 mL", OTHER),
        ({**DOSE, "others": ["0.04 mg/mL"]}, "volume", "50 mL", OTHER),
        # As it is rounded, and as it would be set: a tenth of a third, and of 0.375 mL.
        ({**THIRD, "others": ["198 mg/mL"]}, "volume", "0.0333 mL", OTHER),
        (
            {**THIRD, "concentration": "17.6 mg/mL", "others": ["176 mg/mL"]},
            "volume",
            "0.04 mL",
            OTHER,
        ),
        # The very figure of the strength, to which ten thirds are rounded; and the other way round.
        ({**THIRD, "others": ["2 mg/mL"]}, "volume", "3.3 mL", OTHER),
        (
            {**THIRD, "concentration": "20 mg/mL", "others": ["1.98 mg/mL"]},
            "volume",
            "3.3 mL",
            (*OTHER, "tenfold-over"),
        ),
        # Units a thousand apart are no moved point, and the number of the dose is none either.
        ({**DOSE, "others": ["4 mcg/mL"]}, "volume", "500 mL", (*OTHER, "thousandfold-over")),
        ({**THIRD, "others": ["1 mg/mL"]}, "volume", "6.6 mL", (*OTHER, "dose-as-volume")),
        ({**THIRD, "others": ["2 mg/mL"]}, "volume", "33.3 mL", ("hundredfold-over",)),
        # A limit is a figure of the rule, whatever was slipped.
        (LIMITED, "volume", "3 mL", ()),
        (LIMITED, "volume", "1 mL", ("other-presentation",)),
        ({**LIMITED, "others": []}, "volume", "1 mL", ()),
        ({**RANGE, "max": "4.5 mg"}, "volume", "4.5 mL", ()),
        ({**SHOCK, "max": "140 J"}, "energy", "140 J", ()),
        (DRIP, "mL_per_h", "18.75 mL/h", ()),
        # What a slip gives is told as its device gives it: 28.8 min, 1.14 mL, 10.4 mL/h.
        ({**OXYGEN, "pressure": "2,880 psi"}, "minutes", "28 min", ("no-residual",)),
        ({**OXYGEN, "pressure": "2,880 psi"}, "minutes", "28.8 min", ("no-residual",)),
        ({**DOSE, "weight": "9.12 kg", "others": ["0.8 mg/mL"]}, "volume", "1.1 mL", OTHER),
        ({**DRIP, "max": None, "weight": "55.5 lb"}, "mL_per_h", "10 mL/h", ("pounds-as-kg",)),
    ],
)
def test_the_judge_names_it(
    given: dict[str, Any], asked: str, entered: str, slips: tuple[str, ...]
) -> None:
    """Of a range either end may be what was slipped with."""
    assert tuple(each.key for each in judge(read_problem(given), asked, entered).slips) == slips


@pytest.mark.parametrize(
    ("given", "asked", "entered", "pair"),
    [
        (LIMITED, "volume", "4.4 mL", [("pounds-as-kg", "no-maximum")]),
        ({**LIMITED, "others": []}, "volume", "0.10 mL", [("no-weight", "no-minimum")]),
        ({**LIMITED, "weight": "50 lb"}, "dose", "11 mg", [("pounds-multiplied", "no-maximum")]),
        (DRIP, "mL_per_h", "33 mL/h", [("pounds-as-kg", "no-maximum")]),
        (SHOCK, "energy", "290 J", [("kg-to-pounds", "no-maximum")]),
        (
            {
                **CONTAINERS,
                "fixed": None,
                "per_weight": "1 mg/kg",
                "weight": "44 lb",
                "max": "25 mg",
            },
            "open",
            "5 containers",
            [],
        ),
        (
            {
                **CONTAINERS,
                "fixed": None,
                "per_weight": "9 mg/kg",
                "weight": "48 lb",
                "max": "200 mg",
            },
            "open",
            "44 containers",
            [("pounds-as-kg", "no-maximum")],
        ),
        # One figure, and a dose with no limit.
        (LIMITED, "volume", "4 mL", []),
        ({**LIMITED, "max": "9 mg"}, "volume", "9.68 mL", [("pounds-multiplied", "no-maximum")]),
        ({**LIMITED, "max": None}, "volume", "9.68 mL", []),
    ],
)
def test_a_limit_forgotten_beside_a_wrong_weight_is_offered_as_possible(
    given: dict[str, Any], asked: str, entered: str, pair: list[tuple[str, str]]
) -> None:
    """Either alone would have met the limit, or not passed it."""
    found = judge(read_problem(given), asked, entered)

    assert [(first.key, second.key) for first, second in found.possibly] == pair
    assert found.slip is None or not pair


def test_a_hundred_times_is_a_hundred_times_to_the_last_figure() -> None:
    """Four figures are told: 101 times would be another figure."""
    dose = read_problem({"kind": "dose", "fixed": "12.345 mg"})
    found = judge(dose, "dose", "1,234.5 mg")
    assert [slip.key for slip in found.slips] == ["hundredfold-over"]
