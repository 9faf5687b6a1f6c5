"""What a kit is judged by: patients who are handed over, and what a must-have is no use without."""

from collections.abc import Collection, Iterable
from itertools import chain

from drills.engine.arriving.known import Known
from drills.engine.arriving.tables import ALWAYS
from drills.engine.calls import GRADES, MUST, NEEDLESS, USEFUL, Asked, Call, needs_for
from drills.engine.together import with_what_they_take


def handed_over(call: Call, own: Collection[int]) -> Known:
    """What patients of a call certainly need once a crew is told of them; another's is nobody's."""
    patients = [each for each in call.patients if each.number in own]
    always = [ALWAYS[each.size] for each in patients]
    asked = [
        *chain.from_iterable(needs_for(call.needs, each.number) for each in patients),
        *(Asked(each.need, MUST, 1, name=each.words) for each in always),
    ]
    # Of two who take the same, one cannot do without: the stronger grade stands.
    weakest_first = sorted(asked, key=lambda each: -GRADES.index(each.grade))
    found = {each.need: each for each in weakest_first}
    needless = frozenset(each.need for each in _of_grade(found.values(), NEEDLESS))
    return Known(_of_grade(found.values(), MUST), _of_grade(found.values(), USEFUL), needless)


def _of_grade(asked: Iterable[Asked], grade: str) -> tuple[Asked, ...]:
    return tuple(each for each in asked if each.grade == grade)


def kit_needs(known: Known) -> tuple[Asked, ...]:
    """All that a kit is judged by, each need once: what is certain, what that takes, the rest."""
    found = with_what_they_take(known.certain)
    for each in known.possible:
        found.setdefault(each.need, each)
    return tuple(found.values())
