"""What the newest fit expects of answers on each thing, the thing itself left out of it."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime

import numpy as np
from scipy.special import expit

from drills.competency.fitted import Fitted, standing_fit
from drills.competency.gathering import Seen, Since, columns_of, day_of, seen_rows
from drills.competency.models import Evidence, EvidenceQuerySet, PersonOffset
from drills.engine.facts import Fact
from drills.engine.flagging import Asked
from drills.engine.knowing.columns import Floats
from drills.engine.knowing.history import history
from drills.engine.knowing.model import DAYS_SINCE, NEED
from drills.engine.scoring import PARTLY, RIGHT
from drills.people.models import Cohort
from drills.rigs.models import Layout

# More answers than these take longer to look back from than anybody waits for a page.
MOST_ANSWERS = 60_000
_OWN = ("person", "mean", "forgetting")


def asked_of(
    layout: Layout,
    asked: Mapping[Fact, Fact],
    *,
    cohort: Cohort | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> list[Asked]:
    """The newest first answer of each person on each thing of a layout in a period, with what was
    expected of it: one of each, since two of one person err alike.

    `asked` names for each fact the one it is counted under: of a thing with doubles any place is
    right. What is expected is the fit's chance at that moment from who was asked, what they were
    asked before and what kind of thing it is; how hard this thing is, is left out. Partly right is
    left out as well: it is neither. Without a fit, or with more answers than a page waits for,
    nothing.
    """
    fitted = standing_fit()
    people = _of(cohort)
    if fitted is None or people.count() > MOST_ANSWERS:
        return []
    rows = seen_rows(people)
    expected = _expected(fitted, rows) if rows else np.zeros(0)
    newest: dict[Fact, dict[int, tuple[float, bool]]] = defaultdict(dict)
    for row, chance in zip(rows, expected, strict=True):
        if row.layout == layout.pk and row.fact in asked and _counts(row, since, until):
            newest[asked[row.fact]][row.person] = float(chance), row.outcome == RIGHT
    return list(map(_asked, newest, newest.values()))


def _of(cohort: Cohort | None) -> EvidenceQuerySet:
    everybody = Evidence.objects.standing().filter(person__isnull=False)
    return everybody if cohort is None else everybody.filter(person__cohorts=cohort)


def _asked(fact: Fact, told: Mapping[int, tuple[float, bool]]) -> Asked:
    chances, right = zip(*told.values(), strict=True)
    return Asked(fact, chances, sum(right))


def _counts(row: Seen, since: datetime | None, until: datetime | None) -> bool:
    is_then = (since is None or row.at >= since) and (until is None or row.at < until)
    return row.is_first and is_then and row.outcome != PARTLY


def _expected(fitted: Fitted, rows: Sequence[Seen]) -> Floats:
    """The chance of each row without the offsets of its thing, here or anywhere."""
    known = PersonOffset.objects.filter(fit=fitted.number)
    came = {who: day_of(at) for who, at in known.values_list("person", "came_at")}
    unknown = {row.person: fitted.came for row in rows}
    answers = columns_of(rows, fitted.numbering(), Since({**unknown, **came}, fitted.places))
    past = history(answers)
    told = fitted.model.usual(answers, past) - fitted.model.offsets[NEED].of(answers.need)
    own = {who: (mean, slope) for who, mean, slope in known.values_list(*_OWN)}
    mean, slope = np.array([own.get(row.person, (0.0, 0.0)) for row in rows]).T
    told = fitted.model.carried(past, told + mean + past[:, DAYS_SINCE] * slope)
    return np.asarray(answers.guess + (1.0 - answers.guess) * expit(told))
