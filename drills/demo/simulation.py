"""People who take drills by themselves, through the same actions as everybody.

What they do is simulated and marked so; nothing of it was measured on a person.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random

from django.db import transaction

from drills.engine.choosing import one_right
from drills.engine.layout import Layout
from drills.engine.prompts import HAND_OVER
from drills.engine.recipes import NUMBER_KINDS, PLACE_KINDS, STAGE, TRIAGE
from drills.engine.staging import must_haves
from drills.engine.timing import Claim
from drills.people.models import Person
from drills.people.reports import level_above
from drills.rigs.models import Revision, Rig
from drills.rigs.reading import layout_of, moved_by
from drills.runs.actions import answer_prompt, begin, serve_next, start_run
from drills.runs.actions.serving import source_of
from drills.runs.models import Presentation, Run
from drills.scenarios.models import Drill, DrillPrompt, Recipe
from drills.scenarios.reading import layout_asked
from drills.scenarios.tasks import figure_asked, problem_in, wanted_in

TAP_SECONDS = 1.6
GAP_SECONDS = 0.4


@dataclass(frozen=True, slots=True)
class Character:
    """A simulated person: `knows` is the chance of a right answer at the first try, `old_ways`
    that a thing which moved in this revision is looked for in its old place."""

    seed: int
    knows: float
    old_ways: float = 0.0


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
        keys, seconds = _behave(presentation, rig.revision, character, random)
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
    drills = list(runs.values_list("drill", flat=True))
    runs.delete()
    Drill.objects.filter(pk__in=drills, runs=None).delete()


def _behave(
    presentation: Presentation, revision: Revision, character: Character, random: Random
) -> tuple[list[str], float]:
    """What the person answers, as codes or keys, and the seconds it takes."""
    prompt, layout = presentation.prompt, layout_asked(presentation.run.drill)
    if prompt is None:
        return [presentation.subject], TAP_SECONDS + random.random()
    knows = random.random() < (1.0 if presentation.is_retry else character.knows)
    seconds = TAP_SECONDS + 1.5 + 4 * random.random() + (0 if knows else 5 * random.random())
    if prompt.kind in PLACE_KINDS:
        old = _old_habit(presentation, revision, character, random)
        return [old or _place(prompt, layout, random, knows=knows)], seconds
    if prompt.kind == STAGE:
        kit = _kit(prompt, layout, knows=knows)
        return kit, seconds + 2.5 * len(kit)
    if prompt.kind in NUMBER_KINDS:
        return [_number(prompt, presentation.run.person, knows=knows)], seconds + 20
    return _chosen(prompt, random, knows=knows), seconds + 1.5 * len(prompt.answer)


def _chosen(prompt: DrillPrompt, random: Random, *, knows: bool) -> list[str]:
    """What is chosen of a list: a category, of groups, or what is in a place."""
    if "groups" in prompt.shown:
        return one_right(prompt.answer["groups"]) if knows else []
    if prompt.kind == TRIAGE:
        return [_category(prompt, knows=knows)]
    return _contents(prompt, random, knows=knows)


def _old_habit(
    presentation: Presentation, revision: Revision, character: Character, random: Random
) -> str:
    """The code of the innermost place that held a thing before this revision moved it; nothing
    where it did not move, or the person goes by the new place, as after every miss."""
    layout = layout_of(revision)
    held = () if presentation.is_retry else moved_by(revision).places.get(presentation.subject, ())
    there = [each.code for each in layout.compartments if each.key in held]
    if not there or random.random() >= character.old_ways:
        return ""
    return max(there, key=lambda code: len(layout.chain(code)))


def _is_number(presentation: Presentation) -> bool:
    return presentation.prompt is not None and presentation.prompt.kind in NUMBER_KINDS


def _kit(prompt: DrillPrompt, layout: Layout, *, knows: bool) -> list[str]:
    """The must-haves, or all but one of them."""
    kit = must_haves(layout, wanted_in(prompt.answer))
    keys = [f"{code} {thing}" for (code, thing), count in kit.lines.items() for _ in range(count)]
    return keys if knows else keys[1:]


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


def _place(prompt: DrillPrompt, layout: Layout, random: Random, *, knows: bool) -> str:
    right: str = prompt.answer[0]
    if knows:
        return right
    inside = layout.by_code[right].inside
    near = [each.code for each in layout.children[inside] if each.code not in prompt.answer]
    anywhere = [each.code for each in layout.compartments if each.code not in prompt.answer]
    choices = near if near and random.random() < 0.6 else anywhere
    return choices[int(random.random() * len(choices))]


def _contents(prompt: DrillPrompt, random: Random, *, knows: bool) -> list[str]:
    if knows:
        return list(prompt.answer)
    others = [key for key in prompt.choices if key not in prompt.answer]
    said = list(prompt.answer[1:])
    return said + ([others[int(random.random() * len(others))]] if others else [])
