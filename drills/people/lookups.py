"""Finds what a command names; a refusal says what came in and what there is."""

from collections.abc import Iterable

from drills.people.models import CertificationLevel, Cohort, Person


def person_of(number: str) -> Person:
    """The person of that employee number, locked until the change is done."""
    found = Person.objects.select_for_update().filter(employee_number=number).first()
    if found is None:
        raise ValueError(f"There is no person with number {number!r}; add_person adds one.")
    return found


def level_of(key: str) -> CertificationLevel:
    found = CertificationLevel.objects.filter(key=key).first()
    if found is None:
        there = _listed(CertificationLevel.objects.values_list("key", flat=True))
        raise ValueError(f"No certification level {key!r}; there are: {there}.")
    return found


def cohorts_of(slugs: Iterable[str]) -> list[Cohort]:
    wanted = set(slugs)
    found = list(Cohort.objects.filter(slug__in=wanted))
    missing = wanted - {cohort.slug for cohort in found}
    if missing:
        there = _listed(Cohort.objects.order_by("slug").values_list("slug", flat=True))
        raise ValueError(
            f"No cohort {_listed(map(repr, sorted(missing)))}; there are: {there}. "
            "add_cohort adds one."
        )
    return found


def _listed(words: Iterable[str]) -> str:
    return ", ".join(words) or "none"
