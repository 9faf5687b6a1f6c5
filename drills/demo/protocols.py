"""The formulary that the invented service's educator has before its medical director."""

from dataclasses import replace
from datetime import datetime, timedelta

from drills.engine.formulary_workbook import Book, Packed, Rule
from drills.formulary.actions import import_formulary, submit
from drills.formulary.models import FormularyRevision
from drills.formulary.readiness import fault_of
from drills.formulary.reports import rules_of
from drills.formulary.workbook.told import book_of
from drills.people.models import Person

NAME = "Saltbrush Basin formulary"
DOCUMENT, EDITION = "Saltbrush Basin protocols, invented", "edition 4"
LIMIT_OF, LIMIT, PAGE = "D023", "1 g", "p. 31"
# Before the educator wrote the revision from it.
AGE_OF_EDITION = timedelta(days=60)
PACKED_OF, CONTAINER = "magnesium-sulfate", "ampoule"


def submit_formulary(educator: Person, *, now: datetime) -> FormularyRevision:
    """Of the demonstration what a document stands behind, with one lower limit and one medicine
    that comes otherwise; drills go on from the demonstration until a director approves it."""
    demo = FormularyRevision.objects.get(is_demo=True)
    unfit = {rule.code for rule in rules_of(demo) if fault_of(rule)}
    book = _own(book_of(demo), unfit, now)
    draft = import_formulary(book, by=educator, now=now - timedelta(days=2))
    return submit(draft, by=educator, now=now - timedelta(days=1))


def _own(book: Book, unfit: set[str], now: datetime) -> Book:
    return replace(
        book,
        name=NAME,
        document=DOCUMENT,
        version=EDITION,
        notes="",
        rules=tuple(_rule(each, now) for each in book.rules if each.code not in unfit),
        presentations=tuple(map(_packed, book.presentations)),
    )


def _rule(of: Rule, now: datetime) -> Rule:
    """The limit that differs is the service's own, so its source is too."""
    if of.code != LIMIT_OF:
        return of
    return replace(
        of,
        maximum=LIMIT,
        source=DOCUMENT,
        version=EDITION,
        page=PAGE,
        date=(now - AGE_OF_EDITION).date(),
        notes="",
    )


def _packed(of: Packed) -> Packed:
    return replace(of, container=CONTAINER) if of.key == PACKED_OF else of
