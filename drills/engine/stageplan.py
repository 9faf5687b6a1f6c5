"""Kits to bring of a call: to all of it, to a treatment area, or to one's own patient.

A treatment area has those who were sorted into one category, as they were found last. What a call
takes once goes where somebody waits who needs it, else to the most urgent; beside one patient it
costs nothing. What is worn, and what is used on the road or at the wreck, comes to neither. All of
it is ours, no source.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice, product

from drills.engine.arriving.tables import WORN
from drills.engine.calls import (
    CALL,
    GRADES,
    MAY,
    MUST,
    NEEDLESS,
    USEFUL,
    Asked,
    Call,
    CallNeed,
    CallType,
    Patient,
    fits,
    is_of_any_call,
    needs_for,
    needs_of,
)
from drills.engine.chance import drawn, drawn_evenly, seeded
from drills.engine.generation import FOCUS
from drills.engine.incidents.asking import SortedCall, TriagePrompt
from drills.engine.optimum import PatientPlace
from drills.engine.prompts import Prompt
from drills.engine.recipes import ALLOCATE, AS_A_CALL_RUNS, STAGE, TRIAGE, RecipeSpec
from drills.engine.staging import StageTask
from drills.engine.together import BESIDE_ANYBODY, OF_SCENE, is_of_size, with_what_they_take
from drills.engine.triage import Category, category
from drills.engine.wanted import Wanted, musts

FAR_M = (4.0, 6.0, 8.0, 12.0, 20.0)
_FROM_WHERE = (
    "From where, and how many. A must-have that is not brought fails the kit; "
    "needless things cost marks."
)
_NOT_WORN = "What you wear, and what is used on the road or at the wreck, is not asked for. "
# Gloves are changed at every patient, so that a box of them does come; a radio hangs on the crew.
_WORN = frozenset(("radio-portable", *(each for each, row in WORN.items() if not row.is_for_all)))


@dataclass(frozen=True, slots=True)
class Area:
    """A treatment area: the category of those who wait there, who they are, what they all take.

    `needs` of the most urgent area are also what the call takes whatever its patients are.
    """

    category: Category
    waiting: tuple[TriagePrompt, ...]
    needs: tuple[Asked, ...]

    @property
    def words(self) -> str:
        """The category with its colour, never one alone."""
        return f"{self.category.word} ({self.category.colour})"


def treatment_areas(call: Call, call_type: CallType) -> tuple[Area, ...]:
    """The areas of a call whose patients were sorted, the most urgent first; else none.

    Nobody waits who is dead or left for now.
    """
    waiting: dict[Category, list[TriagePrompt]] = {}
    for each in _found_last(call):
        waiting.setdefault(category(each.family, each.answer), []).append(each)
    treated = sorted(
        (each for each in waiting if not each.called_dead), key=lambda each: each.urgency
    )
    people = [_people(call, waiting[each]) for each in treated]
    rows: list[list[CallNeed]] = [[] for _ in treated]
    for row in call_type.needs:
        for at in _goes_to(row, call_type.needs, people):
            rows[at].append(row)
    return tuple(
        Area(
            each, tuple(waiting[each]), _to_an_area(replace(call_type, needs=tuple(own)), patients)
        )
        for each, own, patients in zip(treated, rows, people, strict=True)
    )


def _to_an_area(call_type: CallType, patients: Sequence[Patient]) -> tuple[Asked, ...]:
    """What patients ask for; that of the scene may come with it."""
    return tuple(
        replace(each, grade=MAY) if each.need in _WORN | OF_SCENE else each
        for each in needs_of(call_type, patients)
    )


def _people(call: Call, waiting: Iterable[TriagePrompt]) -> list[Patient]:
    numbers = {each.number for each in waiting}
    return [each for each in call.patients if each.number in numbers]


def _goes_to(
    row: CallNeed, rows: Iterable[CallNeed], areas: Sequence[Sequence[Patient]]
) -> Sequence[int]:
    """The areas that a row is for, by number. What is taken once goes to one: that of the most
    urgent who needs as much of it by a narrower row, else of whom it is for."""
    if not _is_taken_once(row):
        return range(len(areas))
    as_much = [each for each in rows if (each.need, each.grade) == (row.need, row.grade)]
    narrower = [each for each in as_much if each.problem or each.severities]
    return _first_of(narrower, areas) or _first_of([row], areas)


def _is_taken_once(row: CallNeed) -> bool:
    is_must_of_call = row.per == CALL and row.grade == MUST
    return row.grade != NEEDLESS and (is_of_any_call(row) or is_must_of_call)


def _first_of(rows: Iterable[CallNeed], areas: Iterable[Iterable[Patient]]) -> list[int]:
    """The first area where somebody waits whom one of the rows is for; none where nobody does."""
    pairs = (
        at
        for at, patients in enumerate(areas)
        for row, who in product(rows, patients)
        if fits(row, who)
    )
    return list(islice(pairs, 1))


def _found_last(call: Call) -> Iterable[TriagePrompt]:
    """Everybody who was sorted, each as they were asked about last, in their order."""
    if not isinstance(call, SortedCall):
        return ()
    return {each.number: each for each in (*call.sorts, *call.again)}.values()


def is_staged_by_area(spec: RecipeSpec) -> bool:
    """Whether kits go to treatment areas: only once nothing that an area tells is asked after it.

    An area says who is in which category, so everybody is sorted and what is scarce given out
    before it, of the same call.
    """
    kinds = [kind for kind, _ in spec.kinds]
    if spec.order != AS_A_CALL_RUNS or STAGE not in kinds or TRIAGE not in kinds:
        return False
    return all(
        kinds.index(kind) < kinds.index(STAGE) for kind in (TRIAGE, ALLOCATE) if kind in kinds
    )


@dataclass(frozen=True, slots=True)
class Kits:
    """What kits of a drill are made with: needs as things of the rig, and how things are tied."""

    wanted: Callable[[Iterable[Asked]], tuple[Wanted, ...]]
    tied: Collection[str]
    unconfirmed: frozenset[str] = frozenset()

    def of_call(self, call: Call, areas: Sequence[Area] = ()) -> Iterator[Prompt]:
        """First to the areas, or where there are none to the whole call, then to each patient what
        they cannot do without, the worst off first.

        A kit of whose must-haves nothing is aboard is not asked for.
        """
        worst_first = sorted(call.patients, key=lambda each: -each.severity)
        made = [*(self._to_area(call, each, areas) for each in areas)]
        made = made or [self._to_call(call)]
        yield from _aboard(made)
        yield from self.of_patients(call, [each.number for each in worst_first])

    def of_patients(self, call: Call, numbers: Iterable[int]) -> Iterator[Prompt]:
        """To each of some patients, by number, what they cannot do without and may need."""
        return _aboard(self._to_patient(call, each) for each in numbers)

    def _to_call(self, call: Call) -> Prompt:
        return self._prompt("What do you bring?", _FROM_WHERE, self._task(call, call.needs))

    def _to_patient(self, call: Call, number: int) -> Prompt:
        task = self._task(call, needs_beside(call, number))
        name = f"What do you bring to patient {number}?"
        return self._prompt(name, f"{_NOT_WORN}{_FROM_WHERE}", replace(task, patient=number))

    def _to_area(self, call: Call, area: Area, areas: Sequence[Area]) -> Prompt:
        task = replace(
            self._task(call, area.needs),
            area=area.words,
            told=tuple((each.number, each.who, each.found) for each in area.waiting),
        )
        once = "" if area != areas[0] else "What the call takes once, whoever is hurt, comes too. "
        return self._prompt(
            f"What do you bring to the treatment area, {area.words}?",
            "For everybody who waits there, as you found them last. "
            f"{once}{_NOT_WORN}{_FROM_WHERE}",
            task,
        )

    def _task(self, call: Call, asked: Iterable[Asked]) -> StageTask:
        tied, wanted = frozenset(self.tied), self.wanted(asked)
        return StageTask(call, wanted, tied, self.unconfirmed, stands=stands_of(call))

    def _prompt(self, name: str, text: str, task: StageTask) -> Prompt:
        return Prompt(
            kind=STAGE,
            subject=task.call.call_type,
            name=name,
            text=f"It goes to a place {task.stands.words}. {text}",
            chosen=FOCUS,
            stage=task,
        )


def needs_beside(call: Call, number: int) -> tuple[Asked, ...]:
    """What one patient takes, with what their must-haves are of no use without, as the call says
    it where it does; what the call takes once may come too, where it fits."""
    mine = {each.need: each for each in needs_for(call.needs, number)}
    taken = with_what_they_take(each for each in mine.values() if each.grade == MUST)
    for each in call.needs:
        if each.need in taken.keys() - mine.keys():
            taken[each.need] = replace(each, grade=MUST, quantity=1, patients=(number,))
    found = _once_beside(call, number) | mine | taken
    return tuple(sorted(found.values(), key=lambda each: (*GRADES, MAY).index(each.grade)))


def _once_beside(call: Call, number: int) -> dict[str, Asked]:
    """What a call takes once and a patient of it may use, each as one: useful beside anybody, else
    merely free, so that nobody carries every bag of the rig to them."""
    size = next(each.size for each in call.patients if each.number == number)
    return {
        each.need: replace(
            each,
            grade=USEFUL if each.need in BESIDE_ANYBODY else MAY,
            quantity=1,
            patients=(number,),
            instead=tuple(other for other in each.instead if other in BESIDE_ANYBODY),
        )
        for each in call.needs
        if each.is_of_call and each.need not in OF_SCENE and is_of_size(each.need, size)
    }


def stands_of(call: Call) -> PatientPlace:
    """Where the patients of a call are from the rig, the same for every kit of it.

    Most are off the curb side, where one parks, and one in three off the rear. Ours, no source.
    """
    random = seeded(f"stands {call.call_type} {call.dispatch}")
    return PatientPlace(drawn(("curb", "rear"), (2, 1), random), drawn_evenly(FAR_M, random))


def _aboard(kits: Iterable[Prompt]) -> Iterator[Prompt]:
    """Those of whose must-haves anything is aboard."""
    for kit in kits:
        if kit.stage and any(each.quantity for each in musts(kit.stage.wanted)):
            yield kit
