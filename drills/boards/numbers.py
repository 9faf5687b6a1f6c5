"""Doses and supplies on the first page: what to practise next of each, and why."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from drills.boards.skills import MissedSkill
from drills.competency.reports import Knowledge
from drills.engine.facts import SKILL
from drills.engine.recipes import DOSE, NUMBER_KINDS
from drills.formulary.reports import revision_in_force
from drills.scenarios.models import Mode, Recipe

# What each is called on the page.
KIND_WORDS = {"dose": "Doses", "supply": "Supplies"}


@dataclass(frozen=True, slots=True)
class NumberStep:
    """A drill of doses or of supplies alone, and how the person stands with them."""

    kind: str
    recipe: Recipe
    why: str

    @property
    def words(self) -> str:
        return KIND_WORDS[self.kind]


def number_steps(
    known: Knowledge, missed: Collection[MissedSkill], due: Collection[Recipe], now: datetime
) -> tuple[NumberStep, ...]:
    """The easiest practice of each kind of number, what was missed first; none that is due anyway,
    and no dose without a formulary in force."""
    found: dict[str, Recipe] = {}
    shared = Recipe.objects.in_use().filter(is_shared=True, mode=Mode.PRACTICE)
    for recipe in shared.order_by("difficulty", "slug"):
        kinds = [kind for kind, _ in recipe.spec.kinds]
        if kinds and recipe not in due and set(kinds) <= set(NUMBER_KINDS):
            found.setdefault(kinds[0], recipe)
    if revision_in_force(now) is None:
        found.pop(DOSE, None)
    steps = [NumberStep(kind, found[kind], _why(kind, known, missed)) for kind in sorted(found)]
    return tuple(sorted(steps, key=lambda each: "missed" not in each.why))


def _why(kind: str, known: Knowledge, missed: Collection[MissedSkill]) -> str:
    of_kind = [each for each in missed if each.words.startswith(kind.capitalize())]
    if of_kind:
        return _missed_how(of_kind)
    asked = [fact for fact in known.observations if fact.kind == SKILL]
    is_asked = any(fact.thing.startswith(kind) for fact in asked)
    return "all right when last asked" if is_asked else "not asked yet"


def _missed_how(missed: Collection[MissedSkill]) -> str:
    """By first answers; a retry that was right is told and puts nothing right."""
    unsafe = sum(each.is_unsafe for each in missed)
    right = sum(each.is_mended for each in missed)
    of_them = (
        f"{unsafe} of them unsafe" if unsafe else "",
        f"{right} right on retry" * bool(right),
    )
    return ", ".join(filter(None, (f"{len(missed)} missed at first", *of_them)))
