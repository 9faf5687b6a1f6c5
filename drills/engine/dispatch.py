"""A generated call: what the caller says, and who is hurt or ill.

Patients are described by findings, never by a label; signs are drawn inside the ranges that the
data gives for the problem, the severity and the age.
"""

from collections.abc import Collection, Mapping, Sequence
from random import Random

from drills.engine.burns import burned_of
from drills.engine.calls import (
    AgeBand,
    Call,
    CallError,
    CallType,
    CallWorld,
    Patient,
    Phrase,
    Problem,
    Profile,
    State,
    needs_of,
)
from drills.engine.chance import drawn, drawn_evenly
from drills.engine.knobs import number_within
from drills.engine.weights import draw_weight, settled_weight, told_weight

GROWN_FROM_Y = 18
# The hours since a burn: roads are long, and of later ones the rate is caught up. Ours, no source.
BURNED_H = (1, 2)


def make_call(
    call_type: CallType,
    world: CallWorld,
    random: Random,
    *,
    least: int | None = None,
    most: int | None = None,
    share: tuple[float, float] = (0.0, 1.0),
) -> Call:
    """Draw a call; `least` and `most` narrow how many patients the call type may have.

    `share` is from where to where between them their number is drawn.
    """
    low = max(call_type.least, least or call_type.least)
    high = max(min(call_type.most, most or call_type.most), low)
    count = number_within(low, high, share, random)
    patients: list[Patient] = []
    for number, profile in enumerate(_profiles(call_type, count, random), 1):
        seen = {each.findings for each in patients}
        patients.append(_patient(number, profile, world, random, seen))
    return call_with(call_type, world, tuple(patients), random)


def call_with(
    call_type: CallType, world: CallWorld, patients: tuple[Patient, ...], random: Random
) -> Call:
    """The call of these patients, with what the caller says of them and what it asks for.

    Raises `CallError` where no phrase of the call type fits its patients.
    """
    said = _phrase(call_type, patients, random)
    dispatch = _dispatch(call_type, world, patients, said, random)
    is_burned = any(each.burned for each in patients)
    return Call(
        call_type=call_type.slug,
        name=call_type.name,
        dispatch=dispatch,
        patients=patients,
        needs=needs_of(call_type, patients),
        is_reviewed=call_type.is_reviewed,
        said=said,
        burned_h=drawn_evenly(BURNED_H, random) if is_burned else 0,
    )


def _profiles(call_type: CallType, count: int, random: Random) -> list[Profile]:
    """Who is always there, then drawn by weight until there are enough.

    No problem comes twice while another is left: two alike are rare, and read as a copy.
    """
    found = [each for each in call_type.profiles if each.is_always]
    others = [each for each in call_type.profiles if not each.is_always]
    if not call_type.profiles:
        raise CallError(f"{call_type.slug}: has no patients to draw.")
    while len(found) < count:
        found.append(_drawn_profile(others or found, found, random))
    return found


def _drawn_profile(pool: Sequence[Profile], found: Sequence[Profile], random: Random) -> Profile:
    fresh = [each for each in pool if each not in found] or pool
    return drawn(fresh, [each.weight or 1.0 for each in fresh], random)


def _patient(
    number: int, profile: Profile, world: CallWorld, random: Random, seen: Collection[str]
) -> Patient:
    """A patient of a profile, with findings that nobody has yet while there are others."""
    problem = world.problems[profile.problem]
    fitting = [
        (state, band)
        for state in problem.states
        if state.severity in profile.severities
        for band in profile.shares
        if band in state.age_bands
    ]
    if not fitting:
        raise CallError(f"{problem.key}: no findings for the ages and severities of this call.")
    states = [each for each in fitting if each[0].findings not in seen] or fitting
    state, band = drawn(states, [profile.shares[band] for _, band in states], random)
    age = draw_age(world.bands[band], profile.ages, random)
    is_female = random.random() < profile.female_share
    drawn_kg = draw_weight(age, is_female=is_female, random=random)
    kg = settled_weight(drawn_kg, age, is_female=is_female)
    return Patient(
        number=number,
        problem=problem.key,
        severity=state.severity,
        band=band,
        size=world.bands[band].size,
        age_y=age,
        is_female=is_female,
        weight=told_weight(kg, random),
        who=who_is(age, is_female=is_female),
        findings=state.findings,
        signs=told_signs(draw_signs(problem, state, band, random)),
        burned=burned_of(problem.key, state.findings),
    )


