"""People who take drills by themselves, through the same actions as everybody.

What they do is simulated and marked so; nothing of it was measured on a person.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random

from django.db import transaction

from drills.competency.actions import step_again
from drills.demo.history import Lived, Recalled
from drills.engine.choosing import one_right
from drills.engine.facts import Fact, bag_fact, steps
from drills.engine.layout import Layout
from drills.engine.prompts import HAND_OVER, bag_asked
from drills.engine.recipes import CONTENTS, NUMBER_KINDS, PLACE_KINDS, STAGE, TRIAGE
from drills.engine.staging import must_haves
from drills.engine.timing import Claim
from drills.people.models import Person
from drills.people.reports import level_above
from drills.rigs.models import Revision, Rig
from drills.rigs.reading import moved_by
from drills.runs.actions import answer_prompt, begin, serve_next, start_run
from drills.runs.actions.serving import source_of
from drills.runs.models import Presentation, Run
from drills.scenarios.models import Drill, DrillPrompt, Recipe
from drills.scenarios.reading import layout_asked
from drills.scenarios.tasks import figure_asked, problem_in, wanted_in

TAP_SECONDS = 1.6
GAP_SECONDS = 0.4
# How often a wrong place is next to the right one. Ours, no source.
NEXT_TO_IT = 0.6


@dataclass(frozen=True, slots=True)
class Character:
    """A simulated person: where things are they recall from `lived`; all else, and all of it
    without, is right at the first try with the chance `knows`."""

    seed: int
    knows: float
    lived: Lived | None = None


Watcher = Callable[[Presentation], None]


def _watch_nothing(_presentation: Presentation) -> None:
    """Nobody looks on."""


def take_drill(
    person: Person,
    rig: Rig,
    recipe: Recipe,
    character: Character,
    *,
    at: datetime,
    watch: Watcher = _watch_nothing,
    drill_seed: int | None = None,
) -> Run:
    """Take a whole drill, prompt by prompt; `watch` is shown each answered one."""
    run = start_run(
        person,
        recipe=recipe,
        revision=rig.revision,
        rig=rig,
        now=at,
        seed=character.seed if drill_seed is None else drill_seed,
        is_simulated=True,
    )
    random = Random(f"character:{character.seed}")  # noqa: S311  # a made-up person
    now = at + timedelta(seconds=5)
    presentation = begin(run, device_class="phone", is_timed=True, now=now).presentation
    while presentation is not None:
        keys, seconds = _behave(presentation, character, random)
        now += timedelta(seconds=seconds + GAP_SECONDS + 0.1)
        answered = answer_prompt(
            run,
            token=presentation.token,
            tokens=keys if _is_number(presentation) else [run.token_for(key) for key in keys],
            claim=Claim(elapsed=seconds, gap=GAP_SECONDS, hidden=0.0),
            now=now,
        )
        watch(answered)
        now += timedelta(seconds=2)
        presentation = serve_next(run, now=now)
    run.refresh_from_db()
    return run


@transaction.atomic
def take_back(person: Person, *, drill_seed: int) -> None:
    """Remove the simulated drills of one seed that a demonstration person took, with all they left.

    What anybody answered for themselves stays, and so does the person's other history.
    """
    runs = Run.objects.filter(
        person=person, person__is_demo=True, is_simulated=True, drill__seed=drill_seed
    )
    presentations = Presentation.objects.filter(run__in=runs)
    person.evidence.filter(
        is_simulated=True, source__in=[source_of(each.token) for each in presentations]
    ).delete()
    step_again([person.pk])
    drills = list(runs.values_list("drill", flat=True))
    runs.delete()
    Drill.objects.filter(pk__in=drills, runs=None).delete()


@dataclass(frozen=True, slots=True)
class _Asked:
    """One prompt before a person who answers by their character."""

    presentation: Presentation
    prompt: DrillPrompt
    layout: Layout
    character: Character
    random: Random

    @property
    def person(self) -> Person | None:
        return self.presentation.run.person

    @property
    def revision(self) -> Revision:
        return self.presentation.run.drill.revision

    def knows(self) -> bool:
        """Whether they are right by chance alone: always, once it was shown to them."""
        return self.random.random() < (1.0 if self.presentation.is_retry else self.character.knows)

    def looks_for(self, fact: Fact, *, is_inside: bool = False) -> Recalled:
        """How they look for a thing, from memory where they have one."""
        if self.character.lived is None or self.person is None:
            knows = self.knows()
            seconds = 1.5 + 4 * self.random.random() + (0 if knows else 5 * self.random.random())
            return Recalled(knows, seconds, by_old_ways=not self.presentation.is_retry)
        return self.character.lived.looks_for(
            self.person,
            fact,
            layout=self.revision.layout_id,
            at=self.presentation.served_at,
            is_inside=is_inside,
        )


def _behave(
    presentation: Presentation, character: Character, random: Random
) -> tuple[list[str], float]:
    """What the person answers, as codes or keys, and the seconds it takes."""
    prompt = presentation.prompt
    if prompt is None:
        return [presentation.subject], TAP_SECONDS + random.random()
    asked = _Asked(presentation, prompt, layout_asked(presentation.run.drill), character, random)
    if prompt.kind in _FROM_MEMORY:
        return _FROM_MEMORY[prompt.kind](asked)
    knows = asked.knows()
    seconds = TAP_SECONDS + 1.5 + 4 * random.random() + (0 if knows else 5 * random.random())
    if prompt.kind in NUMBER_KINDS:
        return [_number(prompt, asked.person, knows=knows)], seconds + 20
    return _chosen(prompt, random, knows=knows), seconds + 1.5 * len(prompt.answer)


def _placed(asked: _Asked) -> tuple[list[str], float]:
    """The place of a thing or a bag; nothing where the time ran out."""
    prompt, layout = asked.prompt, asked.layout
    bag = bag_asked(prompt.subject)
    code = prompt.answer[int(asked.random.random() * len(prompt.answer))]
    fact = bag_fact(layout, bag) if bag else steps(layout, prompt.subject, code)[-1]
    found = asked.looks_for(fact)
    if found.ran_out:
        return [], TAP_SECONDS + found.seconds
    said = code if found.is_right else _wrong_place(asked, code, found)
    return [said], TAP_SECONDS + found.seconds


def _wrong_place(asked: _Asked, right: str, found: Recalled) -> str:
    """Where it was, for who goes by that; another pocket of the bag that was found; or beside."""
    old = _old_place(asked) if found.by_old_ways else ""
    if old:
        return old
    layout, random = asked.layout, asked.random
    near = _beside(layout, right) if found.bag_found else _outside(layout, right)
    wrong = [code for code in near if code not in asked.prompt.answer]
    if not wrong or random.random() >= NEXT_TO_IT:
        wrong = [code for code in _outside(layout, "") if code not in asked.prompt.answer]
    return wrong[int(random.random() * len(wrong))]


def _beside(layout: Layout, place: str) -> list[str]:
    """The codes of what lies in the same compartment, or on the rig where it is in none."""
    return [each.code for each in layout.children[layout.by_code[place].inside]]


def _outside(layout: Layout, place: str) -> list[str]:
    """The codes of all places but of those in the bag that holds one; of all, without one."""
    bags = [each for each in layout.chain(place) if each.is_bag] if place else []
    held = {each.code for each in layout.compartments if {*bags} & {*layout.chain(each.code)}}
    return [each.code for each in layout.compartments if each.code not in held]


def _old_place(asked: _Asked) -> str:
    """The code of the innermost place that held it before this revision, where that moved it."""
    layout, moved = asked.layout, moved_by(asked.revision)
    bag = bag_asked(asked.prompt.subject)
    held = (
        moved.held_bags.get(layout.by_code[bag].key, ())
        if bag
        else moved.places.get(asked.prompt.subject, ())
    )
    there = [each.code for each in layout.compartments if each.key in held]
    return max(there, key=lambda code: len(layout.chain(code)), default="")


def _kit(asked: _Asked) -> tuple[list[str], float]:
    """The must-haves that are found, in the seconds that looking for all of them takes."""
    lines = must_haves(asked.layout, wanted_in(asked.prompt.answer)).lines
    brought, seconds = [], TAP_SECONDS
    for (code, thing), number in lines.items():
        found = asked.looks_for(steps(asked.layout, thing, code)[-1])
        brought += [f"{code} {thing}"] * (number if found.is_right else 0)
        seconds += found.seconds
    return brought, seconds


def _contents(asked: _Asked) -> tuple[list[str], float]:
    """What a place holds, but for what is not remembered; then often something else is said."""
    prompt, random = asked.prompt, asked.random
    said, seconds = [], TAP_SECONDS
    for thing in prompt.answer:
        found = asked.looks_for(steps(asked.layout, thing, prompt.subject)[-1], is_inside=True)
        said += [thing] if found.is_right else []
        seconds += found.seconds / 2
    others = [key for key in prompt.choices if key not in prompt.answer]
    if others and len(said) < len(prompt.answer):
        said.append(others[int(random.random() * len(others))])
    return said, seconds


_FROM_MEMORY: Mapping[str, Callable[[_Asked], tuple[list[str], float]]] = {
    **dict.fromkeys(PLACE_KINDS, _placed),
    STAGE: _kit,
    CONTENTS: _contents,
}


def _chosen(prompt: DrillPrompt, random: Random, *, knows: bool) -> list[str]:
    """What is chosen of a list: a category, of groups, or what is reached from a seat."""
    if "groups" in prompt.shown:
        return one_right(prompt.answer["groups"]) if knows else []
    if prompt.kind == TRIAGE:
        return [_category(prompt, knows=knows)]
    others = [key for key in prompt.choices if key not in prompt.answer]
    one_more = [others[int(random.random() * len(others))]] if others else []
    return list(prompt.answer) if knows else [*prompt.answer[1:], *one_more]


def _is_number(presentation: Presentation) -> bool:
    return presentation.prompt is not None and presentation.prompt.kind in NUMBER_KINDS


def _category(prompt: DrillPrompt, *, knows: bool) -> str:
    """The right category, or the one before it in the order of urgency."""
    keys = [key for key, *_ in prompt.shown["categories"]]
    at = keys.index(prompt.answer["category"])
    return str(keys[at if knows else at - 1])


def _number(prompt: DrillPrompt, person: Person | None, *, knows: bool) -> str:
    """The worked answer, or ten times it: the slip that hurts most."""
    if level_above(person, prompt.answer["level"]):
        return HAND_OVER
    right = problem_in(prompt.answer).solve().results[figure_asked(prompt.answer)]
    set_to = right.rounded or right.exact
    return str(set_to if knows else set_to.times(10))
