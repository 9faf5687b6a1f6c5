"""All that is kept about one person, room by room: given out whole, and erased."""

import json
from dataclasses import dataclass, replace
from datetime import datetime
from functools import reduce
from operator import or_
from typing import Any

from django.db import models, transaction
from django.db.models.functions import Cast

from drills.boards.backups import columns, tables
from drills.competency import records as competency
from drills.formulary import records as formulary
from drills.people import records as people
from drills.people.audit import record
from drills.people.lookups import person_of
from drills.people.models import Person
from drills.rigs import records as rigs
from drills.runs import records as runs
from drills.scenarios import records as scenarios

FORMAT = "readiness-person/1"


@dataclass(frozen=True, slots=True)
class Erased:
    """How many rows of each kind went, and how many stay without the person.

    `named` is what keeps the name on purpose, `held` the sign-offs that the law holds with the
    names on them, `alike` where words that are written like the
    number or the name stand still: a rig may have the number, and a note is anybody's text.
    """

    went: dict[str, int]
    stays: dict[str, int]
    named: tuple[str, ...]
    held: tuple[str, ...]
    alike: tuple[str, ...] = ()


class EraseRefusedError(ValueError):
    """Raised when a person cannot be erased as asked, or not now."""


def record_of(person: Person, *, now: datetime) -> dict[str, Any]:
    """Everything that is kept about a person, in words; no secret and no other person's record."""
    return {
        "format": FORMAT,
        "as of": now,
        "person": people.who(person),
        "paired with": people.pairings_of(person),
        **rigs.record_of(person),
        **runs.record_of(person),
        **scenarios.record_of(person),
        "evidence": competency.evidence_of(person, held_since=runs.held_since(person)),
        "model": competency.offset_of(person),
        "past records of others they saw": competency.seen_by(person),
        **formulary.record_of(person),
        "audit": people.audit_of(person),
    }


@transaction.atomic
def give_out(person: Person, *, now: datetime) -> dict[str, Any]:
    """Everything that is kept about a person, and a line in the audit that it was given out."""
    given = record_of(person, now=now)
    record("export person", person.employee_number, by=None, now=now)
    return given


def erase_person(number: str, *, confirm: str, now: datetime) -> Erased:
    """Erase a person; what they answered stays as counts that lead to nobody.

    Words like theirs are looked for once it is done, so that nobody waits for a long look.
    """
    erased, gone = _erase(number, confirm, now)
    return replace(erased, alike=tuple(_alike(gone)))


@transaction.atomic
def _erase(number: str, confirm: str, now: datetime) -> tuple[Erased, Person]:
    if confirm != number:
        raise EraseRefusedError(f"--confirm is {confirm!r}; it takes the same number, {number!r}.")
    person = person_of(number)
    if person.has_assessed_prompt_at(now):
        raise EraseRefusedError(
            f"An assessed prompt of {number} is open until {person.assessed_prompt_until:%H:%M} "
            "UTC; erase them after it."
        )
    copied = Person(employee_number=person.employee_number, name=person.name)
    unlinked = competency.unlink_evidence(person)
    voids, watched = competency.unname_voids(person), competency.seen_by(person)
    named = tuple(formulary.approvals_kept(person))
    ridden, given, held = runs.erase(person, now=now)
    posted, reported = rigs.erase(person)
    built, built_by = scenarios.erase(person)
    acts = person.acts.count()
    lines = people.unname_audit(person)
    went = {**ridden, **posted, **built, **people.erase(person)}
    stays = {
        "evidence, unlinked": unlinked,
        "evidence they voided": voids,
        "past records of others they saw": watched,
        **given,
        **reported,
        **built_by,
        "audit lines without their actor": acts,
        "audit lines without their name": lines,
    }
    record("erase person", "a person", by=None, now=now, after={"went": went, "stays": stays})
    return Erased(went, stays, named, tuple(held)), copied


def _alike(person: Person) -> list[str]:
    """Columns in which words stand that are written like the number or the name of a person."""
    found = []
    for table in tables():
        for field in columns(table):
            rows = _rows_with(table, field, person)
            if rows:
                found.append(f"{table._meta.label_lower} {field.name}: {rows}")
    return found


def _rows_with(table: type[models.Model], field: "models.Field[Any, Any]", person: Person) -> int:
    if not isinstance(field, (models.CharField, models.TextField, models.JSONField)):
        return 0
    # A name may stand in JSON with its letters escaped.
    spelt = {person.employee_number, person.name, json.dumps(person.name)[1:-1]}
    may = reduce(or_, (models.Q(said_here__contains=each) for each in spelt))
    words = Cast(field.name, models.TextField())
    rows = (
        table._base_manager.annotate(said_here=words).filter(may).values_list(field.name, flat=True)
    )
    mends = people.mends(person)
    return sum(any(people.mended(each, mend) != each for mend in mends) for each in rows.iterator())
