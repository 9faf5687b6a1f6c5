"""Drills of exactly what a board names: made into a recipe, and given or started with one press."""

from collections.abc import Collection, Iterable, Set
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil

from django.urls import reverse
from django.utils import timezone

from drills.engine.asking import contents_prompts, locate_prompts
from drills.engine.facts import ITEM, Fact
from drills.engine.layout import Layout
from drills.engine.pools import name_of
from drills.engine.prompts import Prompt, ways
from drills.engine.readying import Asks, shortest
from drills.engine.recipecheck import NAME_LENGTH
from drills.engine.recipes import CONTENTS, LOCATE, CannotApplyError, RecipeSpec
from drills.engine.targets import TARGETS
from drills.people.models import Person, Role
from drills.rigs.models import Layout as LayoutRow
from drills.rigs.models import Rig
from drills.runs.actions import assign, start_run
from drills.runs.assigned import due_besides, on_layout, who_has
from drills.runs.models import Assigned, Assignment, Run
from drills.runs.reports import results_of
from drills.scenarios.models import Recipe
from drills.scenarios.naming import named_recipe

# How many prompts a board may ask for at once, when what it gives is due, and how many drills of
# boards one may have begun. Ours, no source.
MOST, DUE_AFTER, MOST_OPEN = 30, timedelta(days=7), 3
# What such a drill is called; after the last two stands the call that it is for.
LOOK_AT, DRILL_FIRST, NEITHER = "Look at first", "Drill first", "What neither finds"
# How long a page says that its drill was done.
DONE_FOR = timedelta(days=7)
_EVERYTHING = RecipeSpec("everything", ((LOCATE, 1), (CONTENTS, 1)))
_A_MINUTE = 60


@dataclass(frozen=True, slots=True)
class Ask:
    """One question of a drill: in words, and as the focus of a recipe names it."""

    text: str
    seconds: int
    name: str


@dataclass(frozen=True, slots=True)
class Gives:
    """Where a drill of a board is sent, what the button says, and what follows from it."""

    url: str
    label: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Done:
    """The last drill of what to look at first that a person finished, and its marks in 100."""

    run: Run
    marks: int | None


class Questions:
    """Every question that a layout has, to choose a drill from."""

    def __init__(self, layout: Layout) -> None:
        made = (
            *locate_prompts(layout, _EVERYTHING, ()),
            *contents_prompts(layout, _EVERYTHING, ()),
        )
        self.by_name = {name_of(each): each for each in made}
        self._ways = {
            name: tuple(map(frozenset, ways(layout, each.kind, each.subject, each.answer)))
            for name, each in self.by_name.items()
        }
        self._asks = {
            name: Asks(self._told_by(name), TARGETS[each.kind].seconds)
            for name, each in self.by_name.items()
        }

    def drill_for(self, facts: Iterable[Fact]) -> tuple[Ask, ...]:
        """The shortest drill that asks for some facts: of the things that they are of, and for a
        bag that none of those lies in of some thing in it."""
        wanted = frozenset(facts)
        keys = {fact.thing for fact in wanted if fact.kind == ITEM}
        about = {name: asks for name, asks in self._asks.items() if self._is_of(name, keys)}
        names = list(shortest(about, wanted))
        for fact in sorted(wanted.difference(*(self._asks[name].facts for name in names))):
            asking = self._telling_of(fact, about) or self._telling_of(fact, self._asks)
            if set(names).isdisjoint(asking):
                names += asking[:1]
        return tuple(map(self._ask, names))

    def of_things(self, keys: Iterable[str]) -> tuple[Ask, ...]:
        """A question for each of some things."""
        wanted = list(keys)
        found = {each.subject: name for name, each in self.by_name.items() if each.kind == LOCATE}
        return tuple(self._ask(found[key]) for key in wanted if key in found)

    def _told_by(self, name: str) -> frozenset[Fact]:
        """What an answer tells of: where the thing itself is by any of its places, and of bags
        only what each way goes through, since one place may be answered."""
        found = self._ways[name]
        own = self.by_name[name].subject
        its = {fact for way in found for fact in way if fact.kind == ITEM and fact.thing == own}
        return frozenset.intersection(*found) | its

    def _telling_of(self, fact: Fact, names: Iterable[str]) -> list[str]:
        return [name for name in names if any(fact in way for way in self._ways[name])]

    def _is_of(self, name: str, keys: Set[str]) -> bool:
        prompt = self.by_name[name]
        things = prompt.answer if prompt.kind == CONTENTS else (prompt.subject,)
        return not keys or not keys.isdisjoint(things)

    def _ask(self, name: str) -> Ask:
        prompt = self.by_name[name]
        return Ask(_worded(prompt), TARGETS[prompt.kind].seconds, name)


def _worded(prompt: Prompt) -> str:
    if prompt.kind == CONTENTS:
        return f"What of {prompt.category} is in {prompt.name}?"
    return f"Where is {prompt.name}?"


