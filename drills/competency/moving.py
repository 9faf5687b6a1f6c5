"""The step that each answer makes: a person's offset moved between one refit and the next."""

from collections.abc import Iterable

from django.db import connection
from django.db.models import F

from drills.competency.models import Evidence, Fit, PersonOffset
from drills.engine.knowing.nudging import pull_of
from drills.engine.memory import COUNTED, CREDIT
from drills.people.models import Person

MOVING = ["mean", "variance"]


def hold_evidence() -> None:
    """Wait for what is being written of evidence, and let nobody write until this transaction ends.

    Where one writer at a time is all there is, it is so already.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {Evidence._meta.db_table} IN SHARE MODE")


def step_offset(person: Person, predicted: Iterable[tuple[float | None, str]]) -> None:
    """Move the person's offset by one step of Newton's method, for the outcomes of one answer.

    `predicted` are pairs of the chance that was thought and the outcome; where none was thought
    nothing moves. Nobody has an offset before the first fit.
    """
    pull, weight = _weighed(predicted)
    if weight:
        known = F("variance") / (1.0 + F("variance") * weight)
        PersonOffset.objects.filter(person=person).update(
            mean=F("mean") + known * pull, variance=known
        )


def replayed(fit: Fit, people: Iterable[int] | None = None) -> list[PersonOffset]:
    """Offsets of a fit with every step since made again, of all or of some people; not stored."""
    rows = PersonOffset.objects.filter(fit=fit)
    since = Evidence.objects.standing().filter(pk__gt=fit.through, is_first=True)
    since = since.exclude(predicted_by=COUNTED)
    if people is not None:
        rows, since = rows.filter(person__in=people), since.filter(person__in=people)
    steps: dict[int, dict[str, list[tuple[float | None, str]]]] = {}
    read = since.order_by("pk").values_list("person", "source", "prediction", "outcome")
    for person, source, prediction, outcome in read:
        steps.setdefault(person, {}).setdefault(source, []).append((prediction, outcome))
    found = list(rows)
    for row in found:
        row.mean, row.variance = row.fitted_mean, row.fitted_variance
        for predicted in steps.get(row.person_id, {}).values():
            pull, weight = _weighed(predicted)
            row.variance = row.variance / (1.0 + row.variance * weight)
            row.mean += row.variance * pull
    return found


def _weighed(predicted: Iterable[tuple[float | None, str]]) -> tuple[float, float]:
    """How far some outcomes pull a person, and how much they weigh."""
    return pull_of((chance, CREDIT[outcome]) for chance, outcome in predicted)
