"""Problems with what is right and what each slip with them gives, by an arithmetic of their own.

Plain fractions, worked out from published formulas: nothing of the solver is used.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from random import Random
from typing import Any

F = Fraction
DECIMALS = {
    "tenfold-over": F(10),
    "tenfold-under": F(1, 10),
    "hundredfold-over": F(100),
    "hundredfold-under": F(1, 100),
    "thousandfold-over": F(1000),
    "thousandfold-under": F(1, 1000),
}
SIXTY = {"minute-for-hour": F(1, 60), "hour-for-minute": F(60)}
SIXTY_OF_TIME = {"hours-as-minutes": F(1, 60), "seconds-as-minutes": F(60)}
LB = F("2.2")
PER_KG = (
    "0.01",
    "0.02",
    "0.05",
    "0.1",
    "0.15",
    "0.2",
    "0.25",
    "0.3",
    "0.5",
    "1",
    "1.5",
    "2",
    "4",
    "10",
)
STRENGTHS = (
    "0.1",
    "0.4",
    "1",
    "2",
    "2.5",
    "3",
    "4",
    "5",
    "8",
    "10",
    "20",
    "25",
    "50",
    "62.5",
    "100",
)
# Of this set a mL an hour is a drop a minute.
MICRO = 60
SETS = (10, 15, 20, 60)
FACTORS = ("0.16", "0.28", "1.56", "2.41", "3.14")


@dataclass(frozen=True)
class Case:
    """A problem, what is right, what each slip gives, the marks of its device at an
    amount, and the most that is right."""

    problem: Mapping[str, Any]
    asked: str
    unit: str
    right: F
    slips: dict[str, list[F]]
    marks: Callable[[F], F] | None = None
    is_down: bool = False
    most: F | None = None

    def every_slip(self) -> dict[str, list[F]]:
        """With those of any figure, the wrong decimal places; but what moves the point as far as
        another strength aboard does is taken for that strength."""
        others = self.slips.get("other-presentation", ())
        moved = {key: self.right * by for key, by in DECIMALS.items()}
        return self.slips | {
            key: [each]
            for key, each in moved.items()
            if each not in others or key.startswith("thousandfold")
        }


def syringe_marks(amount: F) -> F:
    return F(1, 100) if amount < 1 else F(1, 10)


def pump_marks(amount: F) -> F:
    return F(1) if amount >= 10 else F(1, 10)


def fluid_marks(amount: F) -> F:
    return F(10) if amount >= 1000 else F(1) if amount >= 100 else F(1, 10)


def whole(_: F) -> F:
    return F(1)


def weights(random: Random, key: str = "weight") -> tuple[dict[str, str], F, dict[str, F]]:
    """A weight as it is told, in kg, and what the slips with it make of it."""
    if random.random() < 0.5:
        lb = random.randint(7, 260)
        wrong = {
            "pounds-as-kg": F(lb),
            "pounds-multiplied": lb * LB,
            "pounds-divided-twice": lb / LB / LB,
        }
        return {key: f"{lb} lb"}, lb / LB, wrong
    kg = random.randint(3, 120)
    return {key: f"{kg} kg"}, F(kg), {"kg-as-pounds": kg / LB, "kg-to-pounds": kg * LB}


def limited(amount: F, least: F | None, most: F | None) -> F:
    if most is not None and amount > most:
        return most
    return least if least is not None and amount < least else amount


def weight(random: Random) -> Case:
    told, kg, wrong = weights(random, "from")
    made = {key: [each] for key, each in wrong.items()}
    return Case({"kind": "weight", **told}, "kg", "kg", kg, made)


def multiplied(volume: F, strength: F) -> dict[str, list[F]]:
    """By the strength, where the dose is divided by it; none where a moved point gives as much."""
    by = strength * strength
    return {} if by in DECIMALS.values() else {"strength-multiplied": [volume * by]}


def dose(random: Random) -> Case:
    """A dose by weight with limits that may bite, of a strength with others aboard."""
    told, kg, wrong = weights(random)
    per, strength = F(random.choice(PER_KG)), F(random.choice(STRENGTHS))
    meant = per * kg
    most = F(random.choice([1, 2, 5, 10, 25, 50, 100, 150, 300])) if random.random() < 0.5 else None
    least = F("0.1") if random.random() < 0.2 else None
    others = [each for each in random.sample(STRENGTHS, 1) if F(each) != strength]
    doses = random.choice([1, 1, 1, 2, 3])
    asked = random.choice(["dose", "volume", "volume", *(["total"] if doses > 1 else [])])
    by = strength if asked == "volume" else F(1, doses) if asked == "total" else F(1)
    right = limited(meant, least, most) / by
    wrong["no-weight"] = F(1)
    # What meets a limit is the limit's own figure: no wrong weight can be told from it.
    free = {key: per * each for key, each in wrong.items()}
    made = {key: [each / by] for key, each in free.items() if each == limited(each, least, most)}
    if most is not None:
        made["no-maximum"] = [limited(meant, least, None) / by]
    if least is not None:
        made["no-minimum"] = [limited(meant, None, most) / by]
    if asked == "volume":
        made["dose-as-volume"] = [right * strength]
        made |= multiplied(right, strength)
        if others:
            made["other-presentation"] = [right * strength / F(each) for each in others]
    if doses > 1:
        made["each-for-total" if asked == "total" else "total-for-each"] = [
            right / doses if asked == "total" else right * doses
        ]
    problem: dict[str, Any] = {
        "kind": "dose",
        **told,
        "per_weight": f"{float(per):g} mg/kg",
        "concentration": f"{float(strength):g} mg/mL",
        "others": [f"{each} mg/mL" for each in others],
        "doses": doses,
    }
    if most is not None:
        problem["max"] = f"{most} mg"
    if least is not None:
        problem["min"] = "0.1 mg"
    top = None if most is None else most / by
    marks = syringe_marks if asked == "volume" else None
    return Case(problem, asked, "mL" if asked == "volume" else "mg", right, made, marks, most=top)


PER_MIN = [1, 2, 3, 4, 5, 7, 10, 15, 20]


def drip(random: Random) -> Case:
    """A dose rate by weight, run by a pump or by drops, of a strength with another aboard."""
    told, kg, wrong = weights(random)
    per, (strength, also) = random.choice(PER_MIN), random.sample([100, 400, 800], 2)
    drops, other = random.sample(SETS, 2)
    asked = random.choice(["mL_per_h", "gtt_per_min"])
    by = F(60 if asked == "mL_per_h" else drops, strength)
    right = per * kg * by
    made = {key: [per * each * by] for key, each in {**wrong, "no-weight": F(1)}.items()}
    made |= {key: [right * each] for key, each in SIXTY.items()}
    made["other-presentation"] = [right * strength / also]
    if asked == "gtt_per_min":
        made["other-set"] = [right * other / drops]
        made["drops-as-ml"] = [right / drops]
        if drops != MICRO:
            made["hourly-as-drops"] = [right * 60 / drops]
    problem = {
        "kind": "drip",
        **told,
        "dose_rate": f"{per} mcg/kg/min",
        "concentration": f"{strength} mcg/mL",
        "others": [f"{also} mcg/mL"],
        "set": f"{drops} gtt/mL",
        "other_sets": [f"{other} gtt/mL"],
    }
    is_drops = asked == "gtt_per_min"
    unit, marks = ("gtt/min", whole) if is_drops else ("mL/h", pump_marks)
    return Case(problem, asked, unit, right, made, marks)


def bag(random: Random) -> Case:
    """A volume over a time, in drops or by a pump."""
    volume = random.choice([100, 250, 400, 500, 750, 1000])
    minutes = random.choice([20, 45, 60, 90, 120, 180, 240, 480])
    drops, other = random.sample(SETS, 2)
    asked = random.choice(["mL_per_h", "gtt_per_min"])
    right = F(volume, minutes) * (drops if asked == "gtt_per_min" else 60)
    made = {key: [right * each] for key, each in SIXTY.items()}
    if asked == "gtt_per_min":
        made["other-set"], made["drops-as-ml"] = [right * other / drops], [right / drops]
        if drops != MICRO:
            made["hourly-as-drops"] = [right * 60 / drops]
    problem = {
        "kind": "drip",
        "volume": f"{volume} mL",
        "over": f"{minutes} min",
        "set": f"{drops} gtt/mL",
        "other_sets": [f"{other} gtt/mL"],
    }
    is_drops = asked == "gtt_per_min"
    unit, marks = ("gtt/min", whole) if is_drops else ("mL/h", pump_marks)
    return Case(problem, asked, unit, right, made, marks)


def dilution(random: Random) -> Case:
    strength, volume = F(random.choice(STRENGTHS)), F(random.choice([1, 2, 3, 5, 10]))
    to = volume + random.choice([4, 7, 9, 18, 40, 90])
    problem = {
        "kind": "dilution",
        "concentration": f"{float(strength):g} mg/mL",
        "volume": f"{volume} mL",
        "to": f"{to} mL",
    }
    made = {"diluent-for-total": [strength * volume / (to - volume)]}
    return Case(problem, "concentration", "mg/mL", strength * volume / to, made)


def oxygen(random: Random) -> Case:
    factor, other = (F(each) for each in random.sample(FACTORS, 2))
    psi, residual = random.randrange(400, 2200, 50), random.choice([200, 200, 200, 500])
    psi = max(psi, residual + 100)
    flows = [random.choice([2, 4, 6, 8, 10, 12, 15]) for _ in range(random.choice([1, 1, 2]))]
    right = (psi - residual) * factor / sum(flows)
    made = {
        "no-residual": [psi * factor / sum(flows)],
        "other-cylinder": [(psi - residual) * other / sum(flows)],
        **{key: [right * each] for key, each in SIXTY_OF_TIME.items()},
    }
    if len(flows) > 1:
        made["one-patient"] = [(psi - residual) * factor / each for each in flows]
    problem = {
        "kind": "oxygen",
        "factor": f"{float(factor):g} L/psi",
        "other_factors": [f"{float(other):g} L/psi"],
        "pressure": f"{psi} psi",
        "residual": f"{residual} psi",
        "flow": [f"{each} L/min" for each in flows],
    }
    return Case(problem, "minutes", "min", right, made, whole, is_down=True)


def burn(random: Random) -> Case:
    told, kg, wrong = weights(random)
    area, per, since = random.randint(5, 70), random.choice([2, 3, 4]), random.choice([0, 1, 2, 3])
    asked = random.choice(["total", "first_half_rate"])
    by = F(1) if asked == "total" else F(1, 2 * (8 - since))
    right = kg * area * per * by
    made = {key: [each * area * per * by] for key, each in {**wrong, "no-weight": F(1)}.items()}
    made |= {"burn-doubled": [right * 2], "burn-halved": [right / 2]}
    if asked == "first_half_rate":
        made |= {key: [right * each] for key, each in SIXTY.items()}
        if since:
            made["from-arrival"] = [kg * area * per / 16]
            made["whole-from-arrival"] = [kg * area * per / 8]
    problem = {
        "kind": "burn",
        **told,
        "area": f"{area} %",
        "per": f"{per} mL/kg/%",
        "since_injury": f"{since} h",
    }
    unit, marks = ("mL", fluid_marks) if asked == "total" else ("mL/h", pump_marks)
    return Case(problem, asked, unit, right, made, marks)


def energy(random: Random) -> Case:
    told, kg, wrong = weights(random)
    per, most = F(random.choice(["0.5", "1", "2", "4"])), random.choice([None, 200, 360])
    right = limited(per * kg, None, F(most) if most else None)
    made = {
        key: [per * each]
        for key, each in {**wrong, "no-weight": F(1)}.items()
        if most is None or per * each <= most
    }
    problem = {"kind": "energy", **told, "per_weight": f"{float(per):g} J/kg"}
    if most:
        made["no-maximum"], problem["max"] = [per * kg], f"{most} J"
    return Case(problem, "energy", "J", right, made, pump_marks)


# Doses twice: most that is asked is one.
KINDS: tuple[Callable[[Random], Case], ...] = (
    weight,
    dose,
    dose,
    drip,
    bag,
    dilution,
    oxygen,
    burn,
    energy,
)
