"""Where one's own way lost its time to the quickest: each loss by itself, and together all of it.

One choice of the person after the other is given up, and the rest is brought in the least time:
first the order, then what is no must-have, then, place by place, where each thing was taken. What
a step saves is what that choice cost; so the losses add up to the difference of both ways.
"""

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from drills.engine.optimum.freed import (
    Choices,
    Freed,
    Sourced,
    Step,
    got_of,
    steps_of,
    without_beside,
)
from drills.engine.optimum.kit import OwnWay, Quickest, idle_cots
from drills.engine.optimum.own import Taken, own_route
from drills.engine.optimum.rig import Rig
from drills.engine.staging import Kit
from drills.engine.wanted import Wanted, musts

AGAIN, INSIDE_AGAIN, ORDER, TRIPS, COT = "again", "inside again", "order", "trips", "cot"
BESIDE, BAG, WHOLE, OPEN, FARTHER = "beside", "bag", "whole", "open", "farther"
OTHER, MISSING = "other", "missing"


@dataclass(frozen=True, slots=True)
class Loss:
    """What one choice cost, in cs: of which kind it was, and at which stop of one's own way.

    `places` are codes that it was about, `things` keys of what was taken there, and `instead` the
    codes that would have been quicker; of an order they are all places, in the better one.
    """

    kind: str
    cs: int
    stop: int | None = None
    places: tuple[str, ...] = ()
    things: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()


def losses_of(
    rig: Rig,
    own: OwnWay,
    quick: Quickest,
    *,
    kit: Kit,
    wanted: Sequence[Wanted],
    held: Collection[tuple[str, str]] = (),
) -> tuple[Loss, ...]:
    """Each loss of a person's own way, in the order in which its choices are given up.

    They add up to the difference of both ways in cs. What is `held` is reported missing. A kit that
    lacks a must-have ends with a gain, kind `MISSING`: it was quicker to bring less.
    """
    found = list(_of_order(rig, own))
    steps = steps_of(rig, own, kit, wanted)
    choices = Choices(rig, steps, held, own.statement.hands, idle_cots(rig, wanted))
    left = own.cs - sum(each.cs for each in found)
    kept, choices, at = _all_kept(choices, left)
    found += kept
    beside, at = _of_beside(choices, at)
    found += [*beside, *_of_places(choices, at)]
    left = own.cs - sum(each.cs for each in found) - quick.cs
    if _is_short(steps, wanted):
        found.append(Loss(MISSING, left))
    else:
        found = _with_rest(found, left, quick)
    return tuple(each for each in found if each.cs)


def _with_rest(found: Sequence[Loss], left: int, quick: Quickest) -> list[Loss]:
    """What other things that serve would save. Where hands did not do it belongs to the trips:
    without a limit of hands the rest was quicker than it can be carried."""
    if any(each.kind == TRIPS for each in found):
        return [replace(e, cs=e.cs + left) if e.kind == TRIPS else e for e in found]
    codes = dict.fromkeys(leg.code for leg in quick.legs if leg.place)
    return [*found, Loss(OTHER, left, instead=tuple(codes))]


def _all_kept(choices: Choices, own_cs: int) -> tuple[list[Loss], Choices, Freed]:
    """What was lost by the order of all that was taken, and by leaving a cot of the rig behind.

    With the least time for the same; without hands where they do not do.
    """
    steps, cots = choices.steps, choices.rig.cots - choices.idle
    left = cots - {step.code for step in steps if step.is_whole}
    walked = replace(choices, idle=choices.idle | left).plan(steps, {})
    rolled = choices.plan(steps, {}) if left else walked
    brought = tuple(sorted(left.intersection(rolled.order)))
    if not rolled.plan.is_carried:
        free = replace(choices, hands=None)
        at = free.plan(steps, {})
        return [Loss(TRIPS, own_cs - at.cs)], free, at
    if not walked.plan.is_carried:
        return [Loss(COT, own_cs - rolled.cs, instead=brought)], choices, rolled
    order = Loss(ORDER, own_cs - walked.cs, instead=_in_own_direction(steps, walked.order))
    return [order, Loss(COT, walked.cs - rolled.cs, instead=brought)], choices, rolled


def _of_beside(choices: Choices, at: Freed) -> tuple[list[Loss], Freed]:
    """What each place cost for what is no must-have, and the plan without all of it."""
    found = []
    bare = without_beside(choices.steps)
    for number, step in enumerate(choices.steps):
        if step.beside or step.is_idle:
            after = choices.plan([*bare[: number + 1], *choices.steps[number + 1 :]], {})
            things = tuple(step.beside)
            found.append(Loss(BESIDE, at.cs - after.cs, step.stop, (step.code,), things))
            at = after
    return found, at


