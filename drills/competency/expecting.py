"""What the newest fit expects of answers on each thing, the thing itself left out of it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np

from drills.competency.fitted import Fitted, standing_fit
from drills.competency.gathering import Seen, Since, columns_of, day_of, seen_rows
from drills.competency.models import Evidence, EvidenceQuerySet, PersonOffset
from drills.engine.facts import Fact
from drills.engine.flagging import Asked, asked_among
from drills.engine.knowing.columns import Answers
from drills.engine.knowing.model import FORGETTING, PERSON, Model, Offsets
from drills.engine.scoring import PARTLY
from drills.people.models import Cohort
from drills.rigs.models import Layout

# More answers than these take longer to look back from than anybody waits for a page. They are all
# that the people ever answered, of whatever is looked at: their chances rest on the whole of it.
MOST_ANSWERS = 60_000
_OWN = ("mean", "variance", "forgetting", "forgetting_variance")


class TooManyAnswersError(RuntimeError):
    """There are more answers than a page waits for; `answers` says how many."""

    def __init__(self, answers: int) -> None:
        super().__init__(f"{answers:,} answers are more than {MOST_ANSWERS:,}.")
        self.answers = answers


def asked_of(
    layout: Layout,
    asked: Mapping[Fact, Fact],
    *,
    cohort: Cohort | None = None,
    since: datetime | None = None,
    until: datetime | None = None,
) -> list[Asked]:
    """The newest first answer of each person on each thing of a layout in a period, with what was
    expected of it.

    `asked` names for each fact the one it is counted under: of a thing with doubles any place is
    right. What is expected is the fit's chance at that moment. Partly right is left out: it is
    neither. Without a fit, nothing. Raises `TooManyAnswersError`.
    """
    fitted = standing_fit()
    if fitted is None:
        return []
    people = _of(cohort)
    if (answers := people.count()) > MOST_ANSWERS:
        raise TooManyAnswersError(answers)
    rows = seen_rows(people)
    if not rows:
        return []
    things = [
        asked.get(row.fact) if row.layout == layout.pk and _counts(row, since, until) else None
        for row in rows
    ]
    return asked_among(*_thought(fitted, rows), things)


def _of(cohort: Cohort | None) -> EvidenceQuerySet:
    everybody = Evidence.objects.standing().filter(person__isnull=False)
    return everybody if cohort is None else everybody.filter(person__cohorts=cohort)


def _counts(row: Seen, since: datetime | None, until: datetime | None) -> bool:
    is_then = (since is None or row.at >= since) and (until is None or row.at < until)
    return row.is_first and is_then and row.outcome != PARTLY


def _thought(fitted: Fitted, rows: Sequence[Seen]) -> tuple[Model, Answers]:
    """The fit with the offsets of everybody in some rows, and the rows as columns."""
    known = {each.person_id: each for each in PersonOffset.objects.filter(fit=fitted.number)}
    came = {row.person: fitted.came for row in rows}
    came |= {who: day_of(each.came_at) for who, each in known.items()}
    numbering = fitted.numbering()
    answers = columns_of(rows, numbering, Since(came, fitted.places))
    unknown = tuple(fitted.model.offsets[name].variance for name in (PERSON, FORGETTING))
    own = np.array(
        [
            [getattr(known[who], name) for name in _OWN]
            if who in known
            else [0.0, unknown[0], 0.0, unknown[1]]
            for who in numbering.names("person")
        ]
    ).T
    offsets = {
        PERSON: Offsets(unknown[0], own[0], own[1]),
        FORGETTING: Offsets(unknown[1], own[2], own[3]),
    }
    return replace(fitted.model, offsets={**fitted.model.offsets, **offsets}), answers
