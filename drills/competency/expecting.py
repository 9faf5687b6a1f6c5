"""What the standing fit expected of answers on each thing, the thing itself left out of it.

Worked out with the fit, since it looks back from every answer, and kept beside it.
"""

from collections.abc import Collection, Mapping
from datetime import datetime

import numpy as np

from drills.competency.fitted import standing_fit
from drills.competency.gathering import facts_on
from drills.competency.models import Evidence, EvidenceQuerySet, Expected
from drills.engine.facts import Fact
from drills.engine.flagging import Asked, expected, newest_of
from drills.engine.knowing.columns import Answers, Floats, Ints
from drills.engine.knowing.model import Model
from drills.engine.memory import CREDIT
from drills.engine.scoring import PARTLY
from drills.people.models import Cohort
from drills.rigs.models import Layout

# How numbers of rows and chances are kept.
ROW, CHANCE = np.dtype("<i8"), np.dtype("<f4")


def expected_by(model: Model, answers: Answers, past: Floats, rows: Ints) -> Expected:
    """What a model expects of each first answer it was fitted to; `rows` are their numbers."""
    first = answers.scored
    order = np.argsort(rows[first])
    chances = expected(model, answers.take(np.flatnonzero(first)), past[first])
    return Expected(
        rows=rows[first][order].astype(ROW).tobytes(),
        chances=chances[order].astype(CHANCE).tobytes(),
    )


def asked_of(
    layout: Layout,
    asked: Mapping[Fact, Fact],
    *,
    cohort: Cohort | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> list[Asked]:
    """The newest first answer of each person on each thing of a layout in a period, with what was
    expected of it; of answers that the standing fit was made of.

    `asked` names for each fact the one it is counted under: of a thing with doubles any place is
    right. Partly right is left out: it is neither. Without a fit, nothing.
    """
    fitted = standing_fit()
    kept = Expected.objects.filter(fit=fitted.number).first() if fitted else None
    if kept is None:
        return []
    of = _firsts(layout, since, until)
    read = of if cohort is None else of.filter(person__cohorts=cohort)
    facts, chances = facts_on(layout), chances_of(kept)
    return newest_of(
        (asked.get(facts[fact]), person, chances[row], CREDIT[said] >= 1.0)
        for row, person, fact, said in read.values_list("pk", "person_id", "fact_id", "outcome")
        if row in chances
    )


def _firsts(layout: Layout, since: datetime | None, until: datetime | None) -> EvidenceQuerySet:
    """The first answers on a layout in a period that were right or wrong, the oldest first."""
    ends = {"at__gte": since, "at__lt": until}
    period = {name: at for name, at in ends.items() if at is not None}
    known = Evidence.objects.standing().filter(person__isnull=False, is_first=True, **period)
    of = known.filter(fact__place__layout=layout)
    return of.exclude(outcome=PARTLY).order_by("at", "id")


def chances_of(kept: Expected | None) -> dict[int, float]:
    """What was expected of each row, by its number."""
    if kept is None:
        return {}
    numbers, chances = _arrays(kept)
    return dict(zip(numbers.tolist(), chances.tolist(), strict=True))


def without(kept: Expected, rows: Collection[int]) -> Expected:
    """The same with some rows left out."""
    numbers, chances = _arrays(kept)
    left = ~np.isin(numbers, np.array(list(rows), dtype=ROW))
    kept.rows, kept.chances = numbers[left].tobytes(), chances[left].tobytes()
    return kept


def leave_out(rows: Collection[int]) -> None:
    """Forget what was expected of some rows, by which they could be put together again."""
    for kept in Expected.objects.select_for_update():
        without(kept, rows).save()


def comes_with_the_next_refit() -> bool:
    """Whether a fit stands that an earlier release made, which kept nothing of this."""
    fitted = standing_fit()
    return fitted is not None and not Expected.objects.filter(fit=fitted.number).exists()


def _arrays(kept: Expected) -> tuple[Ints, Floats]:
    return np.frombuffer(kept.rows, ROW), np.frombuffer(kept.chances, CHANCE)
