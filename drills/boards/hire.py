"""What the new hire's page shows: today's rig, one next step, and the rig by what is known."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet
from django.utils import timezone

from drills.boards.numbers import NumberStep, number_steps
from drills.boards.skills import Skills, skills_in
from drills.competency.reports import Knowledge, knowledge_of
from drills.engine.drawing import FaceDrawing, faces, shade_cells
from drills.engine.facts import Fact, door_of, fact_words, facts_of
from drills.engine.layout import Layout
from drills.engine.memory import Estimate
from drills.engine.merging import REDRAWN, Change, changes
from drills.people.models import Person
from drills.rigs.models import Layout as LayoutRow
from drills.rigs.models import Revision, Rig
from drills.rigs.own import layout_on
from drills.rigs.reading import layout_of
from drills.rigs.reports import rode_before, todays_rig
from drills.runs.assigned import Standing, standings_to, still_shown
from drills.runs.models import Presentation, PresentationState, Run, RunState
from drills.runs.reports import with_tallies
from drills.runs.series import Days, series_among, singles
from drills.scenarios.models import Mode, Recipe

MISSES_SHOWN, CHANGES_SHOWN, SHARE_ASKED = 5, 6, 3
FIND_TEN, ONE_CABINET = "find-ten", "one-cabinet"


@dataclass(frozen=True, slots=True)
class Door:
    """What is known behind one door: facts there are, facts asked, and one estimate of them."""

    code: str
    name: str
    facts: int
    asked: int
    estimate: Estimate

    @property
    def in_100(self) -> int | None:
        """The chance to show; none before a third of what lies here was asked. Ours, no source."""
        if not self.estimate.is_enough or SHARE_ASKED * self.asked < self.facts:
            return None
        return self.estimate.in_100[0]


@dataclass(frozen=True, slots=True)
class Unfinished:
    """A run that waits: how far it is, and whether it is on the rig of today."""

    run: Run
    answered: int
    planned: int
    is_todays: bool


@dataclass(frozen=True, slots=True)
class NextStep:
    """The one thing to do now on today's rig: walk it, or take a drill."""

    kind: str
    title: str
    detail: str
    recipe: Recipe | None = None


@dataclass(frozen=True, slots=True)
class Differs:
    """What is elsewhere than on the rig ridden before; between two layouts, how many things."""

    rig: Rig
    revision: Revision
    changes: tuple[Change, ...] = ()
    changes_left: int = 0
    is_other_layout: bool = False
    moved: int = 0
    new: int = 0
    gone: int = 0


@dataclass(frozen=True, slots=True)
class HireBoard:
    rig: Rig | None
    unfinished: tuple[Unfinished, ...] = ()
    assigned: tuple[Standing, ...] = ()
    series: tuple[Days, ...] = ()
    step: NextStep | None = None
    numbers: tuple[NumberStep, ...] = ()
    differs: Differs | None = None
    faces: tuple[FaceDrawing, ...] = ()
    doors: tuple[Door, ...] = ()
    misses: tuple[str, ...] = ()
    misses_left: int = 0
    skills: Skills | None = None
    is_held_back: bool = False
    facts: int = 0
    asked: int = 0
    has_simulated: bool = False
    has_imported: bool = False
    is_closed: bool = False

    @property
    def has_to_do(self) -> bool:
        return any(each.is_to_do for each in self.assigned) or any(e.next for e in self.series)

    @property
    def todays(self) -> list[Unfinished]:
        """What waits on the rig of today, or is the one thing that is not closed now."""
        return [each for each in self.unfinished if each.is_todays or self.is_closed]

    @property
    def elsewhere(self) -> list[Unfinished]:
        """What waits on another rig than that of today."""
        return [each for each in self.unfinished if each not in self.todays]


def hire_board(person: Person, *, now: datetime) -> HireBoard:
    """Everything on the page, for one person and the rig they ride today.

    While an assessed prompt is open there is nothing to see but the way back to it.
    """
    rig = todays_rig(person)
    waiting_runs = unfinished(person, rig)
    today = timezone.localdate(now)
    given = standings_to(person, today=today)
    assigned, series = still_shown(given, today=today), series_among(given, today=today)
    own = tuple(singles(assigned))
    if rig is None or person.has_assessed_prompt:
        is_closed = person.has_assessed_prompt
        return HireBoard(rig, waiting_runs, own, tuple(series), is_closed=is_closed)
    layout = layout_on(rig)
    known = knowledge_of(person, layout=rig.layout, now=now)
    facts = facts_of(layout)
    doors = doors_of(layout, known, facts)
    missed = current_misses(known, facts)
    waiting = set(runs_that_wait(person).values_list("drill__revision__layout", flat=True))
    is_held_back = rig.layout_id in waiting
    skills = None if waiting else skills_in(known)
    values = {door.code: door.in_100 for door in doors}
    return HireBoard(
        rig=rig,
        unfinished=waiting_runs,
        assigned=own,
        series=tuple(series),
        step=_next_step(person, rig, known, missed, assigned),
        numbers=_numbers(known, skills, assigned, now),
        differs=_differs(person, rig, layout),
        faces=tuple(shade_cells(face, values=values) for face in faces(layout, value_of=str)),
        doors=doors,
        misses=() if is_held_back else words_of(layout, missed[:MISSES_SHOWN]),
        misses_left=max(len(missed) - MISSES_SHOWN, 0),
        skills=skills,
        is_held_back=is_held_back,
        facts=len(facts),
        asked=sum(fact in known.observations for fact in facts),
        has_simulated=known.has_simulated,
        has_imported=known.has_imported,
    )


