"""Whom a person may give a drill to: groups and people, by the key the form sends."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch

from drills.people.models import Cohort, Pairing, Person, Role
from drills.runs.access import seen_people


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
