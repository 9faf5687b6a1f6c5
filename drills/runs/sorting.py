"""How the patients of a run were sorted: the measures, the counts, and the second look."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drills.engine.choosing import COUNTS, category_said
from drills.engine.incidents.asking import Tally, tally
from drills.engine.recipes import TRIAGE
from drills.engine.scoring import RIGHT
from drills.engine.triage import Category
from drills.engine.triage.field import FIELD_FAMILY
from drills.engine.triage.measures import Measured
from drills.runs.models import Presentation

# An answer, what it is judged by, and what was said.
_Kept = tuple[Presentation, Mapping[str, Any], Sequence[str]]


@dataclass(frozen=True, slots=True)
class CategoryRow:
    """A category: how many there are, were put there and were counted; None where not asked."""

    category: Category
    are: int
    put: int
    counted: int | None


@dataclass(frozen=True, slots=True)
class Sorted:
    """First answers to whom to put where; who got no category counts in none of the measures.

    `again` are how many were looked at a second time, and how many of them rightly. `schemes` are
    the charts gone by, each with the sources of its branches. Of the field criteria, whom to take
    where, it `is_field`.
    """

    measures: Measured
    rows: tuple[CategoryRow, ...]
    is_counted: bool
    again: tuple[int, int]
    schemes: tuple[tuple[str, str], ...]
    is_field: bool = False


def sorting_of(answered: Sequence[Presentation]) -> list[Sorted]:
    """What is told of it all, by family of schemes; nothing where nobody was put in a category."""
    kept = list(_kept(answered))
    families = dict.fromkeys(answer["family"] for _, answer, _ in kept if "family" in answer)
    found = (_of_family(kept, family) for family in families)
    return [each for each in found if each]


def _of_family(all_kept: Sequence[_Kept], family: str) -> Sorted | None:
    is_field = family == FIELD_FAMILY
    kept = [each for each in all_kept if each[1].get("family", family) == family]
    pairs = _pairs(kept)
    if not pairs:
        return None
    sorts = [answer for _, answer, _ in kept if "category" in answer]
    again = [each for each, *_ in _looks(kept, 2)]
    counts = [] if is_field else _counts(kept)
    found = tally(family, pairs)
    return Sorted(
        measures=found.measures,
        rows=tuple(_rows(found, counts)),
        is_counted=bool(counts),
        again=(len(again), [each.outcome for each in again].count(RIGHT)),
        schemes=tuple(_schemes(sorts)),
        is_field=is_field,
    )


def _pairs(kept: Iterable[_Kept]) -> list[tuple[str, str]]:
    """The category that is right and the one that was said, of whom one was said of."""
    found = (
        (answer["category"], category_said(answer, said)) for _, answer, said in _looks(kept, 1)
    )
    return [each for each in found if each[1]]


def _counts(kept: Iterable[_Kept]) -> list[tuple[Mapping[str, Any], Sequence[str]]]:
    return [(answer, said) for _, answer, said in kept if answer.get("task") == COUNTS]


def _looks(kept: Iterable[_Kept], look: int) -> list[_Kept]:
    """Who was sorted at the first look, or at the second; older prompts know the first alone."""
    return [each for each in kept if "category" in each[1] and each[1].get("look", 1) == look]


def _rows(
    found: Tally, counts: Sequence[tuple[Mapping[str, Any], Sequence[str]]]
) -> Iterator[CategoryRow]:
    """What was counted stands beside what there truly was."""
    true, said = _counted(counts)
    for each, are, put in found.counts:
        if counts:
            yield CategoryRow(each, true[each.category], put, said[each.category])
        else:
            yield CategoryRow(each, are, put, None)


def _kept(answered: Iterable[Presentation]) -> Iterator[_Kept]:
    for each in answered:
        if each.prompt and each.prompt.kind == TRIAGE:
            yield each, each.prompt.answer, each.answer


def _counted(
    counts: Sequence[tuple[Mapping[str, Any], Sequence[str]]],
) -> tuple[Counter[str], Counter[str]]:
    """How many there are of each category, and how many were said, of all that were counted."""
    true, said = Counter[str](), Counter[str]()
    for answer, given in counts:
        for group in answer["groups"]:
            true.update({_plain(key): count for key, count in group["counts"].items()})
        said.update(map(_plain, given))
    return true, said


def _plain(key: str) -> str:
    return key.partition(":")[2]


def _schemes(answers: Iterable[Mapping[str, Any]]) -> Iterator[tuple[str, str]]:
    found: dict[str, dict[str, None]] = defaultdict(dict)
    for answer in answers:
        if answer.get("scheme"):
            found[answer["scheme"]] |= dict.fromkeys(answer["sources"])
    return ((scheme, "; ".join(sources)) for scheme, sources in found.items())
