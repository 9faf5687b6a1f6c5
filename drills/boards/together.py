"""A drill of what many miss, given with one press to the cohort that is shown."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone

from drills.boards.choosing import Choice
from drills.boards.educator import Row
from drills.boards.exactly import DUE_AFTER, MOST, Ask, Gives, Questions, recipe_of
from drills.boards.flags import Flags
from drills.boards.instead import Instead
from drills.engine.facts import BAG, Fact
from drills.engine.layout import Layout
from drills.people.models import Person, Role
from drills.rigs.postings import posted_on
from drills.rigs.reading import layout_of
from drills.scenarios.models import Recipe

MANY_MISS = "What many miss"


@dataclass(frozen=True, slots=True)
class Weak:
    """A drill of some things that there is evidence enough of: the questions that ask for them, and
    where it is sent."""

    asks: tuple[Ask, ...]
    gives: Gives


@dataclass(frozen=True, slots=True)
class Together:
    """What an educator may give the people of a choice: the things that are missed most, those that
    are missed more than expected, and the one that is looked at."""

    most: Weak
    flagged: Weak
    one: Weak


def riding(choice: Choice, *, today: date) -> tuple[Person, ...]:
    """The active crew of the cohort; without one, whoever is posted where the layout rides."""
    crew = Person.objects.filter(is_active=True, grants__role=Role.CREW)
    if choice.cohort:
        crew = crew.filter(cohorts=choice.cohort)
    else:
        crew = crew.filter(pk__in=posted_on(choice.revision.layout, today=today))
    return tuple(crew.distinct().order_by("name", "pk"))


def together_of(
    choice: Choice,
    layout: Layout,
    shown: Sequence[Row],
    flags: Flags | None,
    instead: Instead | None,
    *,
    now: datetime,
) -> Together | None:
    """What may be given of what a page shows; nothing where there is nobody to give it to."""
    today = timezone.localdate(now)
    people = riding(choice, today=today)
    if not people:
        return None
    questions = Questions(layout)

    def weak(facts: Iterable[Fact]) -> Weak:
        wanted = list(facts)
        asks = questions.drill_for(wanted)[:MOST]
        return Weak(asks, _gives(choice, people, _what(wanted, len(asks)), today))

    return Together(
        most=weak(_surely(shown)),
        flagged=weak(flags.facts if flags else ()),
        one=weak(_surely([instead.row]) if instead else ()),
    )


def recipe_for(
    choice: Choice, asked: Collection[str], *, whom: Collection[Person], by: Person
) -> Recipe:
    """What was pressed for a cohort as a recipe. Raises what `recipe_of` raises."""
    title = f"{MANY_MISS}: {choice.cohort.name}" if choice.cohort else MANY_MISS
    return recipe_of(
        layout_of(choice.revision),
        asked,
        title=title,
        whom=whom,
        by=by,
        together=f"{choice.revision.layout.slug} {choice.cohort.slug if choice.cohort else ''}",
    )


def _surely(rows: Iterable[Row]) -> list[Fact]:
    return [row.fact for row in rows if row.tally.is_enough]


def _what(facts: Sequence[Fact], asks: int) -> str:
    """What is asked for: of a bag something that is in it."""
    if len(facts) == 1 and facts[0].kind == BAG:
        return "what is in it"
    return "it" if asks == 1 else f"these {asks}"


def _gives(choice: Choice, people: Collection[Person], what: str, today: date) -> Gives:
    """Where what is asked for is sent, with the same choice, and in words to how many."""
    count = "1 person" if len(people) == 1 else f"{len(people)} people"
    to = f"{choice.cohort.name}, {count}" if choice.cohort else count
    of = {"layout": choice.revision.layout.slug}
    if choice.cohort:
        of["cohort"] = choice.cohort.slug
    who = "" if choice.cohort else f", to crew posted where {choice.revision.layout} rides"
    return Gives(
        f"{reverse('boards:assign_cohort')}?{urlencode(of)}",
        f"Assign a drill of {what} to {to}",
        f"due {today + DUE_AFTER:%-d %b}, met when all is right{who}",
    )
