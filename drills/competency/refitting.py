"""The nightly refit: the model fitted anew to all evidence, one at a time."""

import time
from collections.abc import Callable, Iterable, Mapping
from datetime import UTC, datetime
from typing import Any

import numpy as np
from django.db import transaction

from drills.competency.alone import UnderWayError, alone
from drills.competency.expecting import expected_by, without
from drills.competency.fitted import figures_of
from drills.competency.gathering import DAY, Numbering, Seen, columns_of, seen_rows
from drills.competency.models import CALLS, Evidence, Expected, Fit, PersonOffset, Refit
from drills.competency.moving import MOVING, hold_evidence, replayed
from drills.engine.knowing.checking import checked
from drills.engine.knowing.columns import Answers, Floats, Ints
from drills.engine.knowing.fitting import fit, with_pairs
from drills.engine.knowing.history import history
from drills.engine.knowing.model import FORGETTING, PERSON, Model
from drills.engine.knowing.times import Times, fit_times
from drills.people.models import Person

KEPT_FITS = 30

Say = Callable[[str], None]
Came = Mapping[Any, datetime | None]
Kept = dict[str, Any]
# The first and last of each run of rows.
Spans = list[list[int]]


def refit(*, now: Callable[[], datetime], say: Say, calls: Callable[[], Kept] = dict) -> Fit | None:
    """Fit the model to all evidence that stands and make it the one that is thought by.

    `calls` judges what was said of whole calls, which rooms above know, and its figures are kept
    with the fit's. None where nobody has answered anything. What is stored is stored at the end and
    at once, so that a refit that was killed leaves nothing and can be begun again. Raises
    `UnderWayError`, also where another has taken its place meanwhile.
    """
    with alone(now()) as mark:

        def tell(stage: str) -> None:
            Refit.objects.filter(pk=mark.pk).update(seen_at=now(), stage=stage)
            say(stage)

        return _refit(now, tell, mark, calls)


def _refit(
    now: Callable[[], datetime], tell: Say, mark: Refit, calls: Callable[[], Kept]
) -> Fit | None:
    began, made_at = time.monotonic(), now()
    newest, voided = _newest()
    if newest is None:
        return None
    tell("reading the evidence")
    numbering = Numbering()
    answers, rows = numbered_columns(as_it_stood(newest, voided), numbering)
    if not answers.scored.any():
        return None
    tell(f"looking back from {len(answers):,} answers")
    past = history(answers)
    model, times = fitted_to(answers, past, tell)
    tell("judging the chances of the latest month")
    quality = {**(checked(answers, past) or {}), CALLS: calls()}
    tell("storing it")
    made = Fit(
        made_at=made_at,
        through=newest,
        voided=voided,
        answers=model.answers,
        people=len(numbering.names("person")),
        seconds=round(time.monotonic() - began, 2),
        figures=figures_of(model, times, numbering, answers),
        quality=quality,
    )
    expected = expected_by(model, answers, past, rows)
    return _stored(made, mark, model, times, came_of(answers, numbering), expected)


def numbered_columns(seen: list[Seen], numbering: Numbering) -> tuple[Answers, Ints]:
    """Rows as columns, with the numbers they have in the table."""
    return columns_of(seen, numbering), np.array([row.number for row in seen], dtype=np.int64)


def fitted_to(answers: Answers, past: Floats, tell: Say) -> tuple[Model, Times]:
    """The model and the times of some answers: from the same answers always the same."""
    tell("fitting who finds what")
    model = fit(answers, past)
    tell("fitting how much a person's answers agree")
    model = with_pairs(model, answers, past)
    tell("fitting how long it takes")
    return model, fit_times(answers)


def as_it_stood(through: int, voided: Spans) -> list[Seen]:
    """The evidence that a fit is made of, whatever was voided since it began."""
    left_out = {number for first, last in voided for number in range(first, last + 1)}
    return seen_rows(Evidence.objects.filter(pk__lte=through), left_out)


@transaction.atomic
def _newest() -> tuple[int | None, Spans]:
    """The last row of evidence, with none before it that is still being written; and which rows
    are void by then. The moment of a void does not tell: it is taken before its turn to write."""
    hold_evidence()
    rows = Evidence.objects.order_by("pk").values_list("pk", flat=True)
    return rows.last(), spans_of(rows.exclude(voided_at=None).iterator())


def spans_of(numbers: Iterable[int]) -> Spans:
    """Rising numbers as the first and last of each run without a gap."""
    spans: Spans = []
    for number in numbers:
        if spans and number == spans[-1][1] + 1:
            spans[-1][1] = number
        else:
            spans.append([number, number])
    return spans


@transaction.atomic
def _stored(
    made: Fit, mark: Refit, model: Model, times: Times, came: Came, expected: Expected
) -> Fit:
    """Store all of it at once. No answer comes in between, whose step would be lost; and somebody
    erased meanwhile has nothing of their own.

    Raises `UnderWayError` where the mark is gone: the lock was lost with it, and another may have
    stored a newer fit since, or let rows come in below the last one read.
    """
    hold_evidence()
    if not list(Refit.objects.select_for_update().filter(pk=mark.pk)):
        raise UnderWayError("Another took its place, so nothing of it is stored.")
    made.save()
    Expected.objects.all().delete()
    expected.fit = made
    erased = Evidence.objects.filter(pk__lte=made.through, person=None)
    without(expected, list(erased.order_by().values_list("pk", flat=True))).save()
    PersonOffset.objects.all().delete()
    there = set(Person.objects.filter(pk__in=came).values_list("pk", flat=True))
    offsets = offsets_of(made, model, times, came)
    PersonOffset.objects.bulk_create(each for each in offsets if each.person_id in there)
    PersonOffset.objects.bulk_update(replayed(made), MOVING)
    stale = Fit.objects.order_by("-pk").values_list("pk", flat=True)[KEPT_FITS:]
    Fit.objects.filter(pk__in=list(stale)).delete()
    return made


def came_of(answers: Answers, numbering: Numbering) -> Came:
    """When those first answered who came lately, for everybody in the order of their numbers."""
    came = np.full(len(numbering.names("person")), np.nan)
    came[answers.person] = answers.came
    return {
        person: None if np.isnan(day) else datetime.fromtimestamp(day * DAY, UTC)
        for person, day in zip(numbering.names("person"), came.tolist(), strict=True)
    }


def offsets_of(made: Fit, model: Model, times: Times, came: Came) -> list[PersonOffset]:
    """What each person has of their own in a fit, by its numbers."""
    own, forgetting = model.offsets[PERSON], model.offsets[FORGETTING]
    levels = np.arange(len(came))
    figures = zip(
        came.items(),
        own.of(levels).tolist(),
        own.spread_of(levels).tolist(),
        forgetting.of(levels).tolist(),
        forgetting.spread_of(levels).tolist(),
        np.pad(times.people, (0, max(0, len(came) - len(times.people)))).tolist(),
        strict=False,
    )
    return [
        PersonOffset(
            person_id=person,
            fit=made,
            fitted_mean=mean,
            fitted_variance=variance,
            mean=mean,
            variance=variance,
            forgetting=slope,
            forgetting_variance=slope_variance,
            speed=speed,
            came_at=at,
        )
        for (person, at), mean, variance, slope, slope_variance, speed in figures
    ]
