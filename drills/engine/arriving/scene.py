"""Safety at a scene, and what each of two crews does there."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain
from random import Random

from drills.engine.arriving.covering import covering
from drills.engine.arriving.crews import FIRST, SECOND, Crew
from drills.engine.arriving.known import Known
from drills.engine.arriving.offering import Offer, keys_of, some_of
from drills.engine.arriving.sight import Scene
from drills.engine.arriving.tables import (
    DOES,
    DUTIES,
    HAZARDS,
    MAY,
    REPORTS,
    RIGHT,
    UNASKED,
    WORN,
    WRONG,
    Duty,
)
from drills.engine.calls import MUST, Asked
from drills.engine.choosing import ONE, SOME, Choice, Choosing, Group

SAFETY, DUTY = "safety", "crew"
PRACTICE = "common practice, no source"
OURS = "ours, no source; medical direction checks it"
SAFETY_RULE = (
    "Gloves for every patient, a vest to be seen in where traffic passes, and what this kind of "
    "call must have. What fits a hazard that may be there costs nothing. A hazard that was not "
    "looked for takes marks and does not fail it."
)
DUTY_RULE = (
    "The first crew takes charge, sorts and counts, and keeps its rig there. The second reports to "
    "whoever is in charge, takes one task and does not sort anew."
)


def safety(
    scene: Scene,
    known: Known,
    aboard: Mapping[str, str],
    difficulty: int,
    random: Random,
) -> Choosing | None:
    """What is put on and looked for. `aboard` names by need what of the worn things the rig has."""
    groups: list[Group] = []
    why: list[str] = []
    asked = [each for each in known.certain if each.need in WORN]
    if aboard:
        groups.append(_worn(scene, known, aboard))
        why += _not_aboard(asked, aboard)
    if scene.here:
        hazards = [
            Offer(key, row.words, _hazard(scene, key), row.about) for key, row in HAZARDS.items()
        ]
        asks = "Which hazards do you look for?"
        groups.append(some_of("look", asks, hazards, difficulty, random, decides=False))
        why += [scene.hazards_told] * bool(scene.hazards_told)
    why = [f"{each.name or each.need}: {each.why}." for each in asked if each.why] + why
    return (
        Choosing(SAFETY, tuple(groups), SAFETY_RULE, PRACTICE, why=tuple(why)) if groups else None
    )


def _worn(scene: Scene, known: Known, aboard: Mapping[str, str]) -> Group:
    """Everything aboard that is worn, in the order of its table."""
    asked = [each for each in known.certain if each.need in WORN]
    here = [[need] for need in aboard if _is_always_worn(need, scene, known)]
    right, one_of = covering([*(set(_serving(each)) & set(aboard) for each in asked), *here])
    free = set(chain.from_iterable(map(_serving, (*known.certain, *known.possible))))
    free |= set(_against(scene, aboard)) - known.needless
    return Group(
        "wear",
        "What do you put on, of what is aboard?",
        SOME,
        tuple(Choice(need, name) for need, name in aboard.items()),
        right=tuple(need for need in aboard if need in right),
        may=tuple(need for need in aboard if need in free - right),
        one_of=one_of,
    )


def _is_always_worn(need: str, scene: Scene, known: Known) -> bool:
    """Whether it is worn for every patient, or for a hazard that is there for certain."""
    row = WORN[need]
    is_for_hazard = not set(scene.here).isdisjoint(row.must_for.split(";"))
    return row.is_for_all or (is_for_hazard and need not in known.needless)


def _serving(asked: Asked) -> tuple[str, ...]:
    return (asked.need, *asked.instead)


def _against(scene: Scene, aboard: Iterable[str]) -> Iterator[str]:
    """What of the worn things is against a hazard that may be there."""
    there = {*scene.here, *scene.possible}
    return (need for need in aboard if there & set(WORN[need].against.split(";")))


def _not_aboard(asked: Iterable[Asked], aboard: Mapping[str, str]) -> Iterator[str]:
    for each in asked:
        if not set(_serving(each)) & set(aboard):
            yield f"Not aboard: {each.name or each.need}. Stay out, and ask for who has it."


def _hazard(scene: Scene, key: str) -> str:
    if key in scene.here:
        return MUST
    return MAY if key in scene.possible else WRONG


def duties(crew: Crew, difficulty: int, random: Random) -> Choosing | None:
    """What the crew does of several, and the second whom it reports to; nothing of an only crew."""
    if crew.role not in (FIRST, SECOND):
        return None
    does = some_of("does", "What do you do?", _offers(crew, DOES), difficulty, random, decides=True)
    groups = (*_reports(_offers(crew, REPORTS)), does)
    shown = {each.key for group in groups for each in group.choices}
    noted = (row for row in DUTIES if row.note and row.duty in shown and _is_noted(row, crew))
    why = tuple(f"{row.words}: {row.note}." for row in noted)
    return Choosing(DUTY, groups, DUTY_RULE, OURS, why=why)


def _is_noted(row: Duty, crew: Crew) -> bool:
    """Whether a note speaks to this crew: of what is wrong, or of what is asked of it alone."""
    return _graded(row, crew) == WRONG or UNASKED in (row.first, row.second)


def _offers(crew: Crew, kind: str) -> list[Offer]:
    """What a crew may choose, of what it does or of whom it reports to."""
    offers = (Offer(row.duty, row.words, _graded(row, crew)) for row in DUTIES if row.asks == kind)
    return [each for each in offers if each.grade != UNASKED]


def _graded(row: Duty, crew: Crew) -> str:
    return row.first if crew.role == FIRST else row.second


def _reports(offers: Sequence[Offer]) -> tuple[Group, ...]:
    """Whom one reports to, where that is asked."""
    if not offers:
        return ()
    choices = tuple(Choice(each.key, each.words) for each in offers)
    asks = "Whom do you report to?"
    return (Group("to", asks, ONE, choices, right=keys_of(offers, RIGHT)),)