def current_misses(known: Knowledge, facts: Collection[Fact]) -> list[Fact]:
    """What was missed last and is still so on this revision; a moved bag leaves its old fact."""
    current = frozenset(facts)
    return [fact for fact in known.missed() if fact in current]


def misses_wait(person: Person, layout: LayoutRow) -> bool:
    """Whether an assessed run on the layout is not over: it shows what was missed at its end."""
    return runs_that_wait(person).filter(drill__revision__layout=layout).exists()


def runs_that_wait(person: Person) -> QuerySet[Run]:
    """Assessed runs of the person that are not over."""
    return Run.objects.under_way(timezone.now()).filter(person=person, mode=Mode.ASSESSED)


def words_of(layout: Layout, facts: Iterable[Fact]) -> tuple[str, ...]:
    return tuple(fact_words(layout, fact) for fact in facts)


def doors_of(layout: Layout, known: Knowledge, facts: tuple[Fact, ...]) -> tuple[Door, ...]:
    """The doors of the rig in the order of the workbook, with what is known behind each."""
    behind: dict[str, list[Fact]] = {}
    for fact in facts:
        behind.setdefault(door_of(layout, fact), []).append(fact)
    return tuple(
        Door(
            code=top.code,
            name=top.name,
            facts=len(behind.get(top.code, ())),
            asked=sum(fact in known.observations for fact in behind.get(top.code, ())),
            estimate=known.of(behind.get(top.code, ())),
        )
        for top in layout.children.get("", ())
    )


def unfinished(person: Person, rig: Rig | None) -> tuple[Unfinished, ...]:
    """The runs the person has not finished, the newest first; `rig` is that of today.

    While an assessed prompt is open it is the run of that prompt: every other is closed.
    """
    runs = Run.objects.under_way(timezone.now()).filter(person=person)
    if person.has_assessed_prompt:
        is_open = Presentation.objects.filter(state=PresentationState.OPEN)
        runs = runs.filter(mode=Mode.ASSESSED, pk__in=is_open.values("run"))
    found = runs.select_related("drill__recipe", "drill__revision__layout", "rig")
    return tuple(
        Unfinished(run, tally.answered, tally.planned, rig is not None and run.rig_id == rig.pk)
        for run, tally in with_tallies(found)
    )


def _next_step(
    person: Person,
    rig: Rig,
    known: Knowledge,
    missed: list[Fact],
    assigned: Collection[Standing],
) -> NextStep | None:
    """The walk before anything was asked; else a drill, unless it stands among those assigned."""
    if not known.observations:
        return NextStep("walk", f"Walk round {rig}", "door by door, what is in here, no test")
    recipe = Recipe.objects.in_use().filter(slug=FIND_TEN if missed else ONE_CABINET).first()
    to_do = {each.assigned.assignment.recipe for each in assigned if each.is_to_do}
    if recipe is None or recipe in to_do:
        return None
    why = f"{len(missed)} missed when last asked" if missed else "what was not asked yet"
    return NextStep("drill", recipe.name, f"{why}; about {recipe.minutes} minutes", recipe=recipe)


def _numbers(
    known: Knowledge, skills: Skills | None, assigned: Collection[Standing], now: datetime
) -> tuple[NumberStep, ...]:
    """Nothing before the walk round the rig, nor while an assessed run waits."""
    if not known.observations or skills is None:
        return ()
    due = {each.assigned.assignment.recipe for each in assigned if each.is_to_do}
    return number_steps(known, skills.missed, due, now)


def _differs(person: Person, rig: Rig, layout: Layout) -> Differs | None:
    """Until they had a drill on the rig as it is now."""
    before = rode_before(person)
    if before is None or before.revision_id == rig.revision_id or _had_a_drill(person, rig):
        return None
    old = layout_of(before.revision)
    if before.revision.layout_id != rig.layout_id:
        was, becomes = _paths(old), _paths(layout)
        return Differs(
            before.rig,
            before.revision,
            is_other_layout=True,
            moved=sum(was[key] != becomes[key] for key in was.keys() & becomes.keys()),
            new=len(becomes.keys() - was.keys()),
            gone=len(was.keys() - becomes.keys()),
        )
    moved = tuple(each for each in changes(old, layout) if each.what in ("moved", REDRAWN))
    left = max(len(moved) - CHANGES_SHOWN, 0)
    return Differs(before.rig, before.revision, moved[:CHANGES_SHOWN], left)


def _had_a_drill(person: Person, rig: Rig) -> bool:
    runs = Run.objects.filter(person=person, rig=rig, drill__revision=rig.revision)
    return runs.filter(state=RunState.FINISHED, is_simulated=False).exists()


def _paths(layout: Layout) -> dict[str, frozenset[str]]:
    """By the key of a thing, every place it is at, in the words on the doors."""
    found: dict[str, set[str]] = {}
    for line in layout.stock:
        found.setdefault(line.key, set()).add(layout.path(line.compartment))
    return {key: frozenset(paths) for key, paths in found.items()}
