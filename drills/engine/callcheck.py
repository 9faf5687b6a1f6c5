"""Whether a call type is whole: whoever it draws can be described, spoken of and asked for."""

from collections.abc import Collection, Iterator
from itertools import product

from drills.engine.calls import ANY_SIZE, MUST, CallNeed, CallType, CallWorld, Phrase, Profile


def faults_of(call_type: CallType, world: CallWorld) -> tuple[str, ...]:
    """What keeps a call type from being drawn, each as a sentence; none where it is whole.

    Every patient it may bring has findings for the age and severity, and every patient who may be
    spoken of first has a phrase, whoever else is there.
    """
    return tuple(_faults(call_type, world))


def idle_of(call_type: CallType, world: CallWorld) -> tuple[str, ...]:
    """Phrases and needs that no call of this type ever uses, each as a sentence; harmless."""
    return tuple(_idle(call_type, world))


def _faults(call_type: CallType, world: CallWorld) -> Iterator[str]:
    yield from _lacking(call_type)
    for profile in call_type.profiles:
        yield from _undrawable(profile, world)
    yield from _unspoken(call_type)


def _lacking(call_type: CallType) -> Iterator[str]:
    always = sum(each.is_always for each in call_type.profiles)
    names_road = any("{road}" in each.text for each in call_type.phrases)
    told = {
        "It has no patients to draw.": not call_type.profiles,
        "It has no phrases.": not call_type.phrases,
        "It has no must-have.": all(each.grade != MUST for each in call_type.needs),
        f"{always} patients are always there, and there are at most {call_type.most}.": (
            always > call_type.most
        ),
        "A phrase names a road, and no kind of road is said.": (
            names_road and not call_type.road_kinds
        ),
    }
    return (words for words, is_so in told.items() if is_so)


def _undrawable(profile: Profile, world: CallWorld) -> Iterator[str]:
    problem = world.problems.get(profile.problem)
    if problem is None:
        yield f"There is no problem {profile.problem}."
        return
    for key in profile.shares:
        band = world.bands.get(key)
        if band is None:
            yield f"There is no age band {key}."
        elif not any(
            key in state.age_bands and state.severity in profile.severities
            for state in problem.states
        ):
            yield f"{problem.name} has no findings for {key} at the severities of its patients."
        elif not _meets(band.from_y, band.to_y, profile.ages):
            yield f"{problem.name}: nobody of {key} is of the ages that its patients have."


def _meets(from_y: float, to_y: float, ages: tuple[float | None, float | None]) -> bool:
    low = from_y if ages[0] is None else max(from_y, ages[0])
    high = to_y if ages[1] is None else min(to_y, ages[1])
    return low < high


def _unspoken(call_type: CallType) -> Iterator[str]:
    """Who may be the first patient and has no phrase that fits whoever else there is."""
    for first in _firsts(call_type) if call_type.phrases else ():
        for band, severity in product(first.shares, first.severities):
            if not any(
                _is_sure(each, first.problem, severity, band, call_type)
                for each in call_type.phrases
            ):
                who = f"{first.problem} of severity {severity} in the age band {band}"
                yield f"No phrase always fits {who}."


def _bands(call_type: CallType) -> set[str]:
    return {band for each in call_type.profiles for band in each.shares}


def _firsts(call_type: CallType) -> tuple[Profile, ...]:
    """Who may be the first patient: whoever is always there comes before those who are drawn."""
    always = tuple(each for each in call_type.profiles if each.is_always)
    return always[:1] or call_type.profiles


def _is_sure(phrase: Phrase, problem: str, severity: int, band: str, call_type: CallType) -> bool:
    """Whether a phrase fits such a first patient, whoever else there is."""
    always = sum(each.is_always for each in call_type.profiles)
    least, most = max(call_type.least, always), max(call_type.most, always)
    is_of_first = phrase.names_a_patient or most == 1
    bands = {band} if is_of_first else _bands(call_type)
    return phrase.is_of(problem, severity, bands=bands, counts={least, most})


def _idle(call_type: CallType, world: CallWorld) -> Iterator[str]:
    for phrase in call_type.phrases:
        if not _is_ever_said(phrase, call_type):
            yield f"The phrase “{phrase.text}” fits none of its patients."
    for need in call_type.needs:
        if not any(need_fits(need, each, world) for each in call_type.profiles):
            yield f"{need.name or need.need} is asked for by none of its patients."


def _is_ever_said(phrase: Phrase, call_type: CallType) -> bool:
    firsts = [each for each in _firsts(call_type) if _meet(phrase.problems, (each.problem,))]
    severities = {severity for each in firsts for severity in each.severities}
    has_age = _meet(phrase.age_bands, _bands(call_type))
    return bool(firsts) and _meet(phrase.severities, severities) and has_age


def need_fits(need: CallNeed, profile: Profile, world: CallWorld) -> bool:
    """Whether a need may be asked for by a patient of a profile."""
    sizes = {world.bands[band].size for band in profile.shares if band in world.bands}
    return (
        need.problem in {"", profile.problem}
        and need.size in {ANY_SIZE, *sizes}
        and _meet(need.severities, profile.severities)
    )


def _meet(named: Collection[object], there: Collection[object]) -> bool:
    """Whether any that is named is there; where none is named, all are."""
    return not named or any(each in there for each in named)
