"""What of a problem cannot be: signs no body of the age has, and words that its signs deny.

The usual figures of an age are published (`tables`); how far somebody ill may be from them is ours,
no source. What is odd here is mended in the data, never at random in a drill.
"""

import re
from collections.abc import Iterator, Mapping

from drills.engine.ages import MONTHS, Age
from drills.engine.calls import AgeBand, Problem, State, Vitals
from drills.engine.tables import SYSTOLIC, VITAL_SIGNS, at_age

Ranges = Mapping[str, tuple[float, float]]

SEVERITY_WORDS = {1: "Mild", 2: "Moderate", 3: "Severe"}
GROWN_MONTHS, OLD_MONTHS = 18 * MONTHS, 65 * MONTHS
# Who is 65 or more is low under it: the field triage guideline of 2021.
LEAST_OF_THE_OLD = 110.0
# Usual of grown people, breaths and beats a minute: common practice, no source read.
GROWN = {"breaths": 20.0, "heart rate awake": 100.0}
# How often the usual most of the age somebody ill may have, and how often in a mild state: ours.
MOST = {"breaths": 1.6, "heart rate awake": 1.4}
MOST_OF_INFANTS = {"breaths": 1.35, "heart rate awake": 1.15}
MOST_OF_GROWN = {"breaths": 2.0, "heart rate awake": 2.1}
MOST_WHEN_MILD = 1.4
# Of the least pressure of the age: less is not met in somebody who is awake, or alive. Ours.
LEAST_AWAKE, LEAST_ALIVE, AWAKE_FROM = 0.75, 0.6, 12
SCALES = {
    "hr": (0, 230),
    "rr": (0, 120),
    "sbp": (0, 230),
    "spo2": (40, 100),
    "gcs": (3, 15),
    "etco2": (0, 120),
    "glucose": (10, 900),
    "temp": (24, 43),
    "cohb": (0, 70),
}
NAMES = {
    "hr": "pulse",
    "rr": "breaths",
    "sbp": "systolic pressure",
    "spo2": "saturation",
    "gcs": "coma scale",
    "etco2": "end-tidal CO2",
    "glucose": "sugar",
    "temp": "temperature",
    "cohb": "carboxyhaemoglobin",
}
# Words, and of which sign they say that it is at least or at most so much. Common teaching.
SAID: tuple[tuple[str, str, float, float], ...] = (
    (r"unresponsive|no response|(no|not|does not) answer\b", "gcs", 3, 8),
    (r"\b(talks|speaks|answers|full sentences|clear-headed|clear speech)\b", "gcs", 9, 15),
    (r"drows|sleepy|hard to rouse|confused|drifting|cannot say the day", "gcs", 3, 14),
    (r"\bno pulse\b", "hr", 0, 0),
    (r"slow (faint|weak) pulse", "hr", 20, 60),
    (r"\bno breathing\b", "rr", 0, 0),
    (r"\bfever\b|\bhot\b", "temp", 37.9, 43),
    (r"shivers hard", "temp", 32, 36.5),
    (r"(blue|dusky) lips|lips dusky|blue body", "spo2", 40, 93),
)


def odd_in(problem: Problem, bands: Mapping[str, AgeBand]) -> tuple[str, ...]:
    """What of a problem cannot be, each as a sentence that names severity and age."""
    return tuple(dict.fromkeys(_odd(problem, bands)))


def _odd(problem: Problem, bands: Mapping[str, AgeBand]) -> Iterator[str]:
    for state in problem.states:
        for key in state.age_bands:
            where = f"{SEVERITY_WORDS.get(state.severity, state.severity)}, {key}"
            row = _vitals(problem, state, key)
            if key not in bands:
                yield f"{where}: there is no such age band."
            elif row is None:
                yield f"{where}: no vital signs are given."
            else:
                ranges = {**state.ranges, **row.ranges}
                for words in _odd_signs(ranges, bands[key], state):
                    yield f"{where}: {words}"


def _vitals(problem: Problem, state: State, band: str) -> Vitals | None:
    rows = (each for each in problem.vitals if each.severity == state.severity)
    return next((each for each in rows if each.age_band == band), None)


def _odd_signs(ranges: Ranges, band: AgeBand, state: State) -> Iterator[str]:
    for sign, (low, high) in ranges.items():
        least, most = SCALES[sign]
        if low > high or low < least or high > most:
            yield f"{_told(ranges, sign)}; accepted is {least} to {most}, the lower first."
    if lacks := [NAMES[each] for each in ("hr", "rr") if each not in ranges]:
        yield f"no {' and no '.join(lacks)}."
        return
    yield from _too_fast(ranges, band, is_mild=state.severity == 1)
    yield from _pressure(ranges, band)
    yield from _said(ranges, state.findings)


def _too_fast(ranges: Ranges, band: AgeBand, *, is_mild: bool) -> Iterator[str]:
    for sign, name in (("hr", "heart rate awake"), ("rr", "breaths")):
        usual, most = usual_most(name, band)
        limit = usual * (min(most, MOST_WHEN_MILD) if is_mild else most)
        if ranges[sign][1] > limit + 0.5:
            mild = " in a mild state" if is_mild else ""
            yield f"{_told(ranges, sign)}; at most {limit:.0f} at this age{mild}."


def usual_most(name: str, band: AgeBand) -> tuple[float, float]:
    """The published most at rest of the ages of a band, and how often that may be met."""
    low, high = band.from_y * MONTHS, band.to_y * MONTHS
    if low >= GROWN_MONTHS:
        return GROWN[name], MOST_OF_GROWN[name]
    found = [
        float(row.high)
        for row in VITAL_SIGNS
        if row.sign == name
        and row.from_months < round(high)
        and (row.below_months is None or row.below_months > round(low))
    ]
    return max(found), (MOST_OF_INFANTS if high <= MONTHS else MOST)[name]


def _pressure(ranges: Ranges, band: AgeBand) -> Iterator[str]:
    if "sbp" not in ranges or not ranges["hr"][1]:
        return
    low, high = ranges["sbp"]
    youngest, oldest = _least(band.from_y), _least(band.to_y - 1 / MONTHS)
    is_awake = ranges.get("gcs", (0, 0))[1] >= AWAKE_FROM
    floor = youngest * (LEAST_AWAKE if is_awake else LEAST_ALIVE)
    if low < floor:
        awake = "somebody awake of " if is_awake else ""
        yield f"{_told(ranges, 'sbp')}; at least {floor:.0f} for {awake}this age."
    if low < oldest and high >= youngest:
        yield (
            f"{_told(ranges, 'sbp')}; either under {youngest:.0f}, which is low at this age, or "
            f"from {oldest:.0f}, which is not."
        )


def _least(age_y: float) -> float:
    """Under it the systolic pressure of an age is low, in mmHg."""
    months = max(0, round(age_y * MONTHS))
    if months >= OLD_MONTHS:
        return LEAST_OF_THE_OLD
    row = at_age("Least systolic pressure", Age(months), SYSTOLIC)
    return float(row.mmhg + row.per_year * (months // MONTHS))


def _said(ranges: Ranges, findings: str) -> Iterator[str]:
    for words, sign, least, most in SAID:
        said = re.search(words, findings, re.IGNORECASE)
        if said and sign in ranges and not least <= ranges[sign][0] <= ranges[sign][1] <= most:
            yield (
                f"“{said[0]}”, and {_told(ranges, sign)}; with these words it is "
                f"{least:g} to {most:g}."
            )


def _told(ranges: Ranges, sign: str) -> str:
    low, high = ranges[sign]
    return f"{NAMES[sign]} {low:g} to {high:g}"
