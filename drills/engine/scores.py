"""Scores from what is seen and measured: coma scales, pressures, shock index, usual signs.

Every figure is exact. Which scale, which set of bands: the caller names it, and it is told with
the result, since published ones do not agree.
"""

from collections.abc import Mapping
from fractions import Fraction

from drills.engine.ages import Age
from drills.engine.quantities import plain
from drills.engine.tables import (
    COMA_SCALES,
    SHOCK_BANDS,
    SYSTOLIC,
    VITAL_SIGNS,
    NotThereError,
    OutsideError,
    at_age,
    one_of,
    over_zero,
)
from drills.engine.tables.kinds import ComaStep, ShockBand, VitalSign

EYES, VOICE, MOVEMENT = "eyes", "voice", "movement"
COMA_PARTS = (EYES, VOICE, MOVEMENT)
MOST_MMHG, MOST_BEATS = 400, 400


def coma_scales() -> tuple[str, ...]:
    """The names of the scales."""
    return tuple(dict.fromkeys(row.scale for row in COMA_SCALES))


def coma_steps(scale: str, part: str) -> tuple[ComaStep, ...]:
    """The answers of one part of a scale, best first; `NotThereError` for either name."""
    name = one_of("coma scale", scale, coma_scales())
    chosen = one_of("part of a coma scale", part, COMA_PARTS)
    return tuple(row for row in COMA_SCALES if (row.scale, row.part) == (name, chosen))


def coma_words(scale: str, part: str, words: str) -> str:
    """The words of the scale for what is also said for them; any others as they are."""
    asked = words.strip().casefold()
    for row in coma_steps(scale, part):
        if asked in map(str.casefold, row.others):
            return row.words
    return words


def coma_step(scale: str, part: str, words: str) -> ComaStep:
    """The answer with these words; `NotThereError` names all that the part has."""
    steps = {row.words: row for row in coma_steps(scale, part)}
    asked = coma_words(scale, part, words)
    return steps[one_of(f"answer for {part} in the scale {scale}", asked, steps)]


def coma_total(scale: str, seen: Mapping[str, str]) -> int:
    """The points of a scale, 3 to 15, from the words seen for eyes, voice and movement.

    `NotThereError` unless each of the three has words of that scale: a part that could not be
    seen has no points, and the rest is no total.
    """
    if seen.keys() != set(COMA_PARTS):
        told = ", ".join(seen) or "nothing"
        raise NotThereError(f"{told} is no whole score; accepted is {', '.join(COMA_PARTS)}.")
    return sum(coma_step(scale, part, seen[part]).points for part in COMA_PARTS)


def mean_pressure(systolic: Fraction, diastolic: Fraction) -> Fraction:
    """Mean arterial pressure in mmHg: (systolic + 2 x diastolic) / 3.

    `OutsideError` unless both are over 0 and the diastolic is no higher.
    """
    over_zero("systolic pressure", systolic, "mmHg", MOST_MMHG)
    over_zero("diastolic pressure", diastolic, "mmHg", MOST_MMHG)
    if diastolic > systolic:
        raise OutsideError(
            f"{plain(systolic)}/{plain(diastolic)} mmHg; accepted is the higher one first."
        )
    return (systolic + 2 * diastolic) / 3


def shock_index(beats: Fraction, systolic: Fraction) -> Fraction:
    """Heart rate by systolic pressure; `OutsideError` unless both are over 0."""
    over_zero("heart rate", beats, "beats/min", MOST_BEATS)
    return beats / over_zero("systolic pressure", systolic, "mmHg", MOST_MMHG)


def modified_shock_index(beats: Fraction, systolic: Fraction, diastolic: Fraction) -> Fraction:
    """Heart rate by mean pressure; errors as of both."""
    over_zero("heart rate", beats, "beats/min", MOST_BEATS)
    return beats / mean_pressure(systolic, diastolic)


def age_shock_index(age: Age, beats: Fraction, systolic: Fraction) -> Fraction:
    """Whole years times the shock index; errors as of that."""
    return age.years * shock_index(beats, systolic)


def shock_sets() -> tuple[str, ...]:
    """The names of the sets of bands for a shock index."""
    return tuple(dict.fromkeys(row.set for row in SHOCK_BANDS))


def shock_band(index: Fraction, of: str) -> ShockBand:
    """What a set of bands calls a shock index; `NotThereError` for a set that is not there."""
    name = one_of("set of shock bands", of, shock_sets())
    # The rows of a set rise and the last has no limit, so there is one for every index.
    return next(row for row in SHOCK_BANDS if row.set == name and _reaches(row, index))


def least_systolic(age: Age) -> Fraction:
    """The systolic pressure in mmHg below which it is low at an age."""
    row = at_age("Least systolic pressure", age, SYSTOLIC)
    return row.mmhg + row.per_year * age.years


def usual_sign(of: str, sign: str, age: Age) -> VitalSign:
    """What is usual for a sign at an age by a published set; `NotThereError` from 18 years."""
    name = one_of("set of vital signs", of, (row.set for row in VITAL_SIGNS))
    rows = [row for row in VITAL_SIGNS if row.set == name]
    chosen = one_of(f"sign of {name}", sign, (row.sign for row in rows))
    return at_age(f"{chosen} of {name}", age, (row for row in rows if row.sign == chosen))


def _reaches(row: ShockBand, index: Fraction) -> bool:
    return row.up_to is None or index < row.up_to or (row.included and index == row.up_to)
