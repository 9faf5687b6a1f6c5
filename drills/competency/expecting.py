"""What the standing fit expected of answers on each thing, the thing itself left out of it.

Worked out with the fit, since it looks back from every answer, and kept beside it.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime

import numpy as np

from drills.competency.fitted import standing_fit
from drills.competency.gathering import fact_of
from drills.competency.models import Evidence, EvidenceQuerySet, Expected
from drills.competency.models import Fact as FactRow
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
    told = list(read.values_list("pk", "person_id", "fact_id", "outcome"))
    under = dict(_under(layout, asked))
    chances = _chances(kept, np.array([row for row, *_ in told], dtype=np.int64)).tolist()
    things = [
        None if np.isnan(chance) else under.get(fact)
        for chance, (_, _, fact, _) in zip(chances, told, strict=True)
    ]
    people = [person for _, person, _, _ in told]
    return newest_of(things, people, chances, [CREDIT[said] >= 1.0 for *_, said in told])


def _firsts(layout: Layout, since: datetime | None, until: datetime | None) -> EvidenceQuerySet:
    """The first answers on a layout in a period that were right or wrong, the oldest first."""
    ends = {"at__gte": since, "at__lt": until}
    period = {name: at for name, at in ends.items() if at is not None}
    known = Evidence.objects.standing().filter(person__isnull=False, is_first=True, **period)
    of = known.filter(fact__place__layout=layout)
    return of.exclude(outcome=PARTLY).order_by("at", "id")


def _under(layout: Layout, asked: Mapping[Fact, Fact]) -> Iterator[tuple[int, Fact]]:
    """What the row of each fact of a layout is counted under."""
    keys = ("pk", "item__key", "bag__key", "place__key", "skill")
    for number, *names in FactRow.objects.filter(place__layout=layout).values_list(*keys):
        if (fact := fact_of(*names)) in asked:
            yield number, asked[fact]


def _chances(kept: Expected, rows: Ints) -> Floats:
    """What was expected of some rows; not a number of those that the fit was not made of."""
    numbers, chances = np.frombuffer(kept.rows, ROW), np.frombuffer(kept.chances, CHANCE)
    if not len(numbers):
        return np.full(len(rows), np.nan)
    at = np.minimum(np.searchsorted(numbers, rows), len(numbers) - 1)
    return np.where(numbers[at] == rows, chances[at].astype(float), np.nan)