def gives_to(viewer: Person, people: Collection[Person], *, now: datetime) -> Gives | None:
    """What a viewer may do with a drill for one person, or for two: start it when it is for
    themself alone, assign it as an officer or educator; else nothing."""
    numbers = [each.employee_number for each in people]
    if list(people) == [viewer]:
        return Gives(reverse("boards:start_exactly", args=numbers), "Start this drill")
    if not viewer.holds(Role.FTO, Role.EDUCATOR):
        return None
    name = "boards:assign_exactly" if len(numbers) == 1 else "boards:assign_crew"
    due = timezone.localdate(now) + DUE_AFTER
    label = "Assign this drill" + (" to both" if len(numbers) > 1 else "")
    return Gives(reverse(name, args=numbers), label, f"due {due:%-d %b}, met when all is right")


def recipe_of(
    layout: Layout,
    names: Collection[str],
    *,
    title: str,
    whom: Collection[Person],
    by: Person,
    together: str = "",
) -> Recipe:
    """The recipe that asks some people exactly some questions of a layout; the same again for the
    same ones, and for those who are asked `together` by one name.

    Raises `CannotApplyError` for none, for too many, and for what that layout has no place of.
    """
    prompts = _prompts_of(layout, names)
    counts = {kind: sum(each.kind == kind for each in prompts) for kind in (LOCATE, CONTENTS)}
    seconds = sum(TARGETS[each.kind].seconds for each in prompts)
    settings = {
        "kinds": ";".join(f"{kind}:{count}" for kind, count in counts.items() if count),
        "depth": _EVERYTHING.depth,
        "minutes": max(1, ceil(seconds / _A_MINUTE)),
        "pass_marks_percent": 100,
    }
    words = {name_of(each): _worded(each) for each in prompts}
    return named_recipe(title[:NAME_LENGTH], words, settings, whom=whom, by=by, together=together)


def _prompts_of(layout: Layout, names: Iterable[str]) -> list[Prompt]:
    asked = list(dict.fromkeys(names))
    if not 1 <= len(asked) <= MOST:
        raise CannotApplyError(f"{len(asked)} questions came in; 1 to {MOST} are accepted.")
    questions = Questions(layout).by_name
    if unknown := [each for each in asked if each not in questions]:
        raise CannotApplyError(f"“{unknown[0][:40]}” came in, and {layout.name} has nothing of it.")
    return [questions[each] for each in asked]


def start_exactly(person: Person, recipe: Recipe, *, rig: Rig, now: datetime) -> Run:
    """Go on with the person's run of it on today's rig, or open one.

    Raises what `start_run` raises, and `CannotApplyError` while `MOST_OPEN` others wait.
    """
    # Two presses at once are one after the other.
    Recipe.objects.select_for_update(of=("self",)).get(pk=recipe.pk)
    waiting = Run.objects.under_way(now).filter(person=person)
    same = waiting.filter(drill__recipe=recipe, drill__revision=rig.revision, rig=rig)
    if run := same.order_by("started_at").first():
        return run
    if waiting.filter(drill__recipe__named__people=person).count() >= MOST_OPEN:
        raise CannotApplyError(
            f"{MOST_OPEN} drills like this one wait for you to go on. Finish one of them first."
        )
    return start_run(person, recipe=recipe, revision=rig.revision, rig=rig, now=now)


def assign_exactly(
    recipe: Recipe, to: Collection[Person], *, layout: LayoutRow, by: Person, now: datetime
) -> tuple[Assignment, bool]:
    """Give it, for the layout that it was made from, to whom of them has it not to do; and whether
    there was anybody, else what they have. Raises what `assign` raises."""
    today = timezone.localdate(now)
    due_on = today + DUE_AFTER
    besides = due_besides(recipe, to, due_on=due_on, layout=layout, today=today)
    same_day = who_has(recipe, to, due_on=due_on, layout=layout, today=today)
    have = {row.person for row in besides}.union(same_day)
    if to and have.issuperset(to):
        rows = Assigned.objects.filter(on_layout(layout), assignment__recipe=recipe)
        waiting = rows.filter(person__in=to, assignment__withdrawn_at=None)
        return waiting.latest("assignment__due_on").assignment, False
    given = assign(
        recipe,
        to=[each for each in to if each not in have],
        due_on=due_on,
        standard=recipe.standard,
        minutes=recipe.minutes,
        layout=layout,
        by=by,
        now=now,
    )
    return given, True


def last_done(person: Person, *, now: datetime) -> Done | None:
    """What the person last finished of what to look at first, these last days."""
    finished = Run.objects.filter(person=person, finished_at__gte=now - DONE_FOR)
    of_board = finished.filter(drill__recipe__named__people=person, drill__recipe__name=LOOK_AT)
    run = of_board.order_by("-finished_at").first()
    return Done(run, results_of([run])[run.pk].marks) if run else None
