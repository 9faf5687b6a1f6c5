"""Whether a call type is whole: whoever it draws can be described, spoken of and asked for."""

from collections.abc import Iterator

from drills.engine.calls import ANY_SIZE, MUST, CallType, CallWorld, Phrase, Profile


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
    always = sum(each.is_always for each in call_type.profiles)
    if not call_type.profiles:
        yield "It has no patients to draw."
    if not call_type.phrases:
        yield "It has no phrases."
    if not any(each.grade == MUST for each in call_type.needs):
        yield "It has no must-have."
    if always > call_type.most:
        yield f"{always} patients are always there, and there are at most {call_type.most}."
    for profile in call_type.profiles:
        yield from _undrawable(profile, world)
    if not call_type.road_kinds and any("{road}" in each.text for each in call_type.phrases):
        yield "A phrase names a road, and no kind of road is said."
    if call_type.phrases:
        yield from _unspoken(call_type)


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
    bands = {band for each in call_type.profiles for band in each.shares}
    is_alone = max(call_type.most, sum(each.is_always for each in call_type.profiles)) == 1
    for profile in _firsts(call_type):
        for band in profile.shares:
            others = {band} if is_alone else bands
            if not any(_is_sure(each, profile, band, others) for each in call_type.phrases):
                yield f"No phrase always fits {profile.problem} in the age band {band}."


def _firsts(call_type: CallType) -> tuple[Profile, ...]:
    """Who may be the first patient: whoever is always there comes before those who are drawn."""
    always = tuple(each for each in call_type.profiles if each.is_always)
    return always[:1] or call_type.profiles


def _is_sure(phrase: Phrase, first: Profile, band: str, bands: set[str]) -> bool:
    if phrase.problems and first.problem not in phrase.problems:
        return False
    meant = {band} if "{patient}" in phrase.text else bands
    return not phrase.age_bands or meant <= set(phrase.age_bands)


def _idle(call_type: CallType, world: CallWorld) -> Iterator[str]:
    problems = {each.problem for each in call_type.profiles}
    bands = {band for each in call_type.profiles for band in each.shares}
    sizes = {world.bands[band].size for band in bands if band in world.bands}
    firsts = {each.problem for each in _firsts(call_type)}
    for phrase in call_type.phrases:
        is_of_first = not phrase.problems or firsts & set(phrase.problems)
        if not is_of_first or (phrase.age_bands and not bands & set(phrase.age_bands)):
            yield f"The phrase “{phrase.text}” fits none of its patients."
    for need in call_type.needs:
        fits = [each for each in call_type.profiles if need.problem in {"", each.problem}]
        severities = {severity for each in fits for severity in each.severities}
        is_asked = (
            need.problem in {"", *problems}
            and need.size in {ANY_SIZE, *sizes}
            and (not need.severities or severities & set(need.severities))
        )
        if not is_asked:
            yield f"{need.name or need.need} is asked for by none of its patients."
