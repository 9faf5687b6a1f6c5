"""The first report of a scene: what is in it, who is asked for, how many further ambulances.

No published mnemonic of a first report was read, so the elements are common practice, no source.
"""

from collections.abc import Callable, Mapping
from random import Random
from types import MappingProxyType

from drills.engine.arriving.offering import Offer, keys_of, offered, some_of
from drills.engine.arriving.sight import Scene, hazards_in_words
from drills.engine.arriving.tables import (
    ELEMENTS,
    EVERYWHERE,
    HAZARDS,
    MAY,
    RESOURCES,
    UNASKED,
    WRONG,
    Element,
)
from drills.engine.calls import MUST, Call, CallType
from drills.engine.chance import drawn_evenly
from drills.engine.choosing import ONE, SOME, Choice, Choosing, Group

REPORT = "report"
PRACTICE = "common practice, no source"
REPORT_RULE = (
    "Who you are, what you see, the hazards of this scene, how many, how bad and whom you need; "
    "how to come in where that is not plain; of many also who is in charge and where others wait. "
    "Count one ambulance for two patients, and of few one for each whose life is in danger. "
    "Your own rig counts if it has a cot."
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
A_RIG_TAKES, SERIOUS, SEVERE = 2, 2, 3
# Where these are, others have to be told how to come in. Ours, no source.
ACCESS = frozenset(
    ("traffic", "bank", "flood", "water", "no-radio", "height", "blocked-exit", "chemical", "fire")
)
# The two that say of each other that they are wrong: one of them is in every report.
_WANTS = ("wants", "enough")


def report(call_type: CallType, scene: Scene, difficulty: int, random: Random) -> Choosing:
    """What the first report has, and who is asked for, once the patients are counted."""
    says = _says(scene, difficulty, random)
    shown = {each.key for each in says.choices} - {*says.right, *says.may}
    words = {each.key: each.words for each in says.choices}
    why = [
        f"Not in it: {words[each.element][:1].lower()}{words[each.element][1:]} ({each.note})."
        for each in ELEMENTS
        if each.note and each.element in shown
    ]
    why.append(f"Such a report: {call_type.size_up}.")
    groups = (says, *_resources(scene, difficulty, random), _ambulances(scene))
    return Choosing(REPORT, groups, REPORT_RULE, PRACTICE, why=tuple(why))


def told_of(call: Call, scene: Scene) -> tuple[tuple[int, str, str], ...]:
    """The patients as the report is given: all where they are few; of many nobody is seen yet."""
    if scene.is_many:
        return ()
    return tuple((each.number, each.who, each.findings) for each in call.patients)


def _says(scene: Scene, difficulty: int, random: Random) -> Group:
    holes = _holes(scene, random)
    offers = [
        Offer(each.element, each.words.format_map(holes), grade)
        for each in ELEMENTS
        if (grade := graded(each, scene)) != UNASKED
    ]
    shown = offered(offers, difficulty, random, always=_WANTS)
    may = keys_of(shown, MAY)
    return Group(
        "says",
        "What is in it?",
        SOME,
        tuple(Choice(each.key, each.words) for each in shown),
        right=keys_of(shown, MUST),
        may=may,
        decides=False,
        one_of=(_WANTS,) if set(_WANTS) <= set(may) else (),
    )


def graded(element: Element, scene: Scene) -> str:
    """What an element is worth at a scene: must, may, wrong, or unasked where it is not offered."""
    grade = element.of_many if scene.is_many else element.of_few
    if grade == UNASKED or element.when == EVERYWHERE or CONDITIONS[element.when](scene):
        return grade
    if element.when in _WORST and abs(_WORST[element.when] - max(scene.severities)) < SERIOUS:
        return UNASKED
    return element.otherwise


def _holes(scene: Scene, random: Random) -> dict[str, str]:
    """What stands in the holes of an element's words; the others are hazards of other scenes."""
    left = [key for key in HAZARDS if key not in {*scene.here, *scene.possible}]
    others: list[str] = []
    for _ in range(min(len(left), max(len(scene.here), 1))):
        others.append(drawn_evenly(left, random))
        left.remove(others[-1])
    count = scene.patients
    return {
        "hazards": hazards_in_words(scene.here),
        "others": hazards_in_words(tuple(others)),
        "count": "That it is one patient" if count == 1 else f"That there are {count} patients",
    }


def least_more(scene: Scene) -> int:
    """How many further ambulances take everybody, the own rig counted where it has a cot.

    Two patients a rig, or one whose life is in danger; of many nobody is sorted, so two a rig.
    """
    severe = 0 if scene.is_many else sum(each >= SEVERE for each in scene.severities)
    rigs = severe + -(-(scene.patients - severe) // A_RIG_TAKES)
    return rigs - scene.transports


def _needs_help(scene: Scene) -> bool:
    return bool(scene.asks_for) or least_more(scene) > 0


_WORST: Mapping[str, int] = MappingProxyType({"mild": 1, "serious": SERIOUS, "severe": SEVERE})


def _is_worst(severity: int) -> Callable[[Scene], bool]:
    return lambda scene: max(scene.severities) == severity


# What an element may hang on.
CONDITIONS: Mapping[str, Callable[[Scene], bool]] = MappingProxyType(
    {
        "access": lambda scene: scene.is_many or bool(ACCESS & set(scene.here)),
        "hazard": lambda scene: bool(scene.here),
        "no-hazard": lambda scene: not scene.here,
        "help": _needs_help,
    }
    | {word: _is_worst(severity) for word, severity in _WORST.items()}
)


def _resources(scene: Scene, difficulty: int, random: Random) -> tuple[Group, ...]:
    """Who is asked for, where the kind of call says anything of it."""
    if not scene.asks_for and not scene.may_ask_for:
        return ()
    offers = [
        Offer(key, row.words, _resource(scene, key), row.about) for key, row in RESOURCES.items()
    ]
    return (some_of("asks", "Who else do you ask for?", offers, difficulty, random, decides=True),)


def _resource(scene: Scene, key: str) -> str:
    if key in scene.asks_for:
        return MUST
    return MAY if key in scene.may_ask_for else WRONG


def _ambulances(scene: Scene) -> Group:
    """How many more: exactly one number is right."""
    wanted = least_more(scene)
    return Group(
        "more",
        "How many further ambulances?",
        ONE,
        tuple(Choice(key, words) for key, words, *_ in AMBULANCES),
        right=tuple(key for key, _, low, high in AMBULANCES if low <= wanted <= high),
        decides=False,
    )
