"""Whom a person may give a drill to, by the key the form sends; and in words to whom it was."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Count, Prefetch, Q

from drills.people.models import Cohort, Pairing, Person, Role
from drills.runs.access import seen_people
from drills.runs.models import Assigned, Assignment

NAMED = 3


@dataclass(frozen=True, slots=True)
class Recipient:
    """One choice: a cohort, all who are paired with an FTO, or one person."""

    key: str
    name: str
    people: tuple[Person, ...]
    is_group: bool = True


def recipients_of(giver: Person, *, now: datetime) -> list[Recipient]:
    """Groups first, then the people whose records the giver sees, all by name.

    Anybody who gives drills may give one to a cohort; of those they are not paired with, an FTO
    sees counts afterwards and no names.
    """
    return [*_cohorts(), *_paired(giver, now), *_people(giver)]


def chosen_people(recipients: Iterable[Recipient], keys: Collection[str]) -> list[Person]:
    """Everybody the keys stand for, once; raises `ValueError` for a key that was not offered."""
    offered = {each.key: each.people for each in recipients}
    strange = sorted(set(keys) - offered.keys())
    if strange:
        raise ValueError(f"“{strange[0][:60]}” came in. Choose from the cohorts and people shown.")
    found = {person.pk: person for key in keys for person in offered[key]}
    return list(found.values())


def names_of(people: Collection[Person], *, viewer: Person) -> str:
    """Some people by name, those whose records the viewer does not see by their count."""
    seen = seen_people(viewer).filter(pk__in=[each.pk for each in people])
    return _listed([str(each) for each in seen], others=len(people) - len(seen))


def to_whom(assignments: Collection[Assignment], *, viewer: Person) -> dict[UUID, str]:
    """Each assignment's people in words, in four queries: a few by name, many by their cohorts."""
    rows = Assigned.objects.filter(assignment__in=assignments).select_related("person")
    given: dict[UUID, list[Person]] = {each.pk: [] for each in assignments}
    for row in rows.prefetch_related("person__cohorts"):
        given[row.assignment_id].append(row.person)
    seen = set(seen_people(viewer).values_list("pk", flat=True))
    sizes = {cohort.pk: cohort.size for cohort in Cohort.objects.annotate(size=_ACTIVE)}
    return {pk: _in_words(people, seen, sizes) for pk, people in given.items()}


_ACTIVE = Count("members", filter=Q(members__is_active=True))


def _in_words(people: list[Person], seen: Collection[int], sizes: Mapping[int, int]) -> str:
    if len(people) <= NAMED and all(person.pk in seen for person in people):
        return _listed(map(str, people))
    count = f"{len(people)} {'person' if len(people) == 1 else 'people'}"
    found = _by_cohort(people)
    told = [
        cohort.name if many >= sizes[cohort.pk] else f"{many} of {cohort.name}"
        for cohort, many in found.most_common()
    ]
    return f"{_listed(told, others=len(people) - found.total())}, {count}" if told else count


def _by_cohort(people: list[Person]) -> Counter[Cohort]:
    """How many are of each cohort; who is in several counts for the one that most are in."""
    held = Counter(cohort for person in people for cohort in person.cohorts.all())
    of_each = (
        max(person.cohorts.all(), key=lambda cohort: held[cohort], default=None)
        for person in people
    )
    return Counter(filter(None, of_each))


def _listed(names: Iterable[str], *, others: int = 0) -> str:
    """Names, and how many others there are."""
    more = [f"{others} other{'s' * (others > 1)}"] if others else []
    *first, last = [*names, *more]
    return f"{', '.join(first)} and {last}" if first else last


def _cohorts() -> Iterator[Recipient]:
    members = Prefetch("members", Person.objects.filter(is_active=True))
    for cohort in Cohort.objects.prefetch_related(members):
        yield Recipient(f"cohort:{cohort.slug}", cohort.name, tuple(cohort.members.all()))


def _paired(giver: Person, now: datetime) -> Iterator[Recipient]:
    pairings = Pairing.objects.running(now).select_related("fto", "crew")
    if not giver.holds(Role.EDUCATOR):
        pairings = pairings.filter(fto=giver)
    found: dict[Person, list[Person]] = {}
    for pairing in pairings.filter(crew__is_active=True).order_by("fto__name", "crew__name"):
        found.setdefault(pairing.fto, []).append(pairing.crew)
    for fto, crew in found.items():
        yield Recipient(f"paired:{fto.employee_number}", f"Paired with {fto}", tuple(crew))


def _people(giver: Person) -> Iterator[Recipient]:
    for person in seen_people(giver).filter(is_active=True):
        key = f"person:{person.employee_number}"
        yield Recipient(key, f"{person}, {person.employee_number}", (person,), is_group=False)
