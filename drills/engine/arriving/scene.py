"""Safety, the first report and who is asked for, and what each of two crews does: the scene.

No published mnemonic of a first report was read, so the elements are common practice, no source.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain
from random import Random

from drills.engine.arriving.covering import covering
from drills.engine.arriving.crews import FIRST, SECOND, Crew
from drills.engine.arriving.known import Known
from drills.engine.arriving.offering import Offer, keys_of, some_of
from drills.engine.arriving.tables import (
    DOES,
    DUTIES,
    ELEMENTS,
    HAZARDS,
    MAY,
    REPORTS,
    RESOURCES,
    RIGHT,
    UNASKED,
    WORN,
    WRONG,
    Duty,
)
from drills.engine.calls import MUST, Asked, CallType
from drills.engine.choosing import ONE, SOME, Choice, Choosing, Group

SAFETY, REPORT, DUTY = "safety", "report", "crew"
PRACTICE = "common practice, no source"
OURS = "ours, no source; medical direction checks it"
SAFETY_RULE = (
    "Gloves for every patient, and what this kind of call must have. What fits a hazard that may "
    "be there costs nothing. A hazard that was not looked for takes marks and does not fail it."
)
REPORT_RULE = (
    "Who you are, what you see, whether it is safe, how many, how bad and what you need; of many "
    "also where, who is in charge and where others wait. A rig takes two patients at most."
)
DUTY_RULE = (
    "The first crew takes charge, sorts and counts, and keeps its rig there. The second reports to "
    "whoever is in charge, takes one task and does not sort anew."
)
# How many further ambulances may be said, each with the least and the most of it.
AMBULANCES = (
    ("0", "No more", 0, 0),
    ("1", "1", 1, 1),
    ("2", "2", 2, 2),
    ("3", "3 or 4", 3, 4),
    ("5", "5 or 6", 5, 6),
    ("7", "7 or more", 7, 99),
)
A_RIG_TAKES = 2


def safety(
    call_type: CallType,
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
        groups.append(_worn(call_type, known, aboard))
        why += _not_aboard(asked, aboard)
    if call_type.hazards_here:
        hazards = [
            Offer(key, row.words, _hazard(call_type, key), row.about)
            for key, row in HAZARDS.items()
        ]
        asks = "Which hazards do you look for?"
        groups.append(some_of("look", asks, hazards, difficulty, random, decides=False))
        why += [f"Of this kind of call: {'; '.join(call_type.hazards)}."] * bool(call_type.hazards)
    why = [f"{each.name or each.need}: {each.why}." for each in asked if each.why] + why
    return (
        Choosing(SAFETY, tuple(groups), SAFETY_RULE, PRACTICE, why=tuple(why)) if groups else None
    )


def _worn(call_type: CallType, known: Known, aboard: Mapping[str, str]) -> Group:
    """Everything aboard that is worn, in the order of its table."""
    asked = [each for each in known.certain if each.need in WORN]
    for_all = [[need] for need in aboard if WORN[need].is_for_all]
    right, one_of = covering([*(set(_serving(each)) & set(aboard) for each in asked), *for_all])
    free = set(chain.from_iterable(map(_serving, (*known.certain, *known.possible))))
    free |= set(_against(call_type, aboard)) - known.needless
    return Group(
        "wear",
        "What do you put on, of what is aboard?",
        SOME,
        tuple(Choice(need, name) for need, name in aboard.items()),
        right=tuple(need for need in aboard if need in right),
        may=tuple(need for need in aboard if need in free - right),
        one_of=one_of,
    )


def _serving(asked: Asked) -> tuple[str, ...]:
    return (asked.need, *asked.instead)


def _against(call_type: CallType, aboard: Iterable[str]) -> Iterator[str]:
    """What of the worn things is against a hazard that may be there."""
    there = {*call_type.hazards_here, *call_type.hazards_possible}
    return (need for need in aboard if there & set(WORN[need].against.split(";")))


def _not_aboard(asked: Iterable[Asked], aboard: Mapping[str, str]) -> Iterator[str]:
    for each in asked:
        if not set(_serving(each)) & set(aboard):
            yield f"Not aboard: {each.name or each.need}. Stay out, and ask for who has it."


def _hazard(call_type: CallType, key: str) -> str:
    if key in call_type.hazards_here:
        return MUST
    return MAY if key in call_type.hazards_possible else WRONG


def report(
    call_type: CallType, patients: int, threshold: int, difficulty: int, random: Random
) -> Choosing:
    """What the first report has, and who is asked for, once the patients are counted."""
    is_many = patients >= threshold
    elements = [
        Offer(each.element, each.words, each.of_many if is_many else each.of_few)
        for each in ELEMENTS
    ]
    says = some_of("says", "What is in it?", elements, difficulty, random, decides=False)
    asks = _resources(call_type, difficulty, random)
    wrong = {each.key for each in says.choices} - {*says.right, *says.may}
    noted = (each for each in ELEMENTS if each.note and each.element in wrong)
    why = [f"Not in it: {each.words[:1].lower()}{each.words[1:]} ({each.note})." for each in noted]
    why.append(f"Such a report: {call_type.size_up}.")
    groups = (says, *asks, _ambulances(patients))
    return Choosing(REPORT, groups, REPORT_RULE, PRACTICE, why=tuple(why))


def _resources(call_type: CallType, difficulty: int, random: Random) -> tuple[Group, ...]:
    """Who is asked for, where the kind of call says anything of it."""
    if not call_type.asks_for and not call_type.may_ask_for:
        return ()
    offers = [
        Offer(key, row.words, _resource(call_type, key), row.about)
        for key, row in RESOURCES.items()
    ]
    return (some_of("asks", "Who else do you ask for?", offers, difficulty, random, decides=True),)


def _resource(call_type: CallType, key: str) -> str:
    if key in call_type.asks_for:
        return MUST
    return MAY if key in call_type.may_ask_for else WRONG


def _ambulances(patients: int) -> Group:
    """How many more: at least a rig for two patients, at most one for each; a second one is never
    too many."""
    least = -(-patients // A_RIG_TAKES) - 1
    most = max(patients - 1, 1)
    return Group(
        "more",
        "How many further ambulances?",
        ONE,
        tuple(Choice(key, words) for key, words, *_ in AMBULANCES),
        right=tuple(key for key, _, low, high in AMBULANCES if low <= most and high >= least),
        decides=False,
    )


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
