"""Drills that sort the patients of one call: the calls, and a prompt for each patient."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import count

from drills.engine.calls import Call, CallError, CallType, CallWorld
from drills.engine.chance import drawn_evenly, seeded
from drills.engine.choosing import Choosing
from drills.engine.generation import FOCUS
from drills.engine.incidents import Sorting, make_incident
from drills.engine.incidents.asking import SortedCall, TriagePrompt, counts_asked, sorted_call
from drills.engine.incidents.making import MOST_PATIENTS
from drills.engine.knobs import lawful, number_within, patients_share
from drills.engine.prompts import Prompt
from drills.engine.recipes import TRIAGE, CannotApplyError, RecipeSpec

# From here on half the incidents have less than their patients take: ours, no source.
SHORT_FROM_LEVEL, SHORT_FROM_PATIENTS = 3, 4
AGAIN_TEXT = "Some minutes later. Sort as you find them now."
WHO_FIRST, HOW_MANY = "who first", "how many"


def sorted_calls(
    spec: RecipeSpec,
    types: Sequence[CallType],
    world: CallWorld,
    sorting: Sorting,
    *,
    seed: int,
) -> Iterator[Call]:
    """Calls without end whose patients are to be sorted, at least as many as are asked for.

    Raises `CannotApplyError` where no call type that is named has so many.
    """
    asked = _least(spec)
    most = min(spec.patients_most or MOST_PATIENTS, MOST_PATIENTS)
    fits = [each for each in types if each.least <= most and asked <= min(each.most, most)]
    if not fits:
        raise CannotApplyError(
            f"{spec.slug}: no call of it has {asked} patients; at most {MOST_PATIENTS} are made."
        )
    random = seeded(f"sorts/1:{spec.slug}:{seed}")
    for number in count(1):
        call_type = drawn_evenly(fits, random)
        low, high = max(call_type.least, asked), min(call_type.most, most)
        patients = number_within(low, high, patients_share(spec.difficulty), random)
        is_short = _may_be_short(spec, patients) and random.random() < 0.5
        seed_of_one = f"{spec.slug}:{seed}:{number}"
        yield _made(spec, call_type, world, sorting, seed_of_one, patients, is_short=is_short)


def _least(spec: RecipeSpec) -> int:
    """Of one patient alone triage asks nothing; a drill of more kinds goes on without."""
    least = 1 if len(spec.kinds) > 1 else 2
    return max(dict(spec.kinds).get(TRIAGE, 0), spec.patients_least or least)


def _may_be_short(spec: RecipeSpec, patients: int) -> bool:
    return lawful(spec.difficulty) >= SHORT_FROM_LEVEL and patients >= SHORT_FROM_PATIENTS


def _made(
    spec: RecipeSpec,
    call_type: CallType,
    world: CallWorld,
    sorting: Sorting,
    seed: str,
    patients: int,
    *,
    is_short: bool,
) -> Call:
    try:
        incident = make_incident(
            call_type,
            world,
            seed=seed,
            count=patients,
            sorting=sorting,
            level=lawful(spec.difficulty),
            is_short=is_short,
        )
    except CallError as error:
        raise CannotApplyError(f"{spec.slug}: {error}") from error
    return sorted_call(incident, seed=seed)


def sorts_of(call: Call) -> list[Prompt]:
    """A prompt for each patient of a call that is to be sorted, in their order; of too few to be
    sorted, who comes first, and of one alone nothing."""
    if not isinstance(call, SortedCall):
        return []
    if call.first is not None:
        return [_who_first(call, call.first)] if len(call.patients) > 1 else []
    return [_prompt(call, each) for each in call.sorts]


def asked_of(call: Call) -> list[Prompt]:
    """All that is asked of a call: every patient, how many there are of each category, and those
    who are met again."""
    prompts = sorts_of(call)
    sorts = [each.triage for each in prompts if each.triage]
    if not isinstance(call, SortedCall) or not sorts:
        return prompts
    counted = Prompt(
        kind=TRIAGE,
        subject=HOW_MANY,
        name=f"How many of each category, of the {len(sorts)} you sorted?",
        text="For the report from the scene.",
        chosen=FOCUS,
        call=call,
        choosing=counts_asked(sorts),
    )
    return [*prompts, counted, *(_prompt(call, each) for each in call.again)]


def as_found_last(prompt: Prompt) -> Prompt:
    """A prompt that comes after its call was sorted: everybody in it as they were found last."""
    call = prompt.stage.call if prompt.stage else prompt.call
    if not isinstance(call, SortedCall):
        return prompt
    last = {each.number: each for each in call.last}
    now = replace(call, patients=tuple(last.get(each.number, each) for each in call.patients))
    if prompt.stage:
        return replace(prompt, stage=replace(prompt.stage, call=now))
    one = prompt.patient
    if one and one.number in last:
        found = last[one.number]
        one = replace(one, signs=found.signs, later=found.later)
    return replace(prompt, call=now, patient=one)


def _who_first(call: Call, asked: Choosing) -> Prompt:
    return Prompt(
        kind=TRIAGE,
        subject=WHO_FIRST,
        name="Who comes first, and why?",
        text="Too few to sort: nobody gets a category.",
        chosen=FOCUS,
        call=call,
        choosing=asked,
    )


def _prompt(call: Call, asked: TriagePrompt) -> Prompt:
    again, now = (" again", " now") if asked.look > 1 else ("", "")
    return Prompt(
        kind=TRIAGE,
        subject=asked.scheme,
        name=f"Patient {asked.number}{again}, {asked.who}: which category{now}?",
        text=f"{AGAIN_TEXT} {asked.says}" if again else asked.says,
        chosen=FOCUS,
        call=call,
        triage=asked,
    )
