"""Parts of a whole, told so that none on fewer than three people can be worked out."""

from collections.abc import Iterable, Mapping, Sequence

from drills.engine.cohort import FEWEST_PEOPLE, Answer

Parts = dict[str, Sequence[Answer]]


def folded(parts: Mapping[str, Sequence[Answer]]) -> tuple[Parts, Parts]:
    """The parts that are told apart, the most first, and those that are told as one.

    The whole is told beside its parts, so a single part left out is what is missing to it. What
    too few people gave is therefore told together with the smallest of the others, until enough
    people stand behind it; behind all of it there may be too few still.
    """
    by_size = sorted(parts.items(), key=lambda part: (-len(part[1]), part[0]))
    as_one = {part: told for part, told in by_size if _people([told]) < FEWEST_PEOPLE}
    apart = {part: told for part, told in by_size if part not in as_one}
    while as_one and apart and _people(as_one.values()) < FEWEST_PEOPLE:
        part, told = apart.popitem()
        as_one[part] = told
    return apart, as_one


def _people(told: Iterable[Sequence[Answer]]) -> int:
    return len({each.person for answers in told for each in answers})
