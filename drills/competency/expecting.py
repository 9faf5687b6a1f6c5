"""What the newest fit expects of answers on each thing, the thing itself left out of it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from hashlib import sha256

import numpy as np
from django.core.cache import cache
from django.db.models import Count, Max

from drills.competency.fitted import Fitted, standing_fit
from drills.competency.gathering import Seen, Since, columns_of, day_of, seen_rows
from drills.competency.models import Evidence, EvidenceQuerySet, PersonOffset
from drills.engine.facts import Fact
from drills.engine.flagging import Asked, expected, newest_of
from drills.engine.knowing.columns import Answers, Bools, Floats, Ints, numbered
from drills.engine.knowing.history import history
from drills.engine.knowing.model import FORGETTING, PERSON, Model, Offsets
from drills.engine.scoring import PARTLY
from drills.people.models import Cohort
from drills.rigs.models import Layout

# More answers than these take longer to look back from than anybody waits for a page. They are all
# that the people ever answered, of whatever is looked at: their chances rest on the whole of it.
MOST_ANSWERS = 60_000
KEPT_S = 86_400
_OWN = ("mean", "variance", "forgetting", "forgetting_variance")


class TooManyAnswersError(RuntimeError):
    """There are more answers than a page waits for; `answers` says how many."""

    def __init__(self, answers: int) -> None:
        super().__init__(f"{answers:,} answers are more than {MOST_ANSWERS:,}.")
        self.answers = answers


@dataclass(frozen=True, slots=True)
class Expected:
    """Every first answer of some people that was right or wrong, the oldest first, with the chance
    that was expected of it. `facts` has by number the layout and the fact; `day` is when it was."""

    facts: tuple[tuple[int, Fact], ...]
    fact: Ints
    person: Ints
    day: Floats
    chance: Floats
    right: Bools

    def things(
        self, under: Mapping[tuple[int, Fact], Fact], since: float, until: float
    ) -> Iterator[Fact | None]:
        """What each is counted under in a period; none where it is of no such fact or came at
        another time."""
        named = [under.get(each) for each in self.facts]
        is_then = (self.day >= since) & (self.day < until)
        for fact, counts in zip(self.fact.tolist(), is_then.tolist(), strict=True):
            yield named[fact] if counts else None


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
    told = _expected_of(fitted, cohort)
    under = {(layout.pk, fact): first for fact, first in asked.items()}
    span = (
        -np.inf if since is None else day_of(since),
        np.inf if until is None else day_of(until),
    )
    return newest_of(
        list(told.things(under, *span)),
        told.person.tolist(),
        told.chance.tolist(),
        told.right.tolist(),
    )


def _expected_of(fitted: Fitted, cohort: Cohort | None) -> Expected:
    """What a fit expects of a cohort, or of everybody. It takes seconds of a whole service, so it
    is kept for as long as it is the same fit and nobody of them answered or had anything voided."""
    rows = Evidence.objects.filter(person__isnull=False)
    people = rows if cohort is None else rows.filter(person__cohorts=cohort)
    mark, answers = _mark_of(fitted, people)
    if answers > MOST_ANSWERS:
        raise TooManyAnswersError(answers)
    place = f"expected-of-{cohort.pk if cohort else 'everybody'}"
    was, kept = cache.get(place, (None, None))
    if kept is not None and was == mark:
        return kept
    told = _expected_by(fitted, seen_rows(people.standing()))
    cache.set(place, (mark, told), KEPT_S)
    return told


def _mark_of(fitted: Fitted, rows: EvidenceQuerySet) -> tuple[str, int]:
    """A mark of all that is read for some people, and how many of their answers stand."""
    counted = rows.order_by("person").values_list("person")
    told = list(counted.annotate(Max("pk"), every=Count("pk"), voided=Count("voided_at")))
    standing = sum(every - voided for *_, every, voided in told)
    of = (Expected.__slots__, fitted.number, fitted.made_at, told)
    return sha256(repr(of).encode()).hexdigest(), standing


def _expected_by(fitted: Fitted, rows: Sequence[Seen]) -> Expected:
    if not rows:
        none, days = np.zeros(0, dtype=np.int64), np.zeros(0)
        return Expected((), none, none, days, days, days.astype(bool))
    model, answers = _thought(fitted, rows)
    chances = expected(model, answers, history(answers))
    counts = np.array([row.is_first and row.outcome != PARTLY for row in rows])
    named = [(row.layout, row.fact) for row, is_told in zip(rows, counts, strict=True) if is_told]
    return Expected(
        tuple(dict.fromkeys(named)),
        numbered(named),
        answers.person[counts],
        answers.time[counts],
        chances[counts],
        answers.right[counts] >= 1.0,
    )


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
