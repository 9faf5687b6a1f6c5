"""Small sums: the size of a tube, the least pressure of an age, MAP, shock index, GCS.

What is scored names its scale, since published ones do not agree.
"""

from fractions import Fraction
from random import Random

from drills.engine.ages import Age
from drills.engine.chance import drawn_evenly
from drills.engine.dosing import sums
from drills.engine.estimates import CUFFED, UNCUFFED
from drills.engine.exercises.exercise import Exercise, Told, Topic
from drills.engine.exercises.paper import amount, settled
from drills.engine.exercises.people import age_drawn, told_age
from drills.engine.exercises.stores import Stores
from drills.engine.quantities import plain
from drills.engine.recipes import SUPPLY
from drills.engine.scores import COMA_PARTS, EYES, MOVEMENT, VOICE, coma_scales, coma_steps
from drills.engine.tables import COMA_PATIENTS, COMA_SCALES, SHOCK_BANDS, SYSTOLIC, TUBES_BY_AGE
from drills.engine.tables.kinds import Systolic, TubeByAge

TOPIC = Topic(SUPPLY, "sums", ("mmHg", "mm", "points", "index"))
WHOLE_MMHG = "Whole mmHg."
TWO_SIZES, OTHER_SCALE = "a size between two", "a scale for infants"
_GROWN = "adult"
# What the trade calls the scales and their parts.
_SCALES = {
    _GROWN: "adult scale",
    "infant, PALS": "infant scale of PALS",
    "infant, college": "infant scale of an EMT course",
}
_PARTS = {EYES: "Eye", VOICE: "Verbal", MOVEMENT: "Motor"}
_FORMULA = "common practice, no source named (from memory)"


def write(grade: int, stores: Stores, random: Random) -> Exercise:
    """One of the small sums that a grade has."""
    drafts = {
        1: (_tube, _least_systolic, _shock_index),
        2: (_mean_pressure, _coma_score),
        3: (_tube, _coma_score),
    }[grade]
    draft = drawn_evenly(drafts, random)
    return settled(TOPIC.name, lambda: draft(grade, stores, random))


def _tube(grade: int, stores: Stores, random: Random) -> Exercise | None:
    """A size that is one at grade 1, one that lies between two above it."""
    age, cuff = age_drawn(random, range(13)), drawn_evenly((UNCUFFED, CUFFED), random)
    lines = [row for row in TUBES_BY_AGE if row.cuff == cuff]
    made = TOPIC.exercise(
        grade,
        stores,
        about="tube size",
        question=f"What size of {cuff} tube?",
        facts=(Told("Patient", f"{told_age(age)} child"),),
        given={"kind": "tube", "age": str(age), "cuff": cuff},
        asked=sums.SIZE,
        fineness="To the half millimetre.",
        rule=f"{cuff.capitalize()}: {', '.join(map(_tube_line, lines))}; between two, either.",
        source=_source(lines[0].source, lines[0].status),
        trap=TWO_SIZES if grade == 3 else "",
    )
    is_between = made.problem.solve().results[sums.SIZE].is_range
    return made if is_between == (grade == 3) else None


def _least_systolic(grade: int, stores: Stores, random: Random) -> Exercise:
    age = age_drawn(random, range(1, 17))
    return TOPIC.exercise(
        grade,
        stores,
        about="least systolic",
        question="Below what systolic pressure is this child's too low?",
        facts=(Told("Patient", f"{told_age(age)} child"),),
        given={"kind": "least_systolic", "age": str(age)},
        asked=sums.SYSTOLIC_MMHG,
        fineness=WHOLE_MMHG,
        rule=f"Low is below: {', '.join(map(_least_line, SYSTOLIC))}.",
        source=_source(SYSTOLIC[0].source, SYSTOLIC[0].status),
    )


def _mean_pressure(grade: int, stores: Stores, random: Random) -> Exercise:
    diastolic = 40 + 2 * int(random.random() * 30)
    systolic = diastolic + 3 * int(8 + random.random() * 15)
    return TOPIC.exercise(
        grade,
        stores,
        about="MAP",
        question="What is the mean arterial pressure (MAP)?",
        facts=(Told("Pressure", f"{systolic}/{diastolic} mmHg"),),
        given={
            "kind": "mean_pressure",
            "systolic": f"{systolic} mmHg",
            "diastolic": f"{diastolic} mmHg",
        },
        asked=sums.MEAN,
        fineness=WHOLE_MMHG,
        rule="MAP = (systolic + 2 x diastolic) / 3.",
        source=_FORMULA,
    )


def _shock_index(grade: int, stores: Stores, random: Random) -> Exercise:
    pulse, systolic = (Fraction(5 * int(low + random.random() * 16)) for low in (14, 14))
    return TOPIC.exercise(
        grade,
        stores,
        about="shock index",
        question="What is the shock index?",
        facts=(
            Told("Pulse", amount(pulse, "beats/min")),
            Told("Systolic", amount(systolic, "mmHg")),
        ),
        given={
            "kind": "shock_index",
            "pulse": amount(pulse, "beats/min"),
            "systolic": amount(systolic, "mmHg"),
        },
        asked=sums.INDEX,
        fineness="To the hundredth.",
        rule="Shock index = pulse / systolic pressure.",
        source=_source(SHOCK_BANDS[0].source, SHOCK_BANDS[0].status),
    )


def _coma_score(grade: int, stores: Stores, random: Random) -> Exercise:
    """Of a grown-up at grade 2; at grade 3 by a scale for infants, which is named."""
    others = [name for name in coma_scales() if name != _GROWN]
    scale = _GROWN if grade < 3 else drawn_evenly(others, random)
    patient = drawn_evenly([row for row in COMA_PATIENTS if row.scale == scale], random)
    seen = {EYES: patient.eyes, VOICE: patient.voice, MOVEMENT: patient.movement}
    return TOPIC.exercise(
        grade,
        stores,
        about=f"GCS, {scale}",
        question=f"What is the GCS, by the {_SCALES[scale]}?",
        facts=tuple(Told(_PARTS[part], words) for part, words in seen.items()),
        given={"kind": "coma_score", "scale": scale} | seen,
        asked=sums.POINTS,
        rule="; ".join(_part_line(scale, part) for part in COMA_PARTS) + ".",
        source=_sources_of(scale),
        trap=OTHER_SCALE if grade == 3 else "",
    )


def _sources_of(scale: str) -> str:
    rows = [row for row in COMA_SCALES if row.scale == scale]
    return "; ".join(dict.fromkeys(_source(row.source, row.status) for row in rows))


def _part_line(scale: str, part: str) -> str:
    steps = ", ".join(f"{row.points} {row.words}" for row in coma_steps(scale, part))
    return f"{_PARTS[part]} {steps}"


def _tube_line(row: TubeByAge) -> str:
    size = f"{plain(row.mm)} + age x {plain(row.per_year)}" if row.per_year else plain(row.mm)
    return f"below {Age(row.below_months or 0)} {size} mm"


def _least_line(row: Systolic) -> str:
    by_year = f" + {plain(row.per_year)} x age" if row.per_year else ""
    return f"{row.word} {plain(row.mmhg)}{by_year} mmHg"


def _source(source: str, status: str) -> str:
    return f"{source} ({status})"
