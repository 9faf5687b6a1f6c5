"""What is voided while a refit begins: it reads the same rows as replaying it does."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from drills.competency import refitting
from drills.competency.actions import void_evidence
from drills.competency.models import Evidence, Fit
from drills.competency.moving import hold_evidence
from drills.competency.refitting import refit, spans_of
from drills.people.models import Person
from drills.rigs.models import Rig
from tests.competency.test_actions import rig as rig
from tests.competency.test_refit import NIGHT, say, told
from tests.competency.test_refit import answered as answered

pytestmark = pytest.mark.django_db
AGREES = "is what its {} first answers lead to"


def void(number: int, person: Person, seconds: float) -> None:
    at = NIGHT + timedelta(seconds=seconds)
    assert void_evidence(f"answer {number} of {person.pk}", by="Rios", now=at)


@pytest.mark.usefixtures("answered", "rig")
@pytest.mark.parametrize("seconds", [-1.0, 1.0])
def test_what_is_voided_while_the_refit_waits_for_its_turn_is_not_read(
    hire: Person, monkeypatch: pytest.MonkeyPatch, seconds: float
) -> None:
    """Whichever moment its void has: that of the refit is taken before or after it."""
    waits: list[Callable[[], None]] = [lambda: void(7, hire, seconds)]

    def hold() -> None:
        while waits:
            waits.pop()()
        hold_evidence()

    monkeypatch.setattr(refitting, "hold_evidence", hold)
    refit(now=lambda: NIGHT, say=say)

    assert AGREES.format(239) in told("recompute", "--check")


@pytest.mark.usefixtures("answered", "rig")
@pytest.mark.parametrize("seconds", [-1.0, 1.0])
@pytest.mark.parametrize("stage", ["reading the evidence", "fitting who finds what"])
def test_what_is_voided_after_its_turn_is_read(hire: Person, stage: str, seconds: float) -> None:
    """A void that waited for the refit has an earlier moment than the fit, and was part of it."""

    def tell(said: str) -> None:
        if said == stage:
            void(7, hire, seconds)

    refit(now=lambda: NIGHT, say=tell)
    assert AGREES.format(240) in told("recompute", "--check")

    refit(now=lambda: NIGHT + timedelta(days=1), say=say)
    assert AGREES.format(239) in told("recompute", "--check")


@pytest.mark.usefixtures("answered")
def test_a_fit_keeps_what_was_void_as_runs(hire: Person, rig: Rig) -> None:
    numbers = list(Evidence.objects.order_by("pk").values_list("pk", flat=True))
    gone = [*numbers[3:40], numbers[50]]
    Evidence.objects.filter(pk__in=gone).update(voided_at=NIGHT - timedelta(hours=1))
    refit(now=lambda: NIGHT, say=say)

    assert Fit.objects.get().voided == [[gone[0], gone[-2]], [gone[-1], gone[-1]]]
    assert AGREES.format(240 - 38) in told("recompute", "--check")


def test_runs_have_no_gap() -> None:
    assert spans_of([]) == []
    assert spans_of([2, 3, 4, 6, 8, 9]) == [[2, 4], [6, 6], [8, 9]]
