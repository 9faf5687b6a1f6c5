"""What cannot be, or reads wrongly, in a call as it is shown: each a sentence.

Only what a page prints is looked at, so that nothing of how the call was made can hide it.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from math import inf
from types import MappingProxyType

from drills.engine.ages import MONTHS, Age
from drills.engine.calls import NEEDLESS, AgeBand, Asked, Call, Patient
from drills.engine.dispatch import SHOWN_SIGNS
from drills.engine.incidents import Casualty, Incident
from drills.engine.incidents.asking import prompts_of
from drills.engine.problemcheck import LEAST_AWAKE, SCALES, usual_most
from drills.engine.tables import SYSTOLIC, at_age
from drills.engine.wanted import Wanted

# Who obeys has so many points of the coma scale at least: six for that, one and two beside it. From
# as many as the second on nobody fails to.
OBEYS_FROM, SURELY_OBEYS = 9, 13
_RATES = {"hr": "heart rate awake", "rr": "breaths"}
_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_FAULTS: Mapping[str, re.Pattern[str]] = MappingProxyType(
    {
        "a word comes twice": re.compile(r"\b([a-z]+) \1\b", re.IGNORECASE),
        "a hole is not filled": re.compile(r"[{}]|\bNone\b|\bnan\b"),
        "one is counted as many": re.compile(
            r"\b(?:1|one) (?:patients|people|minutes|puncture wounds)\b", re.IGNORECASE
        ),
        "a sign or a gap comes twice": re.compile(r"  |\.\.|,,| [.,;]|\?\.|\.,"),
        "an article does not fit": re.compile(
            r"\ba (?:8|11|18|8\d)[- ]|\ban (?:[1-79]|1[02-79]|[2-79]\d)[- ]", re.IGNORECASE
        ),
        "a sentence begins small": re.compile(r"(?:^|[.?] )[a-z]"),
    }
)


def oddities_of(call: Call, bands: Mapping[str, AgeBand]) -> tuple[str, ...]:
    """All that is odd in what a call says and shows; nothing where it is sound.

    `bands` are the age bands that its patients are of.
    """
    found = [*faults_of_text("the caller", call.dispatch)]
    for patient in call.patients:
        found += faults_of_text(f"patient {patient.number}", patient.findings)
        found += _of_signs(patient, bands[patient.band])
    return tuple(found)


def contradictions_of(incident: Incident) -> tuple[str, ...]:
    """Where what is found of somebody and their signs, or their category, deny one another.

    The category is worked out anew by the chart; the signs are those that are shown.
    """
    found = []
    for casualty, prompt in zip(incident.casualties, prompts_of(incident), strict=True):
        who = f"patient {casualty.number}, {casualty.patient.who}"
        category = incident.outcome(casualty).category
        if category != prompt.answer:
            found.append(f"{who}: {prompt.answer} is asked for, and the chart comes to {category}.")
        found += [f"{who}: {words}" for words in _denied(casualty)]
    return tuple(found)


def _denied(casualty: Casualty) -> Iterator[str]:
    signs, found = _figures(casualty.patient), casualty.findings
    if signs.get("rr", found["rate"]) != found["rate"]:
        yield f"breathes {found['rate']}, and {signs['rr']:g} are shown."
    least = least_systolic(casualty.patient.age_y)
    systolic = signs.get("sbp", least)
    has_pulse = "a pulse" if found["pulse"] else "no pulse"
    if systolic < least - 1 if found["pulse"] else systolic > least + 1:
        yield f"{has_pulse} at the wrist, and systolic {systolic:g} of {least:g} at least."
    coma = signs.get("gcs", OBEYS_FROM)
    for does in ("obeys", "walks"):
        if found.get(does) and coma < OBEYS_FROM:
            yield f"{does}, and the coma scale is {coma:g}."


def unaccounted(asked: Iterable[Asked], wanted: Iterable[Wanted]) -> tuple[str, ...]:
    """Needs of a call that are neither aboard in full nor told to be short, each a sentence."""
    told = {each.need: each for each in wanted}
    return tuple(
        words for need in asked for words in _unaccounted(need, told.get(need.need)) if words
    )


def _unaccounted(need: Asked, here: Wanted | None) -> Iterator[str]:
    if here is None:
        yield f"{need.need} is asked for and not told."
        return
    if need.grade != NEEDLESS and here.quantity + here.short != need.quantity:
        yield f"{need.need}: {here.quantity} and {here.short} short of {need.quantity}."
    if here.quantity and not here.serving:
        yield f"{need.need}: {here.quantity} to bring, and nothing serves."


def faults_of_text(whose: str, text: str) -> Iterator[str]:
    """What reads wrongly in a text, each a sentence with the whole of it."""
    for fault, pattern in _FAULTS.items():
        if match := pattern.search(text):
            yield f"{whose}: {fault} ({match.group().strip()!r}): {text}"


def _of_signs(patient: Patient, band: AgeBand) -> Iterator[str]:
    """Signs that no body has, or none of the age, or not together."""
    signs = _figures(patient)
    who = f"patient {patient.number}, {patient.who}"
    for key, value in signs.items():
        low, high = SCALES[key]
        most = min(high, _most(key, band))
        if not low <= value <= most:
            yield f"{who}: {key} {value:g}; {low:g} to {most:g} is what a body of the age has."
    coma = signs.get("gcs", 3)
    least = least_systolic(patient.age_y)
    if coma >= SURELY_OBEYS and signs.get("sbp", least) < LEAST_AWAKE * least - 1:
        yield f"{who}: systolic {signs['sbp']:g} of {least:g} at least, and awake at {coma:g}."
    if signs.get("hr") == 0 and coma > 3:
        yield f"{who}: no pulse, and a coma scale of {coma:g}."


def _most(key: str, band: AgeBand) -> float:
    """As much of a rate as a body of an age has; of anything else there is no end here."""
    if key not in _RATES:
        return inf
    usual, times = usual_most(_RATES[key], band)
    return usual * times + 1


def least_systolic(age_y: float) -> float:
    """Below it the systolic pressure of an age is low, in mmHg, as published."""
    months = round(age_y * MONTHS)
    row = at_age("Least systolic pressure", Age(months), SYSTOLIC)
    return float(row.mmhg + row.per_year * (months // MONTHS))


def _figures(patient: Patient) -> dict[str, float]:
    """The signs that are shown of a patient, by key; none is 0."""
    told = dict(patient.signs)
    return {key: _figure(told[words]) for key, (words, _) in SHOWN_SIGNS.items() if words in told}


def _figure(told: str) -> float:
    match = _NUMBER.search(told)
    return float(match.group()) if match else 0.0
