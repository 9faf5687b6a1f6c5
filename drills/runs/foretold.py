"""Past kits at the open doors: what was thought before each, what came, and what it sets right."""

from dataclasses import dataclass

from drills.engine.memory import COUNTED
from drills.engine.readying import AS_IT_IS, Recalibration, recalibrated
from drills.engine.readying.recalibrating import FEWEST_CALLS, FEWEST_PEOPLE
from drills.runs.models import Sheet, SheetState


@dataclass(frozen=True, slots=True)
class PastCalls:
    """How many kits were foretold by a fit and seen, of how many people, and what they set
    right: nothing while there are too few, or where it foretells others no better."""

    calls: int = 0
    people: int = 0
    came_off: int = 0
    expected: float = 0.0
    recalibration: Recalibration = AS_IT_IS

    @property
    def are_enough(self) -> bool:
        return self.calls >= FEWEST_CALLS and self.people >= FEWEST_PEOPLE

    @property
    def needed(self) -> tuple[int, int]:
        """The least number of calls, and of people, that anything is set right by."""
        return FEWEST_CALLS, FEWEST_PEOPLE


def past_calls() -> PastCalls:
    """All of them, in one query. Simulated ones count for nothing, nor those thought by counts
    alone: what errs there is not what the model errs by."""
    closed = Sheet.objects.filter(state=SheetState.CLOSED, is_simulated=False, person__isnull=False)
    told = closed.filter(thought__isnull=False, came_off__isnull=False).exclude(thought_by=COUNTED)
    rows = list(told.order_by("opened_at", "pk").values_list("thought", "came_off", "person_id"))
    if not rows:
        return PastCalls()
    chances, came, people = zip(*rows, strict=True)
    return PastCalls(
        calls=len(rows),
        people=len(set(people)),
        came_off=sum(came),
        expected=sum(chances),
        recalibration=recalibrated(chances, came, people),
    )
