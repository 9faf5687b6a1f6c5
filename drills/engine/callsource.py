"""The calls that a recipe draws from: of its types, as hard as it says, none of the week before."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import chain, islice
from random import Random

from drills.engine.calls import NEEDLESS, Call, CallType, CallWorld
from drills.engine.chance import drawn_evenly
from drills.engine.dispatch import make_call
from drills.engine.incidents import Sorting
from drills.engine.knobs import LURES, patients_share, setting
from drills.engine.lately import call_mark
from drills.engine.recipes import (
    ALLOCATE,
    AS_A_CALL_RUNS,
    STAGE,
    TRIAGE,
    CannotApplyError,
    RecipeSpec,
)
from drills.engine.sortplan import sorted_calls
from drills.engine.wanted import Wanted

MOST_CALLS_DRAWN = 300


def types_of(spec: RecipeSpec, call_types: Sequence[CallType]) -> list[CallType]:
    """The call types that a recipe names, or all; `CannotApplyError` where there is none."""
    found = [each for each in call_types if not spec.call_types or each.slug in spec.call_types]
    if not found:
        asked = ", ".join(spec.call_types) or "any kind"
        raise CannotApplyError(f"{spec.slug}: there is no call type of {asked}.")
    return found


def calls_to_sort(
    spec: RecipeSpec, types: Sequence[CallType], world: CallWorld, sorting: Sorting, *, seed: int
) -> Iterator[Call]:
    """Calls whose patients are sorted; not without end, should none ever do."""
    return islice(sorted_calls(spec, types, world, sorting, seed=seed), MOST_CALLS_DRAWN)


def calls_as_hard(
    spec: RecipeSpec,
    types: Sequence[CallType],
    world: CallWorld,
    random: Random,
    lures: Callable[[Call], int],
) -> Iterator[Call]:
    """Calls whose kits are brought and figures worked out; not without end either.

    Where kits are drawn among other prompts, of several calls of a type the one is taken that has
    the most `lures`, or the fewest.
    """
    compared = 1 if spec.order == AS_A_CALL_RUNS else int(setting(LURES, spec.difficulty))
    several = max(abs(compared), 1) if STAGE in dict(spec.kinds) else 1
    for _ in range(MOST_CALLS_DRAWN):
        call_type = drawn_evenly(types, random)
        drawn = [_one(spec, call_type, world, random) for _ in range(several)]
        yield drawn[0] if several == 1 else (max if compared > 0 else min)(drawn, key=lures)


def is_sorted(spec: RecipeSpec) -> bool:
    """Whether a recipe sorts the patients of its calls, or gives out what is scarce among them."""
    return any(kind in (TRIAGE, ALLOCATE) for kind, _ in spec.kinds)


def fresh_first(calls: Iterator[Call], had: frozenset[str]) -> Iterator[Call]:
    """Calls that were not had, by their marks, and when there are no more those that were."""
    if not had:
        return calls
    again: list[Call] = []
    return chain(_fresh(calls, had, again), again)


def lures_in(wanted: Iterable[Wanted]) -> int:
    """How many things aboard are brought by mistake for a kit, or are needless to it."""
    return sum(len(each.things) if each.grade == NEEDLESS else len(each.wrong) for each in wanted)


def _fresh(calls: Iterator[Call], had: frozenset[str], again: list[Call]) -> Iterator[Call]:
    for call in calls:
        if call_mark(call) in had:
            again.append(call)
        else:
            yield call


def _one(spec: RecipeSpec, call_type: CallType, world: CallWorld, random: Random) -> Call:
    return make_call(
        call_type,
        world,
        random,
        least=spec.patients_least,
        most=spec.patients_most,
        share=patients_share(spec.difficulty),
    )