def _of_places(choices: Choices, at: Freed) -> Iterator[Loss]:
    """What it cost to take each thing where it was taken, in the order of the way."""
    steps, free = without_beside(choices.steps), Counter[str]()
    for number, step in enumerate(steps):
        free += Counter(step.needed)
        after = choices.plan(steps[number + 1 :], free)
        if after.cs < at.cs:
            yield _of_place(choices, step, at, after)
        at = after


def _of_place(choices: Choices, step: Step, before: Freed, after: Freed) -> Loss:
    """What changed for the better when a step was given up."""
    come, gone = after.sources - before.sources, before.sources - after.sources
    changed = _things_of(come | gone) or tuple(step.needed)
    now = [each for each in after.sources if each[0] in changed]
    places = _codes_of(gone) or (step.code,)
    instead = tuple(sorted(set(_codes_of(now)).difference(places)))
    found = Loss(FARTHER, before.cs - after.cs, step.stop, places, _things_of(now), instead)
    if bags := _new_bags(choices, come):
        return replace(found, kind=BAG, things=_things_of(bags), instead=_codes_of(bags))
    return replace(found, kind=_kind(choices, places, instead))


def _new_bags(choices: Choices, come: Iterable[Sourced]) -> list[Sourced]:
    """What comes in a bag that the person did not bring whole."""
    whole = {each.code for each in choices.steps if each.is_whole}
    return [
        (thing, code, is_whole) for thing, code, is_whole in come if is_whole and code not in whole
    ]


def _kind(choices: Choices, places: Sequence[str], instead: Sequence[str]) -> str:
    whole = {each.code for each in choices.steps if each.is_whole}
    if whole.intersection(places):
        return WHOLE
    own = {each.code for each in choices.steps}
    return OPEN if instead and own.issuperset(instead) else FARTHER


def _codes_of(sources: Iterable[Sourced]) -> tuple[str, ...]:
    return tuple(sorted({code for _, code, _ in sources}))


def _things_of(sources: Iterable[Sourced]) -> tuple[str, ...]:
    return tuple(sorted({thing for thing, *_ in sources}))


def _is_short(steps: Sequence[Step], wanted: Sequence[Wanted]) -> bool:
    """Whether a must-have is not served in full."""
    got = got_of(wanted, sum((step.things for step in steps), Counter[str]()))
    needs = zip(musts(wanted), got, strict=True)
    return any(has.total() < need.quantity for need, has in needs)


def _of_order(rig: Rig, own: OwnWay) -> Iterator[Loss]:
    """Walks back to where one had been, and into the rig again, while mending one saves time."""
    standing, taken = rig.ground.standing, own.taken

    def inside(stop: int) -> int | None:
        return 0 if standing[stop].is_inside else None

    kinds: tuple[tuple[str, Callable[[int], int | None]], ...]
    kinds = ((AGAIN, int), (INSIDE_AGAIN, inside))
    for kind, key_of in kinds:
        for key in {key_of(leg.stop): 0 for leg in own.legs if leg.place}:
            loss, taken = _gathered(replace(own, taken=taken), kind, key_of, key)
            yield from loss


def _gathered(
    own: OwnWay, kind: str, key_of: Callable[[int], int | None], key: int | None
) -> tuple[list[Loss], tuple[Taken, ...]]:
    """What is lost by coming to one key more than once, and the order without that."""
    route = own_route(own.statement, own.taken)
    stops = {leg.place: leg.stop for leg in route.legs}
    moved, late = _at_once(own.taken, [key_of(stops[each.place]) for each in own.taken], key)
    less = route.cs - own_route(own.statement, moved).cs
    if key is None or less <= 0:
        return [], own.taken
    codes = dict.fromkeys(each.place.code for each in late)
    return [Loss(kind, less, stops[late[0].place], tuple(codes))], tuple(moved)


def _at_once(
    taken: Sequence[Taken], keys: Sequence[int | None], key: int | None
) -> tuple[list[Taken], list[Taken]]:
    """The order with all of one key where it first comes, and what was moved for it."""
    here = [at for at, each in enumerate(keys) if each == key]
    first = [number for at, number in enumerate(here) if number == here[0] + at]
    late = [taken[number] for number in here[len(first) :]]
    before = first[-1] + 1 if first else 0
    after = [each for each in taken[before:] if each not in late]
    return [*taken[:before], *late, *after], late


def _in_own_direction(steps: Sequence[Step], order: Sequence[str]) -> tuple[str, ...]:
    """A closed walk is as long from its other end: the end is told first that came first."""
    came = {step.code: number for number, step in enumerate(steps)}
    if order and came[order[0]] > came[order[-1]]:
        return tuple(reversed(order))
    return tuple(order)
