"""Past kits at the open doors: what was thought before each, what came, and what it sets right.

It is worked out with each refit and kept with its fit; pages read it from there.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from typing import Any

from drills.competency import refitting
from drills.competency.quality import kept_of_calls
from drills.competency.refitting import Say
from drills.engine.memory import COUNTED
from drills.engine.readying import AS_IT_IS, Recalibration, recalibrated
from drills.engine.readying.recalibrating import FEWEST_CALLS, FEWEST_PEOPLE
from drills.runs.models import Sheet, SheetState

RIGHTED = "recalibration"


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
    """Those of the newest refit, as it kept them; none before the first."""
    kept = kept_of_calls()
    told = {name: figure for name, figure in kept.get(RIGHTED, {}).items() if figure is not None}
    return PastCalls(**_of(PastCalls, {**kept, RIGHTED: Recalibration(**_of(Recalibration, told))}))


def _of(kind: type[PastCalls | Recalibration], kept: Mapping[str, Any]) -> dict[str, Any]:
    """What is kept of a kind, where another release kept more or less."""
    return {each.name: kept[each.name] for each in fields(kind) if each.name in kept}


def kept_by_refit() -> dict[str, Any]:
    """All kits by now, as a refit keeps them: JSON has no word for what is not a number."""
    told = asdict(judged_calls())
    righted = told[RIGHTED].items()
    told[RIGHTED] = {name: None if math.isnan(figure) else figure for name, figure in righted}
    return told


def refit(*, now: Callable[[], datetime], say: Say) -> Any:
    """The refit of a service: the model fitted anew, and chances of calls set right."""
    return refitting.refit(now=now, say=say, calls=kept_by_refit)


def judged_calls() -> PastCalls:
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
