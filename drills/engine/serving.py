"""Which prompt a run serves next: the plan, what was voided, and what was missed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drills.engine.scoring import RIGHT

OTHERS_BEFORE_RETRY = 3
MOST_RETRIES = 2


@dataclass(frozen=True, slots=True)
class Slot:
    """A prompt of the drill. `blocked` when a report holds its line out meanwhile."""

    position: int
    kind: str
    is_spare: bool
    blocked: bool = False


@dataclass(frozen=True, slots=True)
class Served:
    """One presentation that is over: answered with an outcome, or void (no outcome)."""

    position: int
    outcome: str
    is_retry: bool = False

    @property
    def is_void(self) -> bool:
        return not self.outcome


@dataclass(frozen=True, slots=True)
class Next:
    """What to serve: the position of the prompt, and whether it is asked again after a miss."""

    position: int
    is_retry: bool


def next_prompt(
    slots: Sequence[Slot], history: Sequence[Served], *, with_retries: bool
) -> Next | None:
    """Choose the next prompt, or nothing when the run is over.

    A missed one is asked again after at least three others, at the end when fewer are left; a
    voided one is replaced by a spare, of its own kind while there is one.
    """
    blocked = {slot.position for slot in slots if slot.blocked}
    owed = [each for each in _owed(history) if each not in blocked] if with_retries else []
    due = [each for each in owed if _answered_since(history, each) >= OTHERS_BEFORE_RETRY]
    if due:
        return Next(due[0], is_retry=True)
    fresh = _fresh(slots, history)
    if fresh is not None:
        return Next(fresh, is_retry=False)
    return Next(owed[0], is_retry=True) if owed else None


def prompts_left(planned: int, history: Iterable[Served]) -> int:
    """How many of so many planned prompts have not been answered; retries are not counted."""
    answered = sum(1 for each in history if not each.is_void and not each.is_retry)
    return max(planned - answered, 0)


def _owed(history: Sequence[Served]) -> list[int]:
    """Positions whose last answer was a miss, oldest miss first, while retries are left."""
    last: dict[int, Served] = {}
    retries: dict[int, int] = {}
    for each in history:
        if each.is_void:
            continue
        last.pop(each.position, None)
        last[each.position] = each
        retries[each.position] = retries.get(each.position, 0) + each.is_retry
    return [
        position
        for position, each in last.items()
        if each.outcome != RIGHT and retries[position] < MOST_RETRIES
    ]


def _answered_since(history: Sequence[Served], position: int) -> int:
    answered = [each.position for each in history if not each.is_void]
    return len(answered) - 1 - max(i for i, each in enumerate(answered) if each == position)


def _fresh(slots: Sequence[Slot], history: Sequence[Served]) -> int | None:
    served = {each.position for each in history}
    left = [slot for slot in slots if slot.position not in served and not slot.blocked]
    planned = [slot.position for slot in left if not slot.is_spare]
    if planned:
        return planned[0]
    wanted = _kinds_to_replace(slots, history, served)
    if not wanted or not left:
        return None
    return min(left, key=lambda slot: (slot.kind != wanted[0], slot.position)).position


def _kinds_to_replace(
    slots: Sequence[Slot], history: Sequence[Served], served: set[int]
) -> list[str]:
    """The kinds of the prompts that fell out and have no replacement yet, oldest first."""
    kind = {slot.position: slot.kind for slot in slots}
    fell_out = [kind[each.position] for each in history if each.is_void and not each.is_retry]
    fell_out += [slot.kind for slot in slots if _is_held_out(slot, served)]
    replaced = sum(slot.is_spare for slot in slots if slot.position in served)
    return fell_out[replaced:]


def _is_held_out(slot: Slot, served: set[int]) -> bool:
    return slot.blocked and not slot.is_spare and slot.position not in served
