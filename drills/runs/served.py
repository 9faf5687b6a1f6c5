"""What a run has served so far, read once for all that asks."""

from dataclasses import dataclass
from functools import cached_property

from drills.engine.serving import Served
from drills.people.prepared import Prepared
from drills.runs.models import Presentation, PresentationState, Run, VoidReason


@dataclass(frozen=True, slots=True)
class Shown:
    """One presentation; without a position it is a warm-up tap."""

    position: int | None
    state: str
    outcome: str
    is_retry: bool
    void_reason: str
    device_class: str

    @property
    def is_answered(self) -> bool:
        return self.state == PresentationState.ANSWERED


@dataclass(frozen=True)
class Record:
    """The presentations of a run, the first one first."""

    shown: tuple[Shown, ...]

    @property
    def is_one_open(self) -> bool:
        return any(each.state == PresentationState.OPEN for each in self.shown)

    @property
    def next_order(self) -> int:
        return len(self.shown) + 1

    def goes_past(self, order: int) -> bool:
        """Whether anything was served after what has this order."""
        return order < len(self.shown)

    @property
    def last_device(self) -> str:
        """What kind of device the last one was served to; empty before the first."""
        return self.shown[-1].device_class if self.shown else ""

    @cached_property
    def history(self) -> tuple[Served, ...]:
        """Those that are over, warm-ups left out, in the engine's terms."""
        return tuple(
            Served(each.position, each.outcome if each.is_answered else "", each.is_retry)
            for each in self.shown
            if each.position is not None and each.state != PresentationState.OPEN
        )

    @property
    def reported(self) -> frozenset[int]:
        """Positions of prompts whose thing was not where the layout says."""
        return frozenset(
            each.position
            for each in self.shown
            if each.position is not None and each.void_reason == VoidReason.NOT_IN_PLACE
        )

    def first_answers(self) -> int:
        """How many prompts were answered, retries and warm-ups apart."""
        return sum(not each.is_void and not each.is_retry for each in self.history)

    def warm_ups(self, device_class: str) -> int:
        """How many warm-ups were tapped on a kind of device."""
        return sum(
            each.position is None and each.is_answered and each.device_class == device_class
            for each in self.shown
        )


@dataclass(frozen=True, slots=True)
class Turn:
    """What a move ended with, and what had been served; none of either where it was not read."""

    presentation: Presentation | None = None
    record: Record | None = None


UNREAD = Turn()
_SHOWN = Prepared(
    lambda run: (
        Presentation.objects.filter(run=run)
        .order_by("order")
        .values_list(
            "prompt__position", "state", "outcome", "is_retry", "void_reason", "device_class"
        )
    )
)


def record_of(run: Run) -> Record:
    """Read what a run has served, in one query."""
    return Record(tuple(Shown(*row) for row in _SHOWN(run=run.pk)))
