"""What a person, and their cohorts, had in the week before: it is not asked again."""

from collections import defaultdict
from datetime import datetime, timedelta

from django.db.models import Q

from drills.engine.lately import Lately, set_mark
from drills.engine.scoring import RIGHT
from drills.people.models import Person
from drills.rigs.models import Layout
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.models import DrillPrompt

WEEK, QUARTER = timedelta(days=7), timedelta(days=90)


def lately_of(person: Person, *, layout: Layout, now: datetime) -> Lately:
    """The week before `now`: what the person had right at the first answer, and every call and set
    of prompts of the people of their cohorts; and what they had in a quarter. In two queries.

    What was missed, or asked on another layout, is free to come again.
    """
    since = now - WEEK
    calls, sets = _of_cohorts(person, since)
    newest = _newest(person, layout, now - QUARTER)
    right = (mark for mark, (outcome, at) in newest.items() if outcome == RIGHT and at >= since)
    return Lately(known=frozenset(right), had=frozenset(newest), calls=calls, sets=sets)


def _newest(person: Person, layout: Layout, since: datetime) -> dict[str, tuple[str, datetime]]:
    """By mark, how the newest first answer came out, and when."""
    answered = Presentation.objects.filter(
        run__person=person,
        run__drill__revision__layout=layout,
        state=PresentationState.ANSWERED,
        is_retry=False,
        served_at__gte=since,
    ).exclude(prompt__mark="")
    rows = answered.exclude(prompt=None).order_by("served_at", "pk")
    read = rows.values_list("prompt__mark", "outcome", "served_at")
    return {mark: (outcome, at) for mark, outcome, at in read}


def _of_cohorts(person: Person, since: datetime) -> tuple[frozenset[str], frozenset[str]]:
    mates = Person.objects.filter(Q(cohorts__in=person.cohorts.all()) | Q(pk=person.pk))
    runs = Run.objects.filter(person__in=mates.values("pk"), started_at__gte=since)
    rows = DrillPrompt.objects.filter(drill__in=runs.values("drill")).exclude(mark="").order_by()
    calls: set[str] = set()
    sets: dict[int, list[str]] = defaultdict(list)
    for drill, mark, call, is_spare in rows.values_list("drill", "mark", "call_mark", "is_spare"):
        calls |= {call} if call else set()
        if not is_spare:
            sets[drill].append(mark)
    return frozenset(calls), frozenset(map(set_mark, sets.values()))