def draw_age(band: AgeBand, ages: tuple[float | None, float | None], random: Random) -> float:
    """An age in years inside a band and the limits beside, in whole months below two years."""
    low = max(band.from_y, band.from_y if ages[0] is None else ages[0])
    high = min(band.to_y, band.to_y if ages[1] is None else ages[1])
    years = low + random.random() * (high - low)
    return int(years * 12) / 12 if years < 2 else float(int(years))


def who_is(age_y: float, *, is_female: bool) -> str:
    """A patient in the words of a caller: `58-year-old woman`, `7-month-old boy`."""
    child, grown = ("girl", "woman") if is_female else ("boy", "man")
    months = round(age_y * 12)
    if months < 1:
        return f"newborn {child}"
    if age_y < 2:
        return f"{months}-month-old {child}"
    return f"{int(age_y)}-year-old {child if age_y < GROWN_FROM_Y else grown}"


# What is shown of each sign: the words before its number, and after.
SHOWN_SIGNS = {
    "hr": ("Pulse", " a minute"),
    "rr": ("Breathing", " a minute"),
    "sbp": ("Systolic", " mmHg"),
    "spo2": ("Saturation", " %"),
    "gcs": ("Coma scale", " of 15"),
    "etco2": ("End-tidal CO2", " mmHg"),
    "glucose": ("Sugar", " mg/dL"),
    "temp": ("Temperature", " °C"),
    "cohb": ("Carboxyhaemoglobin", " %"),
}


Ranges = Mapping[str, tuple[float, float]]


def ranges_of(problem: Problem, state: State, band: str) -> Ranges:
    """The ranges of the signs of a state at an age, which stand before those of the state."""
    ranges = dict(state.ranges)
    for each in problem.vitals:
        if (each.severity, each.age_band) == (state.severity, band):
            ranges |= each.ranges
    return ranges


def draw_signs(problem: Problem, state: State, band: str, random: Random) -> dict[str, float]:
    """Each sign drawn inside its range."""
    ranges = ranges_of(problem, state, band)
    return {
        key: low + random.random() * (high - low)
        for key in SHOWN_SIGNS
        if key in ranges
        for low, high in [ranges[key]]
    }


def told_signs(signs: Mapping[str, float]) -> tuple[tuple[str, str], ...]:
    """Signs in words, each with its figure; one of 0 is told as none."""
    found = []
    for key, value in signs.items():
        words, unit = SHOWN_SIGNS[key]
        shown = f"{value:.{int(key == 'temp')}f}"
        found.append((words, "none" if shown == "0" else f"{shown}{unit}"))
    return tuple(found)


_COUNTS = (
    *("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"),
    *("eleven", "twelve"),
)


def _phrase(call_type: CallType, patients: Sequence[Patient], random: Random) -> Phrase:
    first = patients[0]
    fitting = [each for each in call_type.phrases if _says(each, patients)]
    if not fitting:
        raise CallError(f"{call_type.slug}: no phrase fits a {first.who} with {first.problem}.")
    return drawn_evenly(fitting, random)


def _dispatch(
    call_type: CallType,
    world: CallWorld,
    patients: Sequence[Patient],
    said: Phrase,
    random: Random,
) -> str:
    """What the caller says, with the holes of the phrase filled."""
    roads = [name for name, kind in world.roads if kind in call_type.road_kinds]
    count = len(patients)
    text = said.text.format(
        patient=patients[0].who,
        place=drawn_evenly(world.places, random),
        road=drawn_evenly(roads, random) if roads else world.places[0],
        count=_counted(count),
    )
    return _sentences(text + _more(call_type, said, count))


def _more(call_type: CallType, said: Phrase, count: int) -> str:
    """How many there are, where the phrase speaks of one and the call type brings others."""
    always = sum(each.is_always for each in call_type.profiles)
    is_told = "{count}" in said.text or said.is_of_two
    return "" if is_told or count <= max(always, 1) else f" {_counted(count)} patients in all."


def _counted(count: int) -> str:
    return _COUNTS[count] if count < len(_COUNTS) else str(count)


def _says(phrase: Phrase, patients: Sequence[Patient]) -> bool:
    """Whether a phrase may be said: of the first patient where it names one, else of all."""
    first = patients[0]
    meant = [first] if phrase.names_a_patient else patients
    bands = [each.band for each in meant]
    return phrase.is_of(first.problem, first.severity, bands=bands, counts={len(patients)})


def _sentences(text: str) -> str:
    """Each sentence begins with a capital, whatever filled its first hole."""
    parts = text.split(". ")
    return ". ".join(part[:1].upper() + part[1:] for part in parts)
