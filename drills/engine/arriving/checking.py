"""What is odd in the questions of arriving: words that read wrongly, and answers that cannot be."""

from collections.abc import Iterable, Iterator

from drills.engine.choosing import Choosing, Group, mark_chosen, one_right
from drills.engine.oddities import faults_of_text
from drills.engine.scoring import RIGHT, WRONG


def odd_in(asked: Choosing, name: str, text: str) -> tuple[str, ...]:
    """All that is odd in one question, each a sentence; nothing where it is sound."""
    words = (name, text, asked.rule, *asked.why, *_flat(map(_words_of, asked.groups)))
    found = [odd for each in words for odd in faults_of_text(asked.task, each)]
    of_groups = [f"{group.asks} {odd}" for group in asked.groups for odd in _of_group(group)]
    return (*found, *(f"{asked.task}: {odd}" for odd in (*of_groups, *_of_marks(asked))))


def _words_of(group: Group) -> list[str]:
    return [group.asks, *(each.words for each in group.choices)]


def _of_group(group: Group) -> Iterator[str]:
    keys = {each.key for each in group.choices}
    words = {each.words for each in group.choices}
    strange = {*group.right, *group.may, *_flat(group.one_of)} - keys
    found = {
        "offers one thing twice.": min(len(keys), len(words)) < len(group.choices),
        f"is judged by {', '.join(sorted(strange))}, which it does not offer.": bool(strange),
        "has a thing that both must and may be chosen.": bool({*group.right} & {*group.may}),
        "leaves nothing to choose between.": len(keys) < min(2, len(group.right) + 1),
    }
    return (odd for odd, is_so in found.items() if is_so)


def _flat(sets: Iterable[Iterable[str]]) -> Iterator[str]:
    return (key for some in sets for key in some)


def _of_marks(asked: Choosing) -> Iterator[str]:
    groups = [each.answer() for each in asked.groups]
    if mark_chosen(groups, one_right(groups)).outcome != RIGHT:
        yield "no answer comes out right."
    if mark_chosen(groups, ()).outcome != WRONG:
        yield "nothing at all comes out right."
