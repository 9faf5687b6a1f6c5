"""Needs of a call type that are not whole: nothing to give them by, or the size of somebody else.

What runs into a line needs the line, as strongly as it is asked for itself; what has sizes comes
in that of the patient; and who answers nothing has what keeps the airway. All of it rests on the
tables of `together`, ours, no source. Nothing here keeps a call from being drawn.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain

from drills.engine.calls import (
    ANY_SIZE,
    GRADES,
    NEEDLESS,
    CallNeed,
    CallType,
    CallWorld,
    State,
    first_named,
)
from drills.engine.problemcheck import SEVERITY_WORDS
from drills.engine.together import AIRWAY, PARTS, SIZED, TOGETHER, is_of_size

# Points of the coma scale at which nobody keeps their own airway: common teaching, no source read.
NO_AIRWAY_AT = 8
_NO_ONE_ANSWERS = "Nobody keeps an airway at 8 of the coma scale or less"
_OXYGEN = {"oxygen-cylinder-portable": "a cylinder", "oxygen-regulator-portable": "a regulator"}
_BAG_GIVES_AIR = "A bag-valve-mask (must) goes with oxygen, or gives air alone, and"
NOTHING = len(GRADES)


@dataclass(frozen=True, slots=True)
class _Who:
    """One kind of patient, and how strongly each need is asked for with them there: 0 is a must."""

    problem: str
    severity: int
    size: str
    asked: Mapping[str, int]
    is_awake: bool = True

    @property
    def words(self) -> str:
        how_bad = str(SEVERITY_WORDS.get(self.severity, self.severity)).lower()
        return f"{self.problem}, {how_bad}, of {self.size} size"


def unwhole_of(call_type: CallType, world: CallWorld) -> tuple[str, ...]:
    """What of a call type's needs is of no use to a patient it may bring, each as a sentence that
    says to whom; none where all are whole."""
    names = {each.need: each.name or each.need for each in call_type.needs}
    people = tuple(_people(call_type, world))
    found: dict[str, list[str]] = defaultdict(list)
    for who in people:
        for words in chain(
            _given_by_nothing(who, names),
            _of_another_size(who, names),
            _airway_unkept(who),
            _bagged_on_air(who),
        ):
            found[words].append(who.words)
    for who, words in _without_their_size(people, names):
        found[words].append(who.words)
    return tuple(f"{words}: {first_named(each)}." for words, each in found.items())


def _people(call_type: CallType, world: CallWorld) -> Iterator[_Who]:
    """Everybody the call type may bring, by problem, severity and size."""
    for problem, severity, size, is_awake in dict.fromkeys(
        (profile.problem, state.severity, world.bands[band].size, _is_awake(state))
        for profile in call_type.profiles
        if profile.problem in world.problems
        for state in world.problems[profile.problem].states
        if state.severity in profile.severities
        for band in state.age_bands
        if band in profile.shares and band in world.bands
    ):
        rows = [each for each in call_type.needs if _is_for(each, problem, severity, size)]
        weakest_first = sorted(rows, key=lambda each: -GRADES.index(each.grade))
        asked = {each.need: GRADES.index(each.grade) for each in weakest_first}
        yield _Who(world.problems[problem].name, severity, size, asked, is_awake)


def _is_awake(state: State) -> bool:
    """Whether anybody of a state is above it; where the scale is not told, they are."""
    return state.ranges.get("gcs", (0, NO_AIRWAY_AT + 1))[1] > NO_AIRWAY_AT


def _airway_unkept(who: _Who) -> Iterator[str]:
    """What who answers nothing has to have and is not asked for as a must-have."""
    for row in () if who.is_awake else AIRWAY:
        if min(who.asked.get(each, NOTHING) for each in row.any_of):
            yield f"{_NO_ONE_ANSWERS}, and {row.name} is no must-have"


def _bagged_on_air(who: _Who) -> Iterator[str]:
    """What gives oxygen to who has a bag as a must-have; the bag that comes to everybody needs
    none."""
    if not min(who.asked.get(each, NOTHING) for each in PARTS["bag"]):
        for need, words in _OXYGEN.items():
            if who.asked.get(need, NOTHING):
                yield f"{_BAG_GIVES_AIR} {words} is no must-have"


def _is_for(row: CallNeed, problem: str, severity: int, size: str) -> bool:
    return (
        row.grade != NEEDLESS
        and row.problem in {"", problem}
        and row.size in {ANY_SIZE, size}
        and (not row.severities or severity in row.severities)
    )


def _given_by_nothing(who: _Who, names: Mapping[str, str]) -> Iterator[str]:
    for need, grade in who.asked.items():
        for row in TOGETHER.get(need, ()):
            if min(who.asked.get(each, NOTHING) for each in row.any_of) > grade:
                named = f"{names[need]} ({GRADES[grade]})"
                yield f"{named} goes with {row.name}, which is not asked for as strongly"


def _of_another_size(who: _Who, names: Mapping[str, str]) -> Iterator[str]:
    for need in who.asked:
        if not is_of_size(need, who.size):
            yield f"{names[need]} fits {' and '.join(SIZED[need].sizes)} size alone"


def _without_their_size(
    people: Iterable[_Who], names: Mapping[str, str]
) -> Iterator[tuple[_Who, str]]:
    """Who has less of a family than somebody of another size with the same trouble."""
    alike: dict[tuple[str, int], list[_Who]] = defaultdict(list)
    for who in people:
        alike[who.problem, who.severity].append(who)
    for same in alike.values():
        for need, row in SIZED.items():
            fitted = (each.asked.get(need, NOTHING) for each in same if each.size in row.sizes)
            grade = min(fitted, default=NOTHING)
            for who in same:
                if _has_of(row.family, who) > grade:
                    named = f"{names[need]} ({GRADES[grade]})"
                    yield who, f"Nothing like {named} is asked for in another size"


def _has_of(family: str, who: _Who) -> int:
    """How strongly anything of a family is asked for that fits somebody; 0 where nothing does."""
    fits = [need for need, row in SIZED.items() if row.family == family and who.size in row.sizes]
    return min((who.asked.get(each, NOTHING) for each in fits), default=0)
